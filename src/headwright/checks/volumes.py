"""Volumes and compression of a trial, each with its uncertainty.

Every function takes a :class:`~headwright.assemble.Trial` and returns a
:class:`~headwright.assemble.Derived`; the formulas are those of :mod:`headwright.geometry`.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.chamber import chamber_as_known, chamber_model
from headwright.assemble.clearance import clearance_of
from headwright.assemble.facts import best_estimate
from headwright.assemble.trial import CylinderFacts
from headwright.geometry.chamber_cut import (
    ChamberCutModel,
)
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.volumes import (
    compression_ratio,
    swept_volume_with_offset,
    trapped_compression_ratio,
)

__all__ = [
    "best_compression",
    "beyond_model",
    "chamber_after_cut",
    "chamber_model",
    "clearance_facts",
    "clearance_of",
    "compression",
    "compressions",
    "displacement",
    "swept_of",
    "swept_volume",
    "trapped_compression",
]

Values = dict[str, float]


def swept_of(bore: float, stroke: float, rod_length: float, pin_offset: float) -> float:
    """Return the swept volume of one cylinder [m3]."""
    return swept_volume_with_offset(bore, stroke, rod_length, pin_offset)


def beyond_model(cylinder: CylinderFacts, depth: float) -> bool | None:
    """Tell whether a cut goes deeper than the chamber's volume is known.

    Args:
        cylinder: whose chamber.
        depth: of the cut [m].

    Returns:
        None where nothing is known of the chamber.
    """
    model = chamber_as_known(cylinder.chamber)
    return None if model is None else model.extrapolates(depth)


def chamber_after_cut(trial: Trial, cylinder: CylinderFacts, cut: Fact | None = None) -> Derived:
    """Return the chamber volume after the cut and the intended relief [m3]."""
    facts, make = chamber_model(cylinder.chamber)
    facts = facts | {"cut": cut or trial.head_cut, "relief": cylinder.relief_volume}

    def volume(**values: float) -> float:
        after: float = make(values).volume_unlimited(values["cut"])
        return after + values["relief"]

    return derive("chamber_volume", volume, facts)


def clearance_facts(trial: Trial, cylinder: CylinderFacts) -> dict[str, Fact]:
    """Return the facts of the clearance volume apart from the chamber, by argument name."""
    facts = {
        "bore": cylinder.bore,
        "stroke": trial.stroke,
        "rod_length": trial.rod_length,
        "pin_offset": trial.pin_offset,
        "below_deck": cylinder.below_deck,
        "deck_cut": trial.deck_cut,
        "crown": cylinder.crown_volume,
        "crevice": cylinder.crevice_volume,
        "relief": cylinder.relief_volume,
    }
    if trial.gasket_volume is not None:
        return facts | {"gasket_volume": trial.gasket_volume}
    return facts | {
        "gasket_bore": trial.gasket_bore,
        "gasket_thickness": trial.gasket_thickness,
    }


def _ratio(values: Values, model: ChamberCutModel, cut: float) -> float:
    swept = swept_of(values["bore"], values["stroke"], values["rod_length"], values["pin_offset"])
    clearance = clearance_of(values, model.volume_unlimited(cut))
    return compression_ratio(swept, clearance)


def _ratio_of(
    trial: Trial, cylinder: CylinderFacts, cut: Fact | None
) -> tuple[Callable[..., float], dict[str, Fact]]:
    facts, make = chamber_model(cylinder.chamber)
    facts = clearance_facts(trial, cylinder) | facts | {"cut": cut or trial.head_cut}

    def ratio(**values: float) -> float:
        return _ratio(values, make(values), values["cut"])

    return ratio, facts


def compression(trial: Trial, cylinder: CylinderFacts, cut: Fact | None = None) -> Derived:
    """Return the compression ratio of one cylinder at a head cut."""
    return derive("compression_ratio", *_ratio_of(trial, cylinder, cut))


def best_compression(trial: Trial, cylinder: CylinderFacts) -> float | None:
    """Return the best estimate of one cylinder's compression ratio, without its uncertainty."""
    return best_estimate(*_ratio_of(trial, cylinder, None))


def compressions(trial: Trial, cut: Fact | None = None) -> tuple[Derived, ...]:
    """Return the compression ratio of every cylinder at a head cut."""
    return tuple(compression(trial, cylinder, cut) for cylinder in trial.cylinders)


def swept_volume(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return the swept volume of one cylinder [m3]."""
    facts = {
        "bore": cylinder.bore,
        "stroke": trial.stroke,
        "rod_length": trial.rod_length,
        "pin_offset": trial.pin_offset,
    }
    return derive("displacement", swept_of, facts)


def displacement(trial: Trial) -> Derived:
    """Return the swept volume of the whole engine [m3]."""
    facts = {f"bore__{item.number}": item.bore for item in trial.cylinders}
    facts |= {
        "stroke": trial.stroke,
        "rod_length": trial.rod_length,
        "pin_offset": trial.pin_offset,
    }

    def total(**values: float) -> float:
        return sum(
            swept_of(value, values["stroke"], values["rod_length"], values["pin_offset"])
            for name, value in values.items()
            if name.startswith("bore__")
        )

    return derive("displacement", total, facts)


def trapped_compression(trial: Trial, cylinder: CylinderFacts, cut: Fact | None = None) -> Derived:
    """Return the compression ratio reckoned from the intake valve's closing."""
    facts, make = chamber_model(cylinder.chamber)
    facts = clearance_facts(trial, cylinder) | facts
    facts |= {"cut": cut or trial.head_cut, "closing": trial.intake_closing}

    def ratio(**values: float) -> float:
        motion = CrankSlider.from_stroke(
            values["stroke"], values["rod_length"], values["pin_offset"]
        )
        clearance = clearance_of(values, make(values).volume_unlimited(values["cut"]))
        return trapped_compression_ratio(
            values["bore"], motion, clearance, math.pi + values["closing"]
        )

    return derive("compression_ratio", ratio, facts)
