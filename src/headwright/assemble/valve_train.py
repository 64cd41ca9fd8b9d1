"""A build's valve train as a case for the dynamic model, with every figure it rests on."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np

from headwright.assemble.facts import Fact, assumed
from headwright.assemble.trial import Trial
from headwright.assemble.valve_gear import ValveTrainFacts, valve_train_facts
from headwright.assemble.valve_gear_springs import SpringFacts, load_of
from headwright.errors import Problem, RecordError
from headwright.physics.arrays import Array
from headwright.records.casting import ValveSide
from headwright.simulation.valve_train import (
    CoilSpring,
    ValveTrainCase,
    ValveTrainResult,
    run_train,
)

__all__ = [
    "CASE_ANGLES",
    "HeldModel",
    "TrainModel",
    "lift_at_speed",
    "lift_of",
    "train_model",
    "train_run",
]

CASE_ANGLES: Final[Array] = 2.0 * math.pi * (2.0 * np.arange(1440.0) / 1440.0 - 1.0)
"""Crank angles from full lift at which a case takes the cam's lift [rad]."""

SPRING_DAMPING: Final = {False: (0.015, 0.007), True: (0.03, 0.015)}
"""Damping ratio of a spring's first surge mode: alone, and in a nest whose coils rub. Own
judgement, no source."""

HEAD_SHARE: Final = 0.55
"""Share of a valve's mass that moves with its head, the rest with the retainer. Own judgement, no
source."""

ROOMY_M: Final = (0.05, 0.0)
"""Travel to bind where nobody knows the bind height: coils then never meet."""


@dataclass(frozen=True, slots=True, eq=False)
class TrainModel:
    """One valve's train, ready to be run with its figures as they are or changed.

    Attributes:
        name: build, casting and side.
        side: which valve.
        figures: the records behind it.
        facts: every figure with an uncertainty, by name; the same fact may stand under two.
        lift: of the cam at :data:`CASE_ANGLES` [m].
        ratio: rocker ratio as a polynomial in tappet lift.
        nominal_ratio: the ratio fact's value, to which ``ratio`` belongs [-].
        notes: what was noticed.
    """

    name: str
    side: ValveSide
    figures: ValveTrainFacts
    facts: Mapping[str, Fact]
    lift: Array
    ratio: tuple[float, ...]
    nominal_ratio: float
    notes: tuple[str, ...] = ()

    @property
    def values(self) -> dict[str, float]:
        """Best estimates of the facts by name (SI)."""
        return {name: fact.value for name, fact in self.facts.items() if fact.value is not None}

    @property
    def every(self) -> tuple[Fact, ...]:
        """Different facts, in order."""
        return tuple(dict.fromkeys(self.facts.values()))

    @property
    def uncertain(self) -> tuple[Fact, ...]:
        """Different facts with an uncertainty."""
        return tuple(dict.fromkeys(fact for fact in self.facts.values() if fact.uncertainty > 0.0))

    @property
    def full_lift_angle(self) -> float:
        """Crank angle of full lift from firing top dead centre [rad]."""
        return self.figures.peak_angle

    def shifted(self, fact: Fact, spreads: float = 1.0) -> dict[str, float]:
        """Return the values with one fact off by some standard uncertainties.

        A positive figure stays positive: it is moved by a factor where its spread is large.

        Args:
            fact: one of :attr:`facts`.
            spreads: how many standard uncertainties.
        """
        values = self.values
        for name, other in self.facts.items():
            if other == fact and other.value is not None:
                values[name] = _moved(other, spreads)
        return values

    def case(self, values: Mapping[str, float] | None = None) -> ValveTrainCase:
        """Return the case for some values of the facts; by default the best estimates.

        Raises:
            QuantityError: values that no train can have.
        """
        v = dict(values) if values is not None else self.values
        scale = v["ratio"] / self.nominal_ratio
        return ValveTrainCase(
            name=self.name,
            tappet_mass=v["tappet_mass"],
            pushrod_mass=v["pushrod_mass"],
            rocker_mass=v["rocker_inertia"] / v["pushrod_arm"] ** 2,
            retainer_mass=(
                v["retainer_mass"] + v["collet_mass"] + (1.0 - HEAD_SHARE) * v["valve_mass"]
            ),
            head_mass=HEAD_SHARE * v["valve_mass"],
            cam_stiffness=v["cam_stiffness"],
            pushrod_stiffness=v["pushrod_stiffness"],
            rocker_stiffness=v["rocker_stiffness"],
            stem_stiffness=v["stem_stiffness"],
            seat_stiffness=v["seat_stiffness"],
            springs=tuple(_spring(spring, v) for spring in self.figures.springs),
            lash=v["lash"],
            ratio=tuple(scale * term for term in self.ratio),
            cam_lift=self.lift,
            damping_ratio=v["contact_damping"],
            seat_damping_ratio=v["contact_damping"],
        )

    @property
    def key(self) -> str:
        """Name of everything that decides what the model gives."""
        digest = hashlib.sha256(self.lift.tobytes())
        digest.update(repr((self.side, self.ratio, self.nominal_ratio)).encode())
        for name, fact in sorted(self.facts.items()):
            digest.update(f"{name}={fact.value!r}+-{fact.uncertainty!r}@{fact.path};".encode())
        return digest.hexdigest()


@dataclass(frozen=True, slots=True)
class HeldModel:
    """Carries a model through a cache that goes by its key."""

    key: str
    model: TrainModel = field(compare=False)

    @classmethod
    def of(cls, model: TrainModel) -> HeldModel:
        """Return a model ready for a cache."""
        return cls(model.key, model)


def train_run(model: TrainModel, speed: float) -> ValveTrainResult:
    """Run a train at one speed with its best estimates; kept for the next who asks.

    Args:
        model: the train.
        speed: of the crank [rad/s].

    Raises:
        SimulationError: the train broke down.
    """
    return _run(HeldModel.of(model), speed)


@lru_cache(maxsize=256)
def _run(held: HeldModel, speed: float) -> ValveTrainResult:
    return run_train(held.model.case(), speed)


def lift_at_speed(
    trial: Trial, side: ValveSide, speed: float, cylinder: int | None = None
) -> tuple[Array, Array]:
    """Return the valve's lift as its train delivers it at a speed, bending, swinging, floating.

    Args:
        trial: the build on its casting.
        side: which valve.
        speed: of the crank [rad/s].
        cylinder: as for :func:`train_model`.

    Returns:
        Crank angles from firing top dead centre by whole degrees, 0 to 4 pi [rad], shape (721,),
        and the lift there [m].

    Raises:
        RecordError: with everything that is missing for the model.
        SimulationError: the train broke down.
    """
    return lift_of(train_model(trial, side, cylinder), speed)


def lift_of(model: TrainModel, speed: float) -> tuple[Array, Array]:
    """Return the lift a train delivers at a speed; as :func:`lift_at_speed`.

    Args:
        model: the train.
        speed: of the crank [rad/s].
    """
    traces = train_run(model, speed).traces
    angles = np.linspace(0.0, 4.0 * math.pi, 721)
    from_peak = np.mod(angles - model.full_lift_angle + 2.0 * math.pi, 4.0 * math.pi)
    lift = np.interp(from_peak - 2.0 * math.pi, traces.angles, traces.lift, period=4.0 * math.pi)
    return angles, lift


def _moved(fact: Fact, spreads: float) -> float:
    value, spread = fact.value or 0.0, spreads * fact.uncertainty
    if value > 0.0 and abs(spread) > 0.1 * value:
        grown = math.log1p(fact.uncertainty / value)
        return value * math.exp(math.copysign(grown, spreads) * abs(spreads))
    return value + spread


def _spring(spring: SpringFacts, values: Mapping[str, float]) -> CoilSpring:
    n = spring.place
    installed = values[f"installed_{n}"]
    room = installed - values[f"bind_{n}"] if f"bind_{n}" in values else ROOMY_M[0]
    return CoilSpring(
        name=spring.tag,
        rate=values[f"rate_{n}"],
        mass=values[f"mass_{n}"],
        seat_load=max(load_of(n, values, 0.0), 1.0),
        travel_to_bind=max(room, 0.1e-3),
        damping_ratio=values["spring_damping"],
    )


def train_model(trial: Trial, side: ValveSide, cylinder: int | None = None) -> TrainModel:
    """Put the dynamic model of one valve's train together.

    Args:
        trial: the build on its casting.
        side: which valve.
        cylinder: whose heights count; by default as for
            :func:`headwright.assemble.valve_gear.valve_train_facts`.

    Raises:
        RecordError: with everything that is missing: cam, rocker, springs' loads and heights.
    """
    figures = valve_train_facts(trial, side, cylinder)
    lobe = figures.lobe.lobe
    tag = trial.bundle.valve_gear.tag if trial.bundle.valve_gear else ""
    problems = [
        Problem(fact.path, f"{fact.what} is missing")
        for spring in figures.springs
        for fact in spring.missing
    ]
    if not figures.springs:
        problems.append(Problem(f"valve_gear {tag}: springs", "valve springs are missing"))
    if problems or lobe is None:
        raise RecordError(list({problem.path: problem for problem in problems}.values()))
    lift = np.maximum(lobe.lift(CASE_ANGLES), 0.0)
    ratio = figures.rocker.ratio
    nominal = ratio.value or figures.nominal_ratio
    notes = list(figures.lobe.notes)
    facts = dict(_facts(trial, figures, notes))
    if ratio.value is None:
        ratio = assumed(
            nominal, 0.02 * nominal, "rocker_ratio", ratio.path, "rocker ratio", "from the geometry"
        )
    facts["ratio"] = ratio
    return TrainModel(
        name=f"build {trial.build.tag} on {trial.casting.tag}: {side} valve train",
        side=side,
        figures=figures,
        facts=facts,
        lift=lift,
        ratio=_ratio_terms(figures, float(lift.max())),
        nominal_ratio=nominal,
        notes=tuple(notes),
    )


def _ratio_terms(figures: ValveTrainFacts, full: float) -> tuple[float, ...]:
    """Ratio against tappet lift as a cubic, fitted over the lift."""
    if figures.geometry is None:
        return (figures.rocker.ratio.value or 1.0,)
    lifts = np.linspace(0.0, full, 41)
    fitted = np.polynomial.Polynomial.fit(lifts, figures.ratio_at(lifts), 3).convert()
    return tuple(float(term) for term in fitted.coef)


def _facts(trial: Trial, figures: ValveTrainFacts, notes: list[str]) -> Mapping[str, Fact]:
    gear = trial.bundle.valve_gear
    facts: dict[str, Fact] = {
        **figures.parts,
        "lash": figures.lash,
        "cam_trust": figures.lobe.acceleration,
        "spring_damping": assumed(
            *SPRING_DAMPING[len(figures.springs) > 1],
            "damping_ratio",
            f"valve_gear {gear.tag if gear else ''}: spring damping",
            "damping of the springs",
            "own judgement, no source",
        ),
    }
    for spring in figures.springs:
        n = spring.place
        facts |= spring.load_facts
        mass = spring.active_mass
        if mass.value is None:
            mass = assumed(
                0.035, 0.012, "part_mass", mass.path, mass.what, "a usual spring: common practice"
            )
        facts[f"mass_{n}"] = mass
        if spring.bind.value is None:
            notes.append(f"{spring.tag}: coil bind height is not known; its coils never meet here")
        else:
            facts[f"bind_{n}"] = spring.bind
    return facts
