"""Figures of the valve gear that limits judge, each with its uncertainty.

Every function returns a :class:`~headwright.assemble.Derived`; the formulas are those of
:mod:`headwright.physics.cam_contact`, :mod:`headwright.physics.rocker` and
:mod:`headwright.physics.spring_load`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed, known, unknown
from headwright.assemble.valve_gear import ValveTrainFacts
from headwright.assemble.valve_gear_forces import RigidTrain, forces
from headwright.assemble.valve_gear_rocker import RockerFacts
from headwright.assemble.valve_gear_springs import SpringFacts, load_of
from headwright.physics import cam_contact, spring, spring_fatigue, spring_surge
from headwright.physics.arrays import Array
from headwright.physics.rocker import RockerGeometry

__all__ = [
    "CamFacts",
    "bind_margin",
    "cam_facts",
    "contact_pressures",
    "contact_stress",
    "face_margin",
    "fatigue_reserve",
    "least_curvature",
    "lobe_radii",
    "stem_fact",
    "stress_facts",
    "surge_frequency",
    "surge_order",
    "tip_margin",
    "tip_travel",
    "wire_stresses",
]

CONTACT_MODULUS_PA: Final = (100e9, 10e9)
"""Contact modulus of steel or chilled iron on hardened iron, and its standard uncertainty: Young's
moduli of 207 and 160 GPa (handbook values), either way round. Common practice, no source."""

_Then = Callable[[float, float, Mapping[str, float]], float]
_Figure = Callable[..., float]

USUAL_FACE_OFFSET_M: Final = (1.0e-3, 0.5e-3)
"""Lobe from the tappet's axis, which turns the tappet. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class CamFacts:
    """What cam and tappet are made to, as facts."""

    sort: str
    base_radius: Fact
    lobe_width: Fact
    face_radius: Fact
    follower_radius: Fact
    face_offset: Fact
    modulus: Fact


def cam_facts(trial: Trial) -> CamFacts:
    """Return what cam and tappet are made to."""
    cam, gear = trial.bundle.cam, trial.bundle.valve_gear
    tappet = gear.tappet if gear else None
    at_cam = f"cam {cam.tag if cam else ''}: "
    at_tappet = f"valve_gear {gear.tag if gear else ''}: tappet"
    sort = tappet.sort if tappet else "flat"
    follower = Fact("tappet_crown_radius", at_tappet, "flat tappet face", math.inf)
    if sort == "barrel":
        follower = known(
            tappet.crown_radius if tappet else None,
            "tappet_crown_radius",
            at_tappet + ".crown_radius",
            "crown radius of the tappet",
        )
    elif sort == "roller":
        follower = _half(
            known(
                tappet.roller_diameter if tappet else None,
                "tappet_diameter",
                at_tappet + ".roller_diameter",
                "diameter of the tappet's roller",
            )
        )
    offset = tappet.face_offset if tappet else None
    return CamFacts(
        sort=sort,
        base_radius=known(
            cam.base_circle_radius if cam else None,
            "base_circle_radius",
            at_cam + "base_circle_radius",
            "base circle radius of the cam",
        ),
        lobe_width=known(
            cam.lobe_width if cam else None, "lobe_width", at_cam + "lobe_width", "lobe width"
        ),
        face_radius=_half(
            known(
                tappet.face_diameter if tappet else None,
                "tappet_diameter",
                at_tappet + ".face_diameter",
                "diameter of the tappet's face",
            )
        ),
        follower_radius=follower,
        face_offset=(
            known(offset, "tappet_face_offset", at_tappet + ".face_offset", "lobe's offset")
            if offset is not None
            else assumed(
                *USUAL_FACE_OFFSET_M,
                "tappet_face_offset",
                at_tappet + ".face_offset",
                "lobe's offset from the tappet's axis",
                "a usual offset stands in: common practice, no source",
            )
        ),
        modulus=assumed(
            *CONTACT_MODULUS_PA,
            "contact_stress",
            at_cam + "lobes",
            "contact modulus of cam and tappet",
            "steel or chilled iron on hardened iron: handbook values",
        ),
    )


def _half(diameter: Fact) -> Fact:
    if diameter.value is None:
        return diameter
    return replace(diameter, value=diameter.value / 2.0, uncertainty=diameter.uncertainty / 2.0)


def _by_cam(train: ValveTrainFacts) -> tuple[Array, Array, Array]:
    """Lift and its first two derivatives by cam angle, where there is lift."""
    lifting = train.tappet_lift > 0.0
    return (
        train.tappet_lift[lifting],
        2.0 * train.tappet_velocity[lifting],
        4.0 * train.tappet_acceleration[lifting],
    )


def lobe_radii(
    sort: str, base: float, follower: float, lift: Array, slope: Array, curve: Array
) -> Array:
    """Radius of curvature of the lobe where the tappet touches it [m].

    Args:
        sort: ``flat``, ``barrel`` or ``roller``.
        base: base circle radius [m].
        follower: radius of roller or crown [m]; not asked of a flat face.
        lift: [m].
        slope: lift by cam angle [m/rad].
        curve: twice [m/rad2].
    """
    if sort == "flat":
        return np.asarray(cam_contact.flat_curvature(base, lift, curve))
    return cam_contact.roller_curvature(base + follower + lift, slope, curve, follower)


def face_margin(train: ValveTrainFacts, cam: CamFacts) -> Derived:
    """Tappet face left beyond the contact line's farthest end [m]."""
    lift, slope, _ = _by_cam(train)
    facts = {"face": cam.face_radius, "width": cam.lobe_width, "offset": cam.face_offset}
    if cam.sort == "barrel":
        facts |= {"crown": cam.follower_radius, "base": cam.base_radius}

    def margin(**values: float) -> float:
        across = np.abs(slope)
        if "crown" in values:
            crown = values["crown"]
            lean = cam_contact.roller_pressure_angle(values["base"] + crown + lift, slope)
            across = np.abs(crown * np.sin(lean))
        reach = cam_contact.face_reach(across, values["width"], values["offset"])
        return values["face"] - float(np.max(reach))

    return derive("tappet_face_margin", margin, facts)


def least_curvature(train: ValveTrainFacts, cam: CamFacts) -> Derived:
    """Smallest convex radius of curvature of the lobe [m]; negative where it is undercut."""
    lift, slope, curve = _by_cam(train)
    facts = {"base": cam.base_radius, "trust": train.lobe.acceleration}
    if cam.sort != "flat":
        facts["follower"] = cam.follower_radius

    def least(**values: float) -> float:
        follower = values.get("follower", math.inf)
        radii = lobe_radii(cam.sort, values["base"], follower, lift, slope, curve * values["trust"])
        if cam.sort == "flat":
            return float(np.min(radii))
        convex = radii[radii > -follower]
        return float(np.min(convex)) if convex.size else float(np.max(radii))

    return derive("lobe_curvature", least, facts)


def contact_pressures(
    train: ValveTrainFacts, moving: RigidTrain, cam: CamFacts, speed: float
) -> Array | None:
    """Hertz pressure at the cam over the angles of ``moving`` [Pa]; None where it is not known."""
    needed = (cam.base_radius, cam.lobe_width, cam.follower_radius, cam.modulus)
    if any(fact.value is None for fact in needed) or any(one.missing for one in train.springs):
        return None
    values = {
        "base": cam.base_radius.value or 0.0,
        "width": cam.lobe_width.value or 0.0,
        "follower": cam.follower_radius.value or math.inf,
        "modulus": cam.modulus.value or 0.0,
    }
    return _pressures(train, moving, cam, forces(train, moving, speed).cam, values)


def _pressures(
    train: ValveTrainFacts,
    moving: RigidTrain,
    cam: CamFacts,
    force: Array,
    values: Mapping[str, float],
) -> Array:
    slope = 2.0 * np.interp(moving.crank_angles, train.crank_angles, train.tappet_velocity)
    radii = lobe_radii(
        cam.sort,
        values["base"],
        values["follower"],
        moving.tappet_lift,
        slope,
        4.0 * moving.tappet_curve,
    )
    curvature = cam_contact.relative_curvature(radii, values["follower"])
    along = force
    if cam.sort != "flat":
        lean = cam_contact.roller_pressure_angle(
            values["base"] + values["follower"] + moving.tappet_lift, slope
        )
        along = force / np.cos(lean)
    return cam_contact.line_contact_pressure(
        along, values["width"], np.maximum(curvature, 0.0), values["modulus"]
    )


def contact_stress(
    train: ValveTrainFacts, moving: RigidTrain, cam: CamFacts, speed: float
) -> Derived:
    """Greatest Hertz pressure between cam and tappet [Pa], at a speed (0: turned by hand).

    Args:
        train: the facts.
        moving: from :func:`~headwright.assemble.valve_gear_forces.rigid_train`.
        cam: from :func:`cam_facts`.
        speed: crank speed [rad/s].
    """
    facts = {"base": cam.base_radius, "width": cam.lobe_width, "modulus": cam.modulus}
    if cam.sort != "flat":
        facts["follower"] = cam.follower_radius
    springs = {key: fact for one in train.springs for key, fact in one.load_facts.items()}
    if not springs:
        springs = {"spring": unknown("spring_load", "valve_gear: springs", "valve springs")}
    if any(fact.value is None for fact in (*facts.values(), *springs.values())):
        return derive("contact_stress", lambda **_: 0.0, facts | springs)
    inertia = forces(train, moving, speed).cam - forces(train, moving, 0.0).cam

    def stress(**values: float) -> float:
        values = {"follower": math.inf} | values
        load = sum(
            np.maximum(
                values[f"load_{n}"]
                + values[f"rate_{n}"]
                * (values[f"height_{n}"] - values[f"installed_{n}"] + moving.valve_lift),
                0.0,
            )
            for n in (one.place for one in train.springs)
        )
        return float(np.max(_pressures(train, moving, cam, moving.ratio * load + inertia, values)))

    return derive("contact_stress", stress, facts | springs)


# ---------------------------------------------------------------------------- rocker and valve tip


def tip_travel(rocker: RockerFacts, lift: float) -> Derived:
    """Travel of the rocker's contact across the valve's tip [m]."""
    return derive("tip_travel", _sweep(rocker, lift, _travel), _tip_facts(rocker))


def tip_margin(rocker: RockerFacts, lift: float, stem: Fact) -> Derived:
    """Valve tip left beyond the rocker's contact, at its nearest to the edge [m]."""
    facts = _tip_facts(rocker) | {"stem": stem}
    return derive("tip_margin", _sweep(rocker, lift, _left), facts)


def _tip_facts(rocker: RockerFacts) -> dict[str, Fact]:
    names = ("valve_arm", "shaft_to_valve", "shaft_height", "tip_height", "tip_radius")
    return {name: rocker.facts[name] for name in names}


def _travel(low: float, high: float, values: Mapping[str, float]) -> float:
    del values
    return high - low


def _left(low: float, high: float, values: Mapping[str, float]) -> float:
    return 0.5 * values["stem"] - max(abs(low), abs(high))


def _sweep(rocker: RockerFacts, lift: float, then: _Then) -> _Figure:
    geometry = rocker.geometry

    def figure(**values: float) -> float:
        if geometry is None:
            return 0.0
        own = {key: value for key, value in values.items() if key != "stem"}
        moved: RockerGeometry = replace(geometry, **own)
        return then(*moved.tip_sweep(lift), values)

    return figure


def stem_fact(trial: Trial, rocker: RockerFacts) -> Fact:
    """Stem diameter of one valve [m]: the build's own, else the casting's."""
    bundle, side = trial.bundle, rocker.side
    valve = bundle.valve(side)
    if valve is not None and valve.stem_diameter is not None:
        path = f"valve {valve.tag}: stem_diameter"
        return known(valve.stem_diameter, "stem_diameter", path, f"{side} stem diameter")
    place = trial.casting.valve(rocker.cylinder, side)
    figure = place.stem_diameter if place else None
    if figure is None:
        others = [one for one in trial.casting.valves if one.side == side and one.stem_diameter]
        figure = others[0].stem_diameter if others else None
    path = f"casting {trial.casting.tag}: valves[{side}].stem_diameter"
    return known(figure, "stem_diameter", path, f"{side} stem diameter")


# ---------------------------------------------------------------------------- springs


def bind_margin(one: SpringFacts, lift: float) -> Derived:
    """Travel left to coil bind at full lift [m]."""
    return derive(
        "bind_margin",
        lambda installed, bind: installed - lift - bind,
        {"installed": one.installed, "bind": one.bind},
    )


def wire_stresses(
    one: SpringFacts, values: Mapping[str, float], lift: float
) -> tuple[float, float]:
    """Corrected shear stress of the wire with the valve shut and at full lift [Pa]."""
    wire, mean = values["wire"], values["mean"]
    factor = spring.bergstrasser_factor(spring.spring_index(wire, mean))
    shut, lifted = (
        float(spring.shear_stress(load_of(one.place, values, at), wire, mean, factor))
        for at in (0.0, lift)
    )
    return shut, lifted


def stress_facts(one: SpringFacts) -> dict[str, Fact]:
    """Facts behind the stresses of a spring's wire, by argument name."""
    return one.load_facts | {"wire": one.wire_diameter, "mean": one.mean_diameter}


def fatigue_reserve(one: SpringFacts, lift: float) -> Derived:
    """Reserve of a spring's wire against fatigue [-], after its Goodman line."""
    facts = stress_facts(one) | {"strength": one.strength}

    def reserve(**values: float) -> float:
        amplitude, mean = spring_fatigue.stress_amplitude_and_mean(
            *wire_stresses(one, values, lift)
        )
        return float(
            spring_fatigue.goodman_reserve(amplitude, mean, values["strength"], peened=one.peened)
        )

    return derive("fatigue_reserve", reserve, facts)


def surge_frequency(one: SpringFacts) -> float | None:
    """First surge frequency of a spring at its best estimates [Hz]; None where it is not known."""
    if one.rate.value is None or one.active_mass.value is None:
        return None
    return float(spring.surge_frequency(one.rate.value, one.active_mass.value))


def surge_order(one: SpringFacts, speed: Fact) -> Derived:
    """First surge frequency of a spring over cam speed [-]."""

    def order(rate: float, mass: float, speed: float) -> float:
        return float(spring_surge.surge_order(spring.surge_frequency(rate, mass), speed))

    return derive("surge_order", order, {"rate": one.rate, "mass": one.active_mass, "speed": speed})
