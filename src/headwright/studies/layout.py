"""The layout of a casting's face on a block: every gap, shrouding, port and plug, with findings.

With a build its valves, inserts, cuts and limits count; without one the casting is looked at as it
is, on the short block it is to sit on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from headwright.assemble import Bundle, Derived, Trial, make_trial
from headwright.assemble.layout import OutlineFacts, PortFacts, chamber_outline, port_of
from headwright.assemble.trial import CylinderFacts
from headwright.checks import CHECKS, Finding, Verdict, worst
from headwright.checks.face import (
    chamber_to_gasket,
    insert_to_gasket,
    insert_to_plug,
    nearest_water,
    shroud_facts,
    shrouded,
    shrouding_at,
)
from headwright.checks.layout import bridge, insert_to_bore, valve_to_bore
from headwright.checks.plug import (
    boss_opening,
    flame_run,
    flame_run_to_bore,
    hidden_share,
    thread_out,
)
from headwright.checks.ports import (
    PassageOption,
    ThinWall,
    passage_options,
    port_mach,
    port_speed,
    port_turn,
    pushrod_clearance,
    reckoned_volume,
    thin_walls,
    volume_against_poured,
)
from headwright.errors import InputError
from headwright.geometry.face import Circle
from headwright.geometry.fire_ring import OverGasket, gasket_overlap
from headwright.geometry.port_path import PortPath, port_path
from headwright.geometry.shroud import Shrouding
from headwright.records import Build, Casting, ShortBlock
from headwright.records.casting import ValveSide
from headwright.studies.valve_sizes import ValveSizes, valve_sizes

__all__ = [
    "FACE_CHECKS",
    "CylinderLayout",
    "LayoutReport",
    "PlugLayout",
    "PortLayout",
    "ValveLayout",
    "bare_bundle",
    "lay_out",
    "with_valves",
]

FACE_CHECKS: Final = (
    "damage",
    "bridge",
    "valve_to_bore",
    "insert_to_bore",
    "shrouding",
    "insert_to_plug",
    "insert_to_water",
    "fire_ring",
    "plug_thread",
    "pushrod_wall",
    "pushrod_clearance",
    "port_mach",
    "valve_size",
)
"""Families of checks that have to do with the face, the ports and the plug."""

LIFT_SHARES: Final = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35)
"""Lifts over head diameter at which shrouding is listed."""

BOSS_MOUTH: Final = 1.5
"""Mouth of an opened plug boss over its thread, for what opening it costs. Own choice."""


@dataclass(frozen=True, slots=True)
class ValveLayout:
    """One valve in the face: gaps and shrouding."""

    side: ValveSide
    to_bore: Derived
    insert_to_bore: Derived | None
    to_gasket: Derived
    to_plug: Derived
    to_water: Derived | None
    shrouded: Derived
    through_lift: tuple[Shrouding, ...]


@dataclass(frozen=True, slots=True)
class PlugLayout:
    """The plug of one chamber; ``boss_mouth`` [m] is what ``boss_volume`` is reckoned for."""

    thread_out: Derived
    hidden: Derived
    to_chamber_wall: Derived | None
    to_bore_wall: Derived
    boss_mouth: float | None
    boss_volume: Derived | None


@dataclass(frozen=True, slots=True)
class CylinderLayout:
    """One cylinder's face; ``plug`` is None where the face alone was asked for."""

    number: int
    bridge: Derived
    land: Derived
    over_gasket: OverGasket | None
    outline: OutlineFacts | None
    valves: tuple[ValveLayout, ...]
    plug: PlugLayout | None


@dataclass(frozen=True, slots=True)
class PortLayout:
    """One port along its way; ``speeds`` [m/s] is at each station at the highest engine speed."""

    facts: PortFacts
    cylinder: int
    path: PortPath | None
    speeds: tuple[Derived, ...]
    mach: Derived | None
    turn: Derived | None
    volume: Derived | None
    against_poured: Derived | None
    pushrod: Derived | None


@dataclass(frozen=True, slots=True)
class LayoutReport:
    """Everything the face, the ports and the plugs of a casting say."""

    trial: Trial
    is_bare: bool
    verdict: Verdict
    findings: tuple[Finding, ...]
    cylinders: tuple[CylinderLayout, ...]
    ports: tuple[PortLayout, ...]
    walls: tuple[ThinWall, ...]
    passages: tuple[PassageOption, ...]
    sizes: ValveSizes | None

    @property
    def casting(self) -> Casting:
        """Return the casting."""
        return self.trial.casting


def bare_bundle(casting: Casting, block: ShortBlock, rack: Sequence[Casting] = ()) -> Bundle:
    """Return a bundle of a casting as it is on a block, with no parts chosen."""
    build = Build(
        tag=f"as-is-{casting.tag}"[:64],
        purpose="the casting as it is",
        short_block=block.tag,
        casting=casting.tag,
    )
    return Bundle(build=build, short_block=block, casting=casting, rack=tuple(rack))


def with_valves(casting: Casting, moved: Mapping[tuple[int, str], Mapping[str, float]]) -> Casting:
    """Return a casting with some valves placed or sized otherwise, as if intended.

    Args:
        casting: the record.
        moved: by cylinder and side, SI values of ``x``, ``y``, ``head_diameter`` or
            ``insert_diameter``.

    Raises:
        InputError: a valve the casting has not.
    """
    from headwright.records.measured import Measured

    known = {(valve.cylinder, valve.side) for valve in casting.valves}
    for cylinder, side in moved:
        if (cylinder, side) not in known:
            raise InputError(f"valve: {casting.tag} has no {side} valve of cylinder {cylinder}")
    valves = []
    for valve in casting.valves:
        change = moved.get((valve.cylinder, valve.side), {})
        figures = {}
        for field, value in change.items():
            before = getattr(valve, field)
            figures[field] = Measured(
                value=value,
                unit="m",
                uncertainty=before.uncertainty if before is not None else None,
                provenance="estimated",
                note="tried on the drawing",
            )
        valves.append(valve.model_copy(update=figures) if figures else valve)
    return casting.model_copy(update={"valves": tuple(valves)})


def lay_out(bundle: Bundle, *, sizes: bool = True, face_alone: bool = False) -> LayoutReport:
    """Reckon the face, ports and plugs of a bundle's casting.

    Args:
        bundle: a build with a casting; :func:`bare_bundle` makes one for a casting alone.
        sizes: whether to search for the largest valves too.
        face_alone: leave out ports, walls and plugs, for a drawing that must follow a hand.

    Raises:
        RecordError: the bundle has no casting.
    """
    trial = make_trial(bundle)
    findings = tuple(
        finding for check in CHECKS if check.name in FACE_CHECKS for finding in check.run(trial)
    )
    return LayoutReport(
        trial=trial,
        is_bare=bundle.build.tag.startswith("as-is-"),
        verdict=worst(findings),
        findings=findings,
        cylinders=tuple(
            _cylinder(trial, cylinder, face_alone=face_alone) for cylinder in trial.cylinders
        ),
        ports=() if face_alone else _ports(trial),
        walls=() if face_alone else tuple(thin_walls(trial)),
        passages=() if face_alone else tuple(passage_options(trial)),
        sizes=valve_sizes(trial) if sizes and trial.cylinders else None,
    )


def _cylinder(trial: Trial, cylinder: CylinderFacts, *, face_alone: bool) -> CylinderLayout:
    outline = chamber_outline(trial, cylinder)
    return CylinderLayout(
        number=cylinder.number,
        bridge=bridge(cylinder.intake, cylinder.exhaust),
        land=chamber_to_gasket(trial, cylinder),
        over_gasket=_over_gasket(trial, cylinder, outline),
        outline=outline,
        valves=tuple(_valve(trial, cylinder, side, outline) for side in ("intake", "exhaust")),
        plug=None if face_alone else _plug(trial, cylinder),
    )


def _over_gasket(
    trial: Trial, cylinder: CylinderFacts, outline: OutlineFacts | None
) -> OverGasket | None:
    x, y, bore = cylinder.bore_x.value, cylinder.bore_y.value, trial.gasket_bore.value
    if outline is None or x is None or y is None or bore is None:
        return None
    gasket = trial.build.gasket or trial.short_block.gasket
    width = gasket.ring_width.value if gasket and gasket.ring_width else None
    try:
        return gasket_overlap(outline.x, outline.y, Circle(x, y, bore), width)
    except InputError:
        return None


def _valve(
    trial: Trial, cylinder: CylinderFacts, side: ValveSide, outline: OutlineFacts | None
) -> ValveLayout:
    valve = cylinder.valve(side)
    facts = shroud_facts(trial, cylinder, valve, outline)
    through = []
    for share in LIFT_SHARES:

        def at(share: float = share, **values: float) -> Shrouding:
            return shrouding_at(values, share * values["head"], outline)

        values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
        if len(values) == len(facts):
            try:
                through.append(at(**values))
            except InputError:
                break
    return ValveLayout(
        side=side,
        to_bore=valve_to_bore(cylinder, valve),
        insert_to_bore=insert_to_bore(cylinder, valve) if valve.insert else None,
        to_gasket=insert_to_gasket(trial, cylinder, valve),
        to_plug=insert_to_plug(trial, cylinder, valve),
        to_water=nearest_water(trial, valve),
        shrouded=shrouded(trial, cylinder, valve),
        through_lift=tuple(through),
    )


def _plug(trial: Trial, cylinder: CylinderFacts) -> PlugLayout:
    chamber = trial.casting.chamber(cylinder.number)
    thread = chamber.plug.thread_diameter if chamber and chamber.plug else None
    mouth = BOSS_MOUTH * thread.value if thread else None
    out = thread_out(trial, cylinder)
    return PlugLayout(
        thread_out=out,
        hidden=hidden_share(trial, cylinder),
        to_chamber_wall=flame_run(trial, cylinder),
        to_bore_wall=flame_run_to_bore(trial, cylinder),
        boss_mouth=mouth,
        boss_volume=boss_opening(trial, cylinder, mouth)
        if mouth is not None and out.is_known
        else None,
    )


def _ports(trial: Trial) -> tuple[PortLayout, ...]:
    found = []
    seen: set[tuple[str, tuple[int, ...]]] = set()
    for side in ("intake", "exhaust"):
        for cylinder in trial.cylinders:
            port = port_of(trial, cylinder, side)
            if port is None or (side, port.serves) in seen:
                continue
            seen.add((side, port.serves))
            found.append(_port(trial, cylinder, side, port))
    return tuple(found)


def _port(trial: Trial, cylinder: CylinderFacts, side: ValveSide, port: PortFacts) -> PortLayout:
    return PortLayout(
        facts=port,
        cylinder=cylinder.number,
        path=_path(port),
        speeds=tuple(port_speed(trial, cylinder, station.area) for station in port.stations),
        mach=port_mach(trial, cylinder, side),
        turn=port_turn(port),
        volume=reckoned_volume(port),
        against_poured=volume_against_poured(port),
        pushrod=pushrod_clearance(trial, cylinder, side),
    )


def _path(port: PortFacts) -> PortPath | None:
    if len(port.stations) < 2:
        return None
    try:
        return port_path(
            [station.distance.value for station in port.stations],
            [station.area.value for station in port.stations],
            [
                float("nan") if station.perimeter.value is None else station.perimeter.value
                for station in port.stations
            ],
            divider=port.divider.value,
            served=len(port.serves),
        )
    except InputError:
        return None
