"""How a chamber's volume falls with the depth of cut, as its facts allow."""

from __future__ import annotations

import math
from collections.abc import Callable

from headwright.assemble.facts import Fact
from headwright.assemble.trial import ChamberFacts
from headwright.errors import InputError
from headwright.geometry.chamber_cut import (
    ChamberCutModel,
    CurveModel,
    FaceAreaModel,
    TwoPourModel,
)
from headwright.records.casting import CHAMBER_OVER_BOX

__all__ = ["chamber_as_known", "chamber_model"]

Values = dict[str, float]


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


def chamber_as_known(chamber: ChamberFacts) -> ChamberCutModel | None:
    """Return the model of the best estimates; None where figures are missing or clash."""
    facts, make = chamber_model(chamber)
    values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
    if len(values) < len(facts):
        return None
    try:
        return make(values)
    except InputError:
        return None
