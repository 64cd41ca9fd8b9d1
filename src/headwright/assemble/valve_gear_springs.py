"""A build's valve springs: load against height, installed height, wire, mass."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from headwright.assemble.facts import (
    Derived,
    Fact,
    assumed,
    computed,
    derive,
    known,
    unknown,
)
from headwright.assemble.trial import Trial
from headwright.assemble.valve_gear_rocker import installed_height_fact, tip_height_fact
from headwright.errors import InputError
from headwright.physics import spring as wire_spring
from headwright.physics.spring_fatigue import WIRES, wire_strength
from headwright.physics.spring_load import LoadLine, fit_load_line, installed_height, line_from_rate
from headwright.records import Spring
from headwright.records.casting import ValveSide
from headwright.records.measured import Measured

__all__ = ["SpringFacts", "load_of", "load_of_nest", "spring_facts"]

SHEAR_MODULUS_SPREAD: Final = 0.02
"""Relative standard uncertainty of the shear modulus. Common practice, no source."""
BIND_SPREAD_M: Final = 0.4e-3
"""Standard uncertainty of a bind height reckoned from coils. Common practice, no source."""
STRENGTH_SPREAD: Final = 0.04
"""Relative standard uncertainty of a wire's tensile strength. Common practice, no source."""
GUESSED_WIRE: Final = "oil-tempered"


@dataclass(frozen=True, slots=True, eq=False)
class SpringFacts:
    """One spring of the nest on one valve.

    The load at a height h is ``load + rate (height - h)``; the three facts are independent.

    Attributes:
        tag: of the spring.
        place: in the nest, outer first.
        height: at which ``load`` holds [m].
        load: there [N].
        rate: [N/m].
        installed: height with the valve shut [m].
        bind: height with the coils shut [m].
        wire_diameter: [m].
        mean_diameter: of the coils [m].
        active_coils: [-].
        active_mass: of the coils that work [kg].
        strength: tensile strength of the wire [Pa].
        peened: whether the wire is taken as shot-peened.
        basis: what the load rests on, in words.
        line: the fit to bench readings; None where there is none.
        notes: what was noticed.
    """

    tag: str
    place: int
    height: Fact
    load: Fact
    rate: Fact
    installed: Fact
    bind: Fact
    wire_diameter: Fact
    mean_diameter: Fact
    active_coils: Fact
    active_mass: Fact
    strength: Fact
    peened: bool
    basis: str
    line: LoadLine | None = None
    notes: tuple[str, ...] = ()

    @property
    def load_facts(self) -> dict[str, Fact]:
        """Facts behind the load, by argument name; see :func:`load_of`."""
        n = self.place
        return {
            f"height_{n}": self.height,
            f"load_{n}": self.load,
            f"rate_{n}": self.rate,
            f"installed_{n}": self.installed,
        }

    @property
    def missing(self) -> tuple[Fact, ...]:
        """What must be measured before the load is known."""
        return tuple(fact for fact in self.load_facts.values() if fact.value is None)


def load_of(place: int, values: Mapping[str, float], lift: float) -> float:
    """Load of one spring at a valve lift [N], from the values of its load facts.

    Args:
        place: in the nest.
        values: by the names of :attr:`SpringFacts.load_facts`.
        lift: [m].
    """
    now = values[f"installed_{place}"] - lift
    load = values[f"load_{place}"] + values[f"rate_{place}"] * (values[f"height_{place}"] - now)
    return max(load, 0.0)


def load_of_nest(springs: tuple[SpringFacts, ...], lift: float) -> Derived:
    """Load of all springs on a valve at a lift [N].

    Args:
        springs: the nest.
        lift: [m].
    """
    if not springs:
        gone = unknown("spring_load", "valve_gear: springs", "valve springs")
        return Derived("spring_load", None, missing=(gone,))
    facts = {key: fact for spring in springs for key, fact in spring.load_facts.items()}

    def load(**values: float) -> float:
        return sum(load_of(spring.place, values, lift) for spring in springs)

    return derive("spring_load", load, facts)


def spring_facts(trial: Trial, side: ValveSide, cylinder: int) -> tuple[SpringFacts, ...]:
    """Return the springs on one valve, outer first; empty where the gear names none."""
    heights = _outer_height(trial, side, cylinder)
    return tuple(_one(spring, place, heights) for place, spring in enumerate(trial.bundle.springs))


def _outer_height(trial: Trial, side: ValveSide, cylinder: int) -> Fact:
    """Installed height of the outer spring: from tip, retainer and shims, or as measured."""
    gear = trial.bundle.valve_gear
    name, what = "spring_installed_height", f"installed height of the springs, {side} {cylinder}"
    tag = gear.tag if gear else ""
    shim = known(
        gear.shim_thickness if gear else None,
        "shim_thickness",
        f"valve_gear {tag}: shim_thickness",
        "shims under the springs",
    )
    if shim.value is None:
        shim = Fact("shim_thickness", shim.path, shim.what, 0.0, note="none entered")
    depth = _retainer_depth(trial, side)
    tip = tip_height_fact(trial, side, cylinder)
    if depth.value is not None and tip.value is not None:
        found = derive(
            name,
            installed_height,
            {"tip_height": tip, "retainer_depth": depth, "shims": shim},
        )
        return replace(computed(name, tip.path, what, found), note="from stem, retainer and shims")
    measured = installed_height_fact(trial, side, cylinder)
    if measured.value is None:
        return measured
    found = derive(name, lambda bare, shim: bare - shim, {"bare": measured, "shim": shim})
    note = measured.note or "as measured in the casting, less the shims"
    return replace(computed(name, measured.path, what, found), note=note)


def _retainer_depth(trial: Trial, side: ValveSide) -> Fact:
    """Spring seat of the retainer below the valve's tip."""
    bundle, gear = trial.bundle, trial.bundle.valve_gear
    valve = bundle.valve(side)
    path = f"valve_gear {gear.tag if gear else ''}: retainer_depth"
    what = "spring seat of the retainer below the valve tip"
    groove = valve.tip_to_groove if valve else None
    step = gear.groove_to_retainer if gear else None
    if groove is not None and step is not None and valve is not None and gear is not None:
        found = derive(
            "retainer_depth",
            lambda groove, step: groove + step,
            {
                "groove": known(
                    groove, "tip_to_groove", f"valve {valve.tag}: tip_to_groove", "tip to groove"
                ),
                "step": known(
                    step,
                    "retainer_step",
                    f"valve_gear {gear.tag}: groove_to_retainer",
                    "groove to the retainer's spring seat",
                ),
            },
        )
        return computed("retainer_depth", path, what, found)
    return known(gear.retainer_depth if gear else None, "retainer_depth", path, what)


def _one(spring: Spring, place: int, outer: Fact) -> SpringFacts:
    at = f"spring {spring.tag}: "
    wire = known(spring.wire_diameter, "wire_diameter", at + "wire_diameter", "wire diameter")
    mean = _mean_diameter(spring, wire, at)
    active = known(spring.active_coils, "coil_count", at + "active_coils", "active coils")
    height, load, rate, basis, line, notes = _load_line(spring, wire, mean, active, at)
    step = (
        known(spring.retainer_step, "retainer_step", at + "retainer_step", "retainer's inner step")
        if spring.retainer_step is not None
        else Fact("retainer_step", at + "retainer_step", "retainer's inner step", 0.0)
    )
    installed = outer
    if place > 0 and outer.value is not None and (step.value or 0.0) != 0.0:
        found = derive(outer.name, lambda outer, step: outer - step, {"outer": outer, "step": step})
        installed = replace(
            computed(outer.name, outer.path + f" ({spring.tag})", outer.what, found),
            note=outer.note,
        )
    return SpringFacts(
        tag=spring.tag,
        place=place,
        height=height,
        load=load,
        rate=rate,
        installed=installed,
        bind=_bind(spring, wire, at),
        wire_diameter=wire,
        mean_diameter=mean,
        active_coils=active,
        active_mass=_active_mass(spring, wire, mean, active, at),
        strength=_strength(spring, wire, at),
        peened=spring.peened is not False,
        basis=basis,
        line=line,
        notes=notes,
    )


def _mean_diameter(spring: Spring, wire: Fact, at: str) -> Fact:
    mean = known(spring.mean_diameter, "coil_diameter", at + "mean_diameter", "mean coil diameter")
    if mean.value is not None or spring.outside_diameter is None:
        return mean
    outside = known(
        spring.outside_diameter, "coil_diameter", at + "outside_diameter", "outside coil diameter"
    )
    found = derive(
        "coil_diameter", lambda outside, wire: outside - wire, {"outside": outside, "wire": wire}
    )
    return mean if found.value is None else computed(mean.name, mean.path, mean.what, found)


def _wire_rate(spring: Spring, wire: Fact, mean: Fact, active: Fact, at: str) -> Fact:
    """Rate: as entered, or of the wire."""
    own = known(spring.rate, "spring_rate", at + "rate", "spring rate")
    if own.value is not None:
        return own
    modulus = assumed(
        wire_spring.STEEL_SHEAR_MODULUS_PA,
        SHEAR_MODULUS_SPREAD * wire_spring.STEEL_SHEAR_MODULUS_PA,
        "contact_stress",
        at + "wire",
        "shear modulus of the wire",
        "that of spring steel: common handbook value",
    )
    found = derive(
        "spring_rate",
        _rate_of_wire,
        {"wire": wire, "mean": mean, "active": active, "modulus": modulus},
    )
    if found.value is None:
        return replace(own, note="or wire, coil diameter and active coils")
    return replace(computed(own.name, own.path, own.what, found), note="from wire and coils")


def _rate_of_wire(wire: float, mean: float, active: float, modulus: float) -> float:
    return float(wire_spring.spring_rate(wire, mean, active, modulus))


Line = tuple[Fact, Fact, Fact, str, LoadLine | None, tuple[str, ...]]


def _spread(figure: Measured, name: str) -> float:
    return known(figure, name, "", "").uncertainty


def _load_line(spring: Spring, wire: Fact, mean: Fact, active: Fact, at: str) -> Line:
    """Choose what the load rests on: bench readings, one reading and a rate, or the free length."""
    rate = _wire_rate(spring, wire, mean, active, at)
    rows = spring.loads
    if len({round(row.height.value, 6) for row in rows}) >= 2:
        try:
            line = fit_load_line(
                [row.height.value for row in rows],
                [row.load.value for row in rows],
                [_spread(row.load, "spring_load") for row in rows],
                [_spread(row.height, "spring_height") for row in rows],
            )
        except InputError as error:
            gone = unknown("spring_load", at + "loads", f"spring loads ({error})")
            return gone, gone, rate, "", None, (str(error),)
        told: tuple[str, ...] = ()
        if rate.value is not None and abs(line.rate / rate.value - 1.0) > 0.08:
            told = (
                f"{spring.tag}: the bench gives {line.rate / 1e3:.1f} N/mm, "
                f"{'the maker' if spring.rate else 'wire and coils'} {rate.value / 1e3:.1f} N/mm; "
                "the bench counts",
            )
        worst = max((row.load.provenance for row in rows), key=_ORDER.index)
        path = at + "loads"
        return (
            Fact("spring_height", path, "height of the bench readings", line.height, 0.0, worst),
            Fact("spring_load", path, f"load of {spring.tag}", line.load, line.load_spread, worst),
            Fact(
                "spring_rate",
                path + " (rate)",
                f"rate of {spring.tag}",
                line.rate,
                line.rate_spread,
                worst,
            ),
            f"{len(rows)} bench readings, straight line by weighted least squares",
            line,
            told,
        )
    if rows and rate.value is not None:
        row = rows[0]
        return (
            known(row.height, "spring_height", at + "loads[0].height", "height of the reading"),
            known(row.load, "spring_load", at + "loads[0].load", f"load of {spring.tag}"),
            rate,
            "one bench reading and the rate" + (f" {rate.note}" if rate.note else ""),
            line_from_rate(row.height.value, row.load.value, rate.value),
            (),
        )
    free = known(spring.free_length, "spring_free_length", at + "free_length", "free length")
    none = Fact("spring_load", at + "free_length (load)", "load at the free length", 0.0)
    basis = "free length and the rate" + (f" {rate.note}" if rate.note else "")
    straight = (
        line_from_rate(free.value, 0.0, rate.value)
        if free.value is not None and rate.value is not None
        else None
    )
    if straight is None and not rows:
        free = replace(free, what=f"load of {spring.tag} at two heights on a spring tester")
        free = replace(free, path=at + "loads") if free.value is None else free
    return free, none, rate, basis, straight, ()


_ORDER: Final = ("measured", "maker", "estimated", "assumed")


def _bind(spring: Spring, wire: Fact, at: str) -> Fact:
    own = known(spring.bind_height, "spring_bind_height", at + "bind_height", "coil bind height")
    if own.value is not None or spring.total_coils is None or wire.value is None:
        return own
    coils = known(spring.total_coils, "coil_count", at + "total_coils", "total coils")
    ground = 0.0 if spring.ends in {"squared", "open"} else 1.0
    found = derive(own.name, _solid(ground), {"wire": wire, "coils": coils})
    fact = computed(own.name, own.path, own.what, found)
    return replace(
        fact,
        uncertainty=(fact.uncertainty**2 + BIND_SPREAD_M**2) ** 0.5,
        provenance="estimated",
        note="reckoned from wire and coils",
    )


def _solid(ground: float) -> Callable[..., float]:
    def solid(wire: float, coils: float) -> float:
        return float(wire_spring.solid_length(wire, coils, ground))

    return solid


def _active_mass(spring: Spring, wire: Fact, mean: Fact, active: Fact, at: str) -> Fact:
    """Mass of the active coils: the share of the weighed spring, or of the wire."""
    path, what = at + "mass", f"mass of {spring.tag}"
    weighed = known(spring.mass, "part_mass", path, what)
    total = known(spring.total_coils, "coil_count", at + "total_coils", "total coils")
    if weighed.value is not None and active.value is not None and total.value is not None:
        found = derive(
            "part_mass",
            lambda mass, active, total: mass * active / total,
            {"mass": weighed, "active": active, "total": total},
        )
        return computed("part_mass", path, what, found)
    found = derive(
        "part_mass",
        lambda wire, mean, active: float(wire_spring.active_mass(wire, mean, active)),
        {"wire": wire, "mean": mean, "active": active},
    )
    if found.value is not None:
        return replace(computed("part_mass", path, what, found), note="from wire and coils")
    if weighed.value is not None:
        return replace(
            weighed,
            value=0.75 * weighed.value,
            uncertainty=0.08 * weighed.value,
            provenance="estimated",
            note="three quarters of the weighed spring: its coils were not counted",
        )
    return weighed


def _strength(spring: Spring, wire: Fact, at: str) -> Fact:
    own = known(spring.strength, "wire_strength", at + "strength", "tensile strength of the wire")
    if own.value is not None or wire.value is None:
        return own
    named = (spring.wire or "").strip().lower().replace(" ", "-")
    sort = next((name for name in WIRES if name in named), None)
    try:
        value = wire_strength(sort or GUESSED_WIRE, wire.value)
    except InputError:
        return own
    note = (
        f"that of {sort} wire of this size"
        if sort
        else f"the wire is not named: taken as {GUESSED_WIRE}"
    )
    spread = STRENGTH_SPREAD if sort else 2.0 * STRENGTH_SPREAD
    return replace(
        own,
        value=value,
        uncertainty=spread * value,
        provenance="estimated" if sort else "assumed",
        uncertainty_assumed=True,
        note=note,
    )
