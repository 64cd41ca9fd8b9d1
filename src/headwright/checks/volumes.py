"""Volumes and compression of a trial, each with its uncertainty.

Every function takes a :class:`~headwright.assemble.Trial` and returns a
:class:`~headwright.assemble.Derived`; the formulas are those of :mod:`headwright.geometry`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import best_estimate
from headwright.assemble.trial import ChamberFacts, CylinderFacts
from headwright.errors import InputError
from headwright.geometry.chamber_cut import (
    ChamberCutModel,
    CurveModel,
    FaceAreaModel,
    TwoPourModel,
)
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.volumes import (
    ClearanceStack,
    compression_ratio,
    disc_volume,
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

CHAMBER_OVER_BOX: Final = 1.25
"""Largest volume of a chamber over its opening times its depth, for walls that are undercut. Own
judgement, no source."""


def swept_of(bore: float, stroke: float, rod_length: float, pin_offset: float) -> float:
    """Return the swept volume of one cylinder [m3]."""
    return swept_volume_with_offset(bore, stroke, rod_length, pin_offset)


def chamber_model(
    chamber: ChamberFacts,
) -> tuple[dict[str, Fact], Callable[[Values], ChamberCutModel]]:
    """Choose how a chamber's volume falls with the depth of cut.

    Three or more pours make a curve, two a straight line; the volume at the face counts as a pour
    where none was made there. Otherwise the poured volume and the opening's area, with walls that
    draw in when the depth is known and fits.

    Returns:
        The facts it needs by argument name, and a function that makes the model of their values.
    """
    pours = _pours(chamber)
    if len(pours) >= 3:
        facts = {f"cut_{i}": d for i, (d, _) in enumerate(pours)}
        facts |= {f"volume_{i}": v for i, (_, v) in enumerate(pours)}
        count = len(pours)

        def curve(values: Values) -> ChamberCutModel:
            return CurveModel(
                [values[f"cut_{i}"] for i in range(count)],
                [values[f"volume_{i}"] for i in range(count)],
            )

        return facts, curve
    if len(pours) == 2:
        (first, upper), (second, lower) = pours
        facts = {"cut_0": first, "volume_0": upper, "cut_1": second, "volume_1": lower}

        def line(values: Values) -> ChamberCutModel:
            return TwoPourModel(
                values["cut_0"], values["volume_0"], values["cut_1"], values["volume_1"]
            )

        return facts, line
    facts = {"volume": chamber.volume, "face_area": chamber.face_area}
    if _has_no_room(chamber):
        facts["depth"] = chamber.depth

        def clash(values: Values) -> ChamberCutModel:
            raise InputError(
                "the chamber's volume is more than its opening times its depth; "
                "pour and measure all three again"
            )

        return facts, clash
    if _depth_fits(chamber):
        facts["depth"] = chamber.depth

        def drawn_in(values: Values) -> ChamberCutModel:
            return FaceAreaModel.from_outline_and_depth(
                values["face_area"], values["depth"], values["volume"]
            )

        return facts, drawn_in

    def straight(values: Values) -> ChamberCutModel:
        return FaceAreaModel(values["volume"], values["face_area"])

    return facts, straight


def _pours(chamber: ChamberFacts) -> list[tuple[Fact, Fact]]:
    """Return the pours, shallowest first; the volume at the face among them."""
    pours = [(d.value, d, v) for d, v in chamber.pours if d.value is not None and v.is_known]
    if pours and chamber.volume.is_known and all(depth > 0.0 for depth, _, _ in pours):
        at_face = Fact("depth_of_cut", chamber.volume.path, "the face as it is", 0.0)
        pours.append((0.0, at_face, chamber.volume))
    return [(depth, volume) for _, depth, volume in sorted(pours, key=lambda pour: pour[0])]


def _has_no_room(chamber: ChamberFacts) -> bool:
    """Tell whether a volume is too large for its opening and depth, beyond any doubt of theirs."""
    parts = (chamber.volume, chamber.face_area, chamber.depth)
    volume, area, depth = (part.value for part in parts)
    if volume is None or area is None or depth is None or not area * depth > 0.0:
        return False
    doubt = math.hypot(*(part.uncertainty / part.value for part in parts if part.value))
    return volume / (area * depth) > CHAMBER_OVER_BOX + 3.0 * doubt


def _depth_fits(chamber: ChamberFacts) -> bool:
    volume, area, depth = chamber.volume, chamber.face_area, chamber.depth
    if volume.value is None or area.value is None or depth.value is None:
        return False
    fill = volume.value / (area.value * depth.value)
    return 0.4 < fill < 1.0


def beyond_model(cylinder: CylinderFacts, depth: float) -> bool | None:
    """Tell whether a cut goes deeper than the chamber's volume is known.

    Args:
        cylinder: whose chamber.
        depth: of the cut [m].

    Returns:
        None where nothing is known of the chamber.
    """
    facts, make = chamber_model(cylinder.chamber)
    values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
    if len(values) < len(facts):
        return None
    try:
        return make(values).extrapolates(depth)
    except InputError:
        return None


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


def clearance_of(values: Values, chamber_volume: float) -> float:
    """Return the clearance volume [m3] from the values of :func:`clearance_facts`."""
    gasket = values.get("gasket_volume")
    if gasket is None:
        gasket = disc_volume(values["gasket_bore"], values["gasket_thickness"])
    below = values["below_deck"] - values["deck_cut"]
    deck = math.copysign(disc_volume(values["bore"], abs(below)), below)
    return ClearanceStack(
        chamber_volume=chamber_volume + values["relief"],
        gasket_volume=gasket,
        deck_volume=deck,
        crown_volume=values["crown"],
        crevice_volume=values["crevice"],
    ).total


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
