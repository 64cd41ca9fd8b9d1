"""Small cutting problems made from plain figures, and brute force over grids of their amounts."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from headwright.assemble import Fact
from headwright.geometry.chamber_cut import ChamberCutModel, CurveModel, FaceAreaModel
from headwright.studies.cutting.figures import breaches, figures_of, miss_of
from headwright.studies.cutting.problem import (
    Amounts,
    Bound,
    CutProblem,
    CylinderCase,
    GasketOption,
    SideCase,
    slope_of,
)

MM, CC = 1e-3, 1e-6
BORE_AREA = 43.7e-4
SWEPT = 373.5 * CC
NOTHING = Fact("gasket_thickness", "x", "x", 0.0)


def gasket(thickness_mm: float, *, present: bool = False) -> GasketOption:
    return GasketOption(
        f"{thickness_mm} mm",
        thickness_mm * MM,
        45.4e-4 * thickness_mm * MM,
        NOTHING,
        NOTHING,
        present=present,
    )


def drawn_in(volume_cc: float, area_cm2: float = 28.9, depth_mm: float = 15.4) -> ChamberCutModel:
    return FaceAreaModel.from_outline_and_depth(area_cm2 * 1e-4, depth_mm * MM, volume_cc * CC)


def poured(volume_cc: float, bend: float = 0.15) -> ChamberCutModel:
    cuts = [0.0, 1.0, 2.0, 4.0]
    left = [volume_cc - 2.9 * cut * (1.0 - bend * cut / 4.0) for cut in cuts]
    return CurveModel([cut * MM for cut in cuts], [one * CC for one in left])


def bound(key: str, value: float, weight: float = 1.0) -> Bound:
    return Bound(key, key, value, "depth_of_cut", "test", weight)


def problem(
    models: list[ChamberCutModel],
    *,
    heights_mm: tuple[float, ...] | None = None,
    ratio: float | None = 11.5,
    near: float = 0.15,
    gaskets: tuple[GasketOption, ...] = (gasket(0.9, present=True),),
    bounds: Mapping[str, float] | None = None,
    deck_spare_mm: float = 0.0,
    relief_most_cc: float = 3.0,
    boss_most_cc: float = 0.0,
    thickness_mm: float | None = 80.0,
    sides: tuple[SideCase, SideCase] = (SideCase("intake"), SideCase("exhaust")),
    **more: Any,
) -> CutProblem:
    """Make a problem; bounds in SI by key, those of deck and relief added."""
    heights = heights_mm or tuple(0.28 + 0.01 * place for place in range(len(models)))
    asked = {"compression_spread_maximum": 0.15, "relief_most": relief_most_cc * CC}
    asked |= dict(bounds or {})
    if deck_spare_mm:
        asked["deck_spare"] = deck_spare_mm * MM
    if ratio is not None:
        asked["compression_target"] = ratio
    return CutProblem(
        cylinders=tuple(
            CylinderCase(
                number=place + 1,
                swept=SWEPT,
                bore_area=BORE_AREA,
                model=model,
                fixed=BORE_AREA * height * MM + 0.4 * CC,
                below_deck=height * MM,
                opening=-slope_of(model, 0.0),
            )
            for place, (model, height) in enumerate(zip(models, heights, strict=True))
        ),
        gaskets=gaskets,
        sides=sides,
        bounds={key: bound(key, value) for key, value in asked.items()},
        ratio=ratio,
        ratio_near=near,
        deck_spare=deck_spare_mm * MM,
        relief_most=relief_most_cc * CC,
        boss_most=boss_most_cc * CC,
        cut_most=6.0 * MM,
        thickness=None if thickness_mm is None else thickness_mm * MM,
        heights=tuple(height * MM for height in heights),
        **more,
    )


def grid(
    case: CutProblem,
    head: np.ndarray[Any, Any],
    deck: np.ndarray[Any, Any],
    seats: np.ndarray[Any, Any] = np.zeros(1),  # noqa: B008 - an array that nobody changes
    pockets: np.ndarray[Any, Any] = np.zeros(1),  # noqa: B008
) -> Iterator[Amounts]:
    """Yield amounts that hit the compression wanted wherever relieving can; no solver is asked."""
    wanted = [one.swept / ((case.ratio or 0.0) - 1.0) for one in case.cylinders]
    for place, cut, decked, sunk, deeper in itertools.product(
        case.options(), head, deck, seats, pockets
    ):
        reliefs = []
        for one, clearance in zip(case.cylinders, wanted, strict=True):
            added = (
                case.sides[0].seat_area * sunk
                + case.sides[0].pocket_area * deeper
                + case.gaskets[place].volume
                + one.fixed
                - one.bore_area * decked
            )
            reliefs.append(clearance - added - float(one.model.volume_unlimited(cut)))
        if min(reliefs) < -1e-13 or max(reliefs) > case.relief_most:
            continue
        yield Amounts(
            gasket=place,
            head_cut=float(cut),
            deck_cut=float(decked),
            seats=(float(sunk), 0.0),
            pockets=(float(deeper), 0.0),
            reliefs=tuple(max(0.0, one) for one in reliefs),
            bosses=(0.0,) * case.count,
        )


def least_metal(case: CutProblem, amounts: Iterator[Amounts]) -> float:
    """Return the least metal of amounts that keep every bound; infinite where none does."""
    best = np.inf
    for one in amounts:
        figures = figures_of(case, one)
        if not breaches(case, figures, tolerance=1e-9) and miss_of(case, figures) < 1e-6:
            best = min(best, figures.metal)
    return float(best)
