"""The pipes of an engine as a gas-dynamic network, drawn from its records alone.

Every pipe, throttle and port becomes a duct; where their ends meet stands a joint of the record
or a flange of the casting. Ends meeting at a flange or a plain junction are joined there: two as
an area change, more as a junction; plenums and silencers are volumes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Literal

from headwright.assemble.engine_notes import Notes
from headwright.assemble.engine_ports import PortShape
from headwright.assemble.trial import Trial
from headwright.errors import Problem
from headwright.records.breathing import ATMOSPHERE, PORT_FLANGE, Breathing, Pipe, Throttle
from headwright.simulation.cycle import Air, Charge
from headwright.simulation.network import (
    UNFLANGED_END,
    AreaChange,
    Bend,
    ClosedEnd,
    Duct,
    DuctEnd,
    GasState,
    Junction,
    Mouth,
    Reservoir,
    RoughWall,
    Station,
    Volume,
    finish_of,
    start_of,
)
from headwright.simulation.network.joints import Joint, Vessel

__all__ = ["Cells", "PipeWork", "pipe_work"]

Side = Literal["intake", "exhaust"]

OUTSIDE = {"intake": "air outside", "exhaust": "open air at the exhaust"}
WALL_TEMPERATURE_K = {
    ("intake", "pipe"): (315.0, 15.0),
    ("intake", "port"): (365.0, 15.0),
    ("exhaust", "port"): (520.0, 60.0),
    ("exhaust", "pipe"): (780.0, 120.0),
}
"""Inner wall temperatures at full load and their standard uncertainty. Common practice, no
source."""

ROUGHNESS_M = {
    ("intake", "pipe"): 10e-6,
    ("intake", "port"): 60e-6,
    ("exhaust", "port"): 60e-6,
    ("exhaust", "pipe"): 40e-6,
}
"""Equivalent sand roughness: drawn tube, rough casting. Common practice, no source."""

EXHAUST_START_K = 900.0
BELL_LOSS = 0.1
"""Inflow loss of a fair entrance (Idelchik: 0.03 a good bell, 0.5 a sharp edge)."""
PLENUM_LOSS = 0.25
THROTTLE_LOSS = 0.3
"""Loss of an open butterfly with its spindle, in velocity heads of the bore (from memory)."""
VENTURI_LOSS = 0.25
"""Loss of a venturi, in velocity heads of its throat (from memory)."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Lengths of the duct cells wanted [m].

    Args:
        intake: In intake pipes and ports.
        exhaust: In exhaust pipes and ports.
    """

    intake: float = 0.010
    exhaust: float = 0.020

    def count(self, length: float, side: Side) -> int:
        """Number of cells over a length [m]: three at least."""
        wanted = self.intake if side == "intake" else self.exhaust
        return max(3, int(length / wanted + 0.25))


@dataclass(slots=True)
class PipeWork:
    """Ducts, joints and vessels outside the cylinders, and the port end of every valve."""

    ducts: list[Duct] = field(default_factory=list)
    joints: list[Joint] = field(default_factory=list)
    vessels: list[Vessel] = field(default_factory=list)
    valve_ends: dict[tuple[Side, int], DuctEnd] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A duct to be, between two places."""

    name: str
    sort: Literal["pipe", "throttle"]
    start: str
    finish: str
    length: float
    stations: tuple[Station, ...]
    loss: float
    wall: float | None
    roughness: float | None


def pipe_work(
    trial: Trial, ports: list[PortShape], air: Air, charge: Charge, cells: Cells, notes: Notes
) -> PipeWork:
    """Put the pipes and ports together; problems go to the notes."""
    work = PipeWork()
    breathing = trial.bundle.breathing
    if breathing is None:
        notes.missing(f"build {trial.build.tag}: breathing", "breathing (pipes and throttles)")
        return work
    flanges = {
        f"{port.side} {number}": f"{port.side} {port.serves[0]}"
        for port in ports
        for number in port.serves
    }
    pieces = _pieces(breathing, flanges, notes)
    sides = _sides(pieces)
    states = _states(air, charge)
    _ports(ports, states, cells, work, notes)
    ends: dict[str, list[DuctEnd]] = {}
    mouths: list[tuple[DuctEnd, Side, float]] = []
    for piece in pieces:
        side = sides.get(piece.start) or sides.get(piece.finish)
        if side is None:
            notes.problems.append(
                Problem(
                    f"breathing {breathing.tag}: {piece.name}",
                    "leads to no port of the casting; join it or leave it out",
                )
            )
            continue
        work.ducts.append(_duct(piece, side, states[side], cells, notes, breathing))
        area = piece.stations
        for place, end, station in (
            (piece.start, start_of(piece.name), area[0]),
            (piece.finish, finish_of(piece.name), area[-1]),
        ):
            if place == ATMOSPHERE:
                mouths.append((end, side, station.area))
            else:
                ends.setdefault(place, []).append(end)
    bare = [port for port in ports if not ends.get(f"{port.side} {port.serves[0]}")]
    notes.problems += _bare_ports(breathing, bare, ends)
    for port in ports:
        flange = f"{port.side} {port.serves[0]}"
        joined = ends.get(flange, [])
        if not joined:
            continue
        own = start_of(_port_name(port))
        work.joints.append(_meeting([own, *joined]))
    _inner_joints(breathing, ends, sides, states, work, notes)
    _mouths(breathing, mouths, states, work)
    return work


def _bare_ports(
    breathing: Breathing, bare: list[PortShape], ends: dict[str, list[DuctEnd]]
) -> list[Problem]:
    """One problem for each side of the casting with ports that no pipe is joined to.

    Nothing stands in for a missing pipe: a manifold made for shared ports cannot be bolted to
    separate ones, and the pipe that would replace it decides the result.
    """
    problems = []
    for side in ("intake", "exhaust"):
        ports = [port for port in bare if port.side == side]
        if not ports:
            continue
        names = [f"cylinder {' and '.join(str(n) for n in port.serves)}" for port in ports]
        wanted = [repr(f"{side} {port.serves[0]}") for port in ports]
        there = sorted(place for place in ends if place.startswith(f"{side} "))
        problems.append(
            Problem(
                f"breathing {breathing.tag}: pipes",
                f"no pipe is joined to the {side} port of {', '.join(names)} "
                f"(pipes end at {', '.join(there) or 'no port of this side'}): this manifold is "
                "made for another layout of ports than this casting's; enter the length and "
                f"diameter of a pipe that ends at {', '.join(wanted)}, or give the build the "
                "breathing record of a manifold that fits the casting",
            )
        )
    return problems


def _port_name(port: PortShape) -> str:
    return f"{port.side} port {'+'.join(str(number) for number in port.serves)}"


def _states(air: Air, charge: Charge) -> dict[Side, GasState]:
    return {
        "intake": GasState(air.pressure, charge.temperature, 0.0, 0.0, charge.fuel_share),
        "exhaust": GasState(air.pressure, EXHAUST_START_K, 0.0, 1.0, 0.0),
    }


def _pieces(breathing: Breathing, flanges: dict[str, str], notes: Notes) -> list[_Piece]:
    def place(name: str, path: str) -> str:
        if not PORT_FLANGE.match(name):
            return name
        if name not in flanges:
            notes.problems.append(Problem(path, f"the casting has no port {name!r}"))
        return flanges.get(name, name)

    pieces = []
    for index, pipe in enumerate(breathing.pipes):
        path = f"breathing {breathing.tag}: pipes[{index}]"
        pieces.append(
            _Piece(
                pipe.name,
                "pipe",
                place(pipe.start, path),
                place(pipe.finish, path),
                pipe.length.value,
                _pipe_stations(pipe),
                _bend_loss(pipe),
                pipe.wall_temperature.value if pipe.wall_temperature else None,
                pipe.roughness.value if pipe.roughness else None,
            )
        )
    for index, throttle in enumerate(breathing.throttles):
        path = f"breathing {breathing.tag}: throttles[{index}]"
        pieces.append(_throttle(throttle, place, path, notes))
    return pieces


def _pipe_stations(pipe: Pipe) -> tuple[Station, ...]:
    length = pipe.length.value
    points = [(one.distance.value, one.diameter.value) for one in pipe.sections]
    if not points and pipe.diameter is not None:
        points = [(0.0, pipe.diameter.value)]
    inside = [(at, wide) for at, wide in points if 1e-4 < at < length - 1e-4]
    first, last = points[0][1], points[-1][1]
    return tuple(Station.round(at, wide) for at, wide in [(0.0, first), *inside, (length, last)])


def _bend_loss(pipe: Pipe) -> float:
    """Loss of the bends in velocity heads: Weisbach, (0.131 + 0.163 (D/R)^3.5) angle / 90 deg.

    J. Weisbach's formula for round pipes, from memory; without a radius 1.5 diameters.
    """
    if pipe.bend_angle is None:
        return 0.0
    wide = pipe.diameter.value if pipe.diameter else pipe.sections[0].diameter.value
    radius = pipe.bend_radius.value if pipe.bend_radius else 1.5 * wide
    tight = min(wide / radius, 2.0)
    return float((0.131 + 0.163 * tight**3.5) * pipe.bend_angle.value / (0.5 * math.pi))


def _throttle(
    throttle: Throttle, place: Callable[[str, str], str], path: str, notes: Notes
) -> _Piece:
    """A throttle as a short duct, with its venturi as a waist."""
    many = math.sqrt(throttle.count)
    bore = throttle.bore.value * many
    section = 0.25 * math.pi * bore**2
    length = max(1.8 * throttle.bore.value, 0.03)
    stations = [Station(0.0, section), Station(length, section)]
    loss = THROTTLE_LOSS
    if throttle.venturi is not None:
        waist = 0.25 * math.pi * (throttle.venturi.value * many) ** 2
        stations.insert(1, Station(0.35 * length, waist))
        loss += VENTURI_LOSS * (section / waist) ** 2
    if throttle.flow is not None and throttle.flow_depression is not None:
        # one flow test of the whole barrel: the loss in velocity heads of its bore
        speed = throttle.flow.value / (section / throttle.count)
        loss = max(throttle.flow_depression.value / (0.5 * 1.2 * speed**2) - 1.0, 0.02)
    else:
        notes.stand_in(
            loss,
            0.3 * loss,
            "flow_coefficient",
            f"{path}.flow",
            f"loss of {throttle.name}, in velocity heads of its bore",
            "no flow test of it: a usual loss stands in, from memory",
        )
    return _Piece(
        throttle.name,
        "throttle",
        place(throttle.start, path),
        place(throttle.finish, path),
        length,
        tuple(stations),
        loss,
        None,
        None,
    )


def _sides(pieces: list[_Piece]) -> dict[str, Side]:
    """Which side of the head every place lies on, found by walking out from the ports."""
    sides: dict[str, Side] = {}
    for piece in pieces:
        for name in (piece.start, piece.finish):
            if PORT_FLANGE.match(name):
                sides[name] = "intake" if name.startswith("intake") else "exhaust"
    for _ in range(len(pieces) + 1):
        for piece in pieces:
            known = sides.get(piece.start) or sides.get(piece.finish)
            if known is None:
                continue
            for name in (piece.start, piece.finish):
                if name != ATMOSPHERE:
                    sides.setdefault(name, known)
    return sides


def _ports(
    ports: list[PortShape],
    states: dict[Side, GasState],
    cells: Cells,
    work: PipeWork,
    notes: Notes,
) -> None:
    """Ducts of the ports, from flange to valve."""
    for port in ports:
        name = _port_name(port)
        wall = _wall_temperature(port.side, "port", f"casting ports, {port.side}", notes)
        rough = RoughWall(ROUGHNESS_M[port.side, "port"])
        length = port.common[-1].distance
        work.ducts.append(
            Duct(
                name,
                port.common,
                cells.count(length, port.side),
                states[port.side],
                rough,
                wall,
            )
        )
        if not port.branch:
            work.valve_ends[port.side, port.serves[0]] = finish_of(name)
            continue
        meeting = [finish_of(name)]
        for number in port.serves:
            branch = f"{port.side} branch {number}"
            work.ducts.append(
                Duct(
                    branch,
                    port.branch,
                    cells.count(port.branch[-1].distance, port.side),
                    states[port.side],
                    rough,
                    wall,
                )
            )
            meeting.append(start_of(branch))
            work.valve_ends[port.side, number] = finish_of(branch)
        work.joints.append(_meeting(meeting))


def _wall_temperature(side: Side, sort: str, where: str, notes: Notes) -> float:
    value, spread = WALL_TEMPERATURE_K[side, sort]
    return notes.stand_in(
        value,
        spread,
        "wall_temperature",
        where,
        f"temperature of the {side} {sort} walls",
        "a usual temperature at full load stands in: common practice, no source",
    )


def _duct(
    piece: _Piece,
    side: Side,
    state: GasState,
    cells: Cells,
    notes: Notes,
    breathing: Breathing,
) -> Duct:
    wall = piece.wall
    if wall is None:
        wall = _wall_temperature(side, "pipe", f"breathing {breathing.tag}: pipes, {side}", notes)
    roughness = piece.roughness
    if roughness is None:
        roughness = ROUGHNESS_M[side, "pipe"]
    bends: Iterable[Bend] = ()
    if piece.loss > 0.0:
        bends = (Bend(0.0, piece.length, piece.loss),)
    return Duct(
        piece.name,
        piece.stations,
        cells.count(piece.length, side),
        state,
        RoughWall(roughness),
        wall if piece.sort == "pipe" else None,
        tuple(bends),
    )


def _meeting(ends: list[DuctEnd]) -> Joint:
    if len(ends) == 1:
        return ClosedEnd(ends[0])
    if len(ends) == 2:
        return AreaChange(ends[0], ends[1])
    return Junction(tuple(ends))


def _inner_joints(
    breathing: Breathing,
    ends: dict[str, list[DuctEnd]],
    sides: dict[str, Side],
    states: dict[Side, GasState],
    work: PipeWork,
    notes: Notes,
) -> None:
    """Junctions, plenums and silencers of the record."""
    for place, joint in enumerate(breathing.joints):
        held = ends.get(joint.name, [])
        if not held:
            continue
        if joint.sort == "junction" and joint.volume is None:
            work.joints.append(_meeting(held))
            continue
        path = f"breathing {breathing.tag}: joints[{place}].volume"
        if joint.volume is None:
            volume = notes.missing(path, f"volume of {joint.sort} {joint.name!r}")
        else:
            volume = joint.volume.value
        side = sides.get(joint.name, "intake")
        work.vessels.append(Volume(joint.name, volume, states[side]))
        work.joints += [Mouth(end, joint.name, 0.0, PLENUM_LOSS) for end in held]


def _mouths(
    breathing: Breathing,
    mouths: list[tuple[DuctEnd, Side, float]],
    states: dict[Side, GasState],
    work: PipeWork,
) -> None:
    """Open ends to the air, the filter's loss shared among the inlets."""
    inlet_area = sum(area for _, side, area in mouths if side == "intake")
    filtered = 0.0
    if breathing.filter_drop is not None and breathing.filter_flow is not None and inlet_area > 0:
        speed = breathing.filter_flow.value / inlet_area
        filtered = breathing.filter_drop.value / (0.5 * 1.2 * speed**2)
    for end, side, _ in mouths:
        loss = BELL_LOSS + filtered if side == "intake" else 0.5
        work.joints.append(Mouth(end, OUTSIDE[side], UNFLANGED_END, min(loss, 100.0)))
    intake = states["intake"]
    exhaust = states["exhaust"]
    spent = GasState(exhaust.pressure, intake.temperature, 0.0, 1.0, 0.0)
    work.vessels += [Reservoir(OUTSIDE["intake"], intake), Reservoir(OUTSIDE["exhaust"], spent)]
