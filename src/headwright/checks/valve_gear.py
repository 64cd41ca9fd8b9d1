"""Checks of cam, rocker and springs at rest and at the highest speed, the train taken as rigid.

Springs store enough energy to maim: they are changed with the right tool and the face out of the
way. Whatever these checks say, the train is turned over by hand before the engine is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.facts import unknown
from headwright.assemble.valve_gear import ValveTrainFacts, valve_train_facts
from headwright.assemble.valve_gear_forces import rigid_train, spring_reserve
from headwright.assemble.valve_gear_rocker import RockerFacts, rocker_facts
from headwright.assemble.valve_gear_springs import SpringFacts, load_of_nest, spring_facts
from headwright.checks import valve_gear_figures as figures
from headwright.checks.finding import Finding, judge, plain_finding
from headwright.checks.limits import limits_of
from headwright.errors import InputError, RecordError

__all__ = ["check_valve_gear"]

Side = Literal["intake", "exhaust"]
SIDES: Final[tuple[Side, ...]] = ("intake", "exhaust")
GEAR: Final = "valve gear"
"""Where findings stand that no casting can mend."""


@dataclass(frozen=True, slots=True)
class _Trains:
    trains: dict[Side, ValveTrainFacts]
    trouble: tuple[Fact, ...]


def _trains(trial: Trial) -> _Trains | None:
    """Return the trains of both sides, and what keeps a side from having one."""
    bundle = trial.bundle
    if bundle.valve_gear is None or bundle.cam is None or bundle.rocker is None:
        return None
    trains: dict[Side, ValveTrainFacts] = {}
    trouble: list[Fact] = []
    for side in SIDES:
        try:
            trains[side] = valve_train_facts(trial, side)
        except RecordError as error:
            trouble += [
                unknown("lobe_lift", problem.path, problem.message.removesuffix(" is missing"))
                for problem in error.problems
            ]
    return _Trains(trains, tuple(dict.fromkeys(trouble)))


def _unknown(check: str, what: str, where: str, name: str, missing: Sequence[Fact]) -> Finding:
    return judge(check, what, where, Derived(name, None, missing=tuple(missing)), [])


def check_valve_gear(trial: Trial) -> Iterator[Finding]:
    """Do cam, rockers and springs suit each other?"""
    found = _trains(trial)
    if found is not None:
        yield from _cam_contact(trial, found)
        yield from _rocker(trial, found)
        yield from _springs(trial, found)


def _cam_contact(trial: Trial, found: _Trains) -> Iterator[Finding]:
    """Do cam and tappet bear each other?"""
    if found.trouble:
        yield _unknown("cam_contact", "Cam lobes", GEAR, "lobe_lift", found.trouble)
    cam = figures.cam_facts(trial)
    asked = [cam.base_radius, cam.lobe_width]
    asked.append(cam.follower_radius if cam.sort == "roller" else cam.face_radius)
    gone = tuple(fact for fact in asked if fact.value is None)
    if found.trains and gone:
        yield _unknown("cam_contact", "Contact of cam and tappet", GEAR, "contact_stress", gone)
        return
    kind = "roller" if cam.sort == "roller" else "flat"
    trains = found.trains
    if trains and cam.sort != "roller":
        faces = {side: figures.face_margin(train, cam) for side, train in trains.items()}
        side = min(faces, key=lambda one: faces[one].value or 0.0)
        yield judge(
            "tappet_face",
            f"Tappet face left beyond the contact, {side} lobe",
            GEAR,
            faces[side],
            limits_of(trial, "tappet_face_minimum"),
            advice="A wider tappet, or a cam with less velocity: the edge would dig in.",
        )
    if trains:
        curves = {side: figures.least_curvature(train, cam) for side, train in trains.items()}
        side = min(curves, key=lambda one: curves[one].value or 0.0)
        yield judge(
            "lobe_curvature",
            f"Sharpest curve of the cam, {side} lobe",
            GEAR,
            curves[side],
            limits_of(trial, "lobe_curvature_minimum"),
            advice="A larger base circle, or a cam with a rounder nose.",
        )
    yield from _stress(trial, trains, cam, kind)


def _stress(
    trial: Trial, trains: dict[Side, ValveTrainFacts], cam: figures.CamFacts, kind: str
) -> Iterator[Finding]:
    """Judge the greatest pressure of both lobes, turned by hand and at the highest speed."""
    speeds = {0.0: "turned slowly"}
    if trial.maximum_speed.value is not None:
        speeds[trial.maximum_speed.value] = "at the highest speed"
    found = []
    for side, train in trains.items():
        moving = rigid_train(train)
        loaded = train.springs and not any(one.missing for one in train.springs)
        if moving.valve_lift.size and loaded:
            found += [
                (figures.contact_stress(train, moving, cam, speed), f"{side} lobe, {when}")
                for speed, when in speeds.items()
            ]
    if found:
        worst, whose = max(found, key=lambda one: one[0].value or 0.0)
        yield judge(
            "contact_stress",
            f"Pressure between cam and tappet, {whose}",
            GEAR,
            worst,
            limits_of(trial, f"contact_stress_maximum_{kind}"),
            advice="Softer springs where the reserve allows, a wider lobe or a lower rocker ratio.",
        )


# ---------------------------------------------------------------------------- rocker


def _rocker(trial: Trial, found: _Trains) -> Iterator[Finding]:
    """Does the rocker sweep the valve's tip as it should?"""
    lacking: list[Fact] = []
    for side, train in found.trains.items():
        rocker = train.rocker
        if rocker.trouble:
            yield plain_finding(
                "rocker", f"{side.capitalize()} rocker", f"{side} valves", "fails", rocker.trouble
            )
            continue
        if rocker.geometry is None:
            lacking += [fact for fact in rocker.missing if fact not in lacking]
            continue
        lift = float(train.valve_lift.max())
        valves = _rockers(trial, side, float(train.tappet_lift.max())) or [rocker]
        travels = [(figures.tip_travel(one, lift), one) for one in valves]
        travel, whose = max(travels, key=lambda item: item[0].value or 0.0)
        yield judge(
            "tip_travel",
            f"Travel of the rocker across the {side} tip, cylinder {whose.cylinder}",
            f"{side} valves",
            travel,
            limits_of(trial, "tip_travel_maximum"),
            advice=_mend(whose, lift),
        )
        margins = [
            (figures.tip_margin(one, lift, figures.stem_fact(trial, one)), one) for one in valves
        ]
        margin, whose = min(margins, key=lambda item: item[0].value or 0.0)
        yield judge(
            "tip_margin",
            f"Tip left beyond the rocker's contact, {side} {whose.cylinder}",
            f"{side} valves",
            margin,
            limits_of(trial, "tip_margin_minimum"),
            advice="Move the stand across or set the shaft height: the contact runs off the tip.",
        )
    if lacking:
        of_casting = all(fact.path.startswith("casting") for fact in lacking)
        where = "casting" if of_casting else GEAR
        yield _unknown(
            "rocker", "Rocker geometry (the ratio alone counts)", where, "tip_travel", lacking
        )


def _rockers(trial: Trial, side: Side, lobe_lift: float) -> list[RockerFacts]:
    """Return the rockers of all cylinders of one side whose geometry is known."""
    found = [rocker_facts(trial, side, one.number, lobe_lift) for one in trial.cylinders]
    return [one for one in found if one is not None and one.geometry is not None]


def _mend(rocker: RockerFacts, lift: float) -> str:
    """Say which shim, or which pushrod, puts the arm square at half lift."""
    from headwright.physics.rocker import wanted_shaft_height

    geometry = rocker.geometry
    if geometry is None:
        return ""
    rise = wanted_shaft_height(geometry, lift) - geometry.shaft_height
    try:
        longer = geometry.refitted(shaft_rise=rise).pushrod_length - geometry.pushrod_length
    except InputError:
        return "Arm, shaft height and stem height do not go together."
    how = "higher" if rise > 0.0 else "lower"
    rod = "longer" if longer > 0.0 else "shorter"
    if rocker.mount == "stud":
        return f"A pushrod {1e3 * abs(longer):.1f} mm {rod} stands the arm square at half lift."
    return (
        f"Set the shaft {1e3 * abs(rise):.1f} mm {how} (shim or machined stand) with a pushrod "
        f"{1e3 * abs(longer):.1f} mm {rod}: the arm then stands square at half lift."
    )


# ---------------------------------------------------------------------------- springs


def _springs(trial: Trial, found: _Trains) -> Iterator[Finding]:
    """Will the springs hold the valves to the cam, and last?"""
    if not found.trains:
        return
    gear = trial.bundle.valve_gear
    if not trial.bundle.springs:
        path = f"valve_gear {gear.tag if gear else ''}: springs"
        gone = unknown("spring_load", path, "valve springs")
        yield _unknown("springs", "Valve springs", GEAR, "spring_load", [gone])
        return
    lacking: list[Fact] = []
    for side, train in found.trains.items():
        lift = float(train.valve_lift.max())
        nests = [spring_facts(trial, side, one.number) for one in trial.cylinders]
        missing = [fact for one in nests[0] for fact in one.missing] if nests else []
        lacking += [fact for fact in missing if fact not in lacking]
        yield from _bind(trial, side, nests, lift)
        if missing:
            continue
        yield from _loads(trial, side, nests, lift)
        moving = rigid_train(train)
        if moving.valve_lift.size and trial.maximum_speed.value is not None:
            yield judge(
                "spring_reserve",
                f"{side.capitalize()} spring load over the need at the highest speed, rigid train",
                f"{side} valves",
                spring_reserve(train, moving, trial.maximum_speed),
                limits_of(trial, "spring_reserve_minimum"),
                advice="Stiffer springs, lighter parts or less speed: the valve leaves the cam.",
            )
        yield from _lasting(trial, side, train.springs, lift)
    if lacking:
        of_casting = all(fact.path.startswith("casting") for fact in lacking)
        where = "casting" if of_casting else GEAR
        yield _unknown("springs", "Loads of the valve springs", where, "spring_load", lacking)
    yield from _surge(trial, next(iter(found.trains.values())).springs)


def _bind(
    trial: Trial, side: Side, nests: Sequence[tuple[SpringFacts, ...]], lift: float
) -> Iterator[Finding]:
    """Judge the spring nearest to coil bind on one side; say so once where none is known."""
    margins = [(figures.bind_margin(one, lift), one) for nest in nests for one in nest]
    known = [(margin, one) for margin, one in margins if margin.value is not None]
    if known:
        margin, one = min(known, key=lambda item: item[0].value or 0.0)
        yield judge(
            "coil_bind",
            f"Travel left to coil bind at full lift, {side}, {one.tag}",
            f"{side} valves",
            margin,
            limits_of(trial, "bind_margin_minimum"),
            advice="Fewer shims, a longer valve, a deeper retainer or a shorter spring.",
        )
    unbound = {fact.path: fact for margin, _ in margins for fact in margin.missing}
    binds = [fact for fact in unbound.values() if fact.name == "spring_bind_height"]
    if binds and side == "intake":
        yield _unknown("coil_bind", "Travel left to coil bind", GEAR, "bind_margin", binds)


def _loads(
    trial: Trial, side: Side, nests: Sequence[tuple[SpringFacts, ...]], lift: float
) -> Iterator[Finding]:
    """Judge seat and open load where the shop or the maker sets a limit."""
    for name, at, what, advice, pick in (
        ("seat_load_minimum", 0.0, "seat load", "Shim the springs.", min),
        ("open_load_maximum", lift, "load at full lift", "Softer springs or fewer shims.", max),
    ):
        limits = limits_of(trial, name)
        if limits:
            loads = [load_of_nest(nest, at) for nest in nests]
            load = pick(loads, key=lambda one: one.value or 0.0)
            yield judge(
                name.rpartition("_")[0],
                f"{side.capitalize()} spring {what}",
                f"{side} valves",
                load,
                limits,
                advice=advice,
            )


def _lasting(
    trial: Trial, side: Side, springs: Sequence[SpringFacts], lift: float
) -> Iterator[Finding]:
    """Judge the wire that is worst off; silent for springs whose wire nobody measured."""
    reserves = [(figures.fatigue_reserve(one, lift), one) for one in springs]
    known = [(reserve, one) for reserve, one in reserves if reserve.value is not None]
    if known:
        reserve, one = min(known, key=lambda item: item[0].value or 0.0)
        yield judge(
            "spring_fatigue",
            f"Reserve of the wire against fatigue, {side}, {one.tag}",
            f"{side} valves",
            reserve,
            limits_of(trial, "spring_fatigue_minimum"),
            advice="Less lift, less load or better wire; change springs by running hours.",
        )
    elif side == "intake":
        gone = [fact for reserve, _ in reserves for fact in reserve.missing]
        yield _unknown(
            "spring_fatigue", "Stress of the springs' wire", GEAR, "fatigue_reserve", gone
        )


def _surge(trial: Trial, springs: Sequence[SpringFacts]) -> Iterator[Finding]:
    if trial.maximum_speed.value is None:
        return
    orders = [(figures.surge_order(one, trial.maximum_speed), one) for one in springs]
    known = [(order, one) for order, one in orders if order.value is not None]
    if known:
        order, one = min(known, key=lambda item: item[0].value or 0.0)
        yield judge(
            "surge",
            f"First surge of {one.tag} over cam speed at the highest speed",
            GEAR,
            order,
            limits_of(trial, "surge_order_minimum"),
            advice="Shorter, stiffer or conical springs, or a damper coil.",
        )
