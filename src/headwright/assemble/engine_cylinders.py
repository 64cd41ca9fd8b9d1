"""Cylinders of an engine from its records: volumes, motion, chamber, firing order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from headwright.assemble.chamber import chamber_as_known
from headwright.assemble.clearance import clearance_of
from headwright.assemble.engine_notes import Notes
from headwright.assemble.trial import ChamberFacts, CylinderFacts, Trial
from headwright.errors import InputError, Problem, QuantityError
from headwright.geometry.chamber_cut import ChamberCutModel
from headwright.geometry.crank_slider import CrankSlider
from headwright.physics.flame_geometry import FlameTable, flame_table, squish_chamber

__all__ = ["CylinderShape", "cylinder_shapes", "firing_angles"]

USUAL_ORDERS = {
    1: (1,),
    2: (1, 2),
    3: (1, 3, 2),
    4: (1, 3, 4, 2),
    5: (1, 2, 4, 5, 3),
    6: (1, 5, 3, 6, 2, 4),
    8: (1, 6, 2, 5, 8, 3, 7, 4),
}
"""In-line firing orders taken where none is given. Common practice, no source."""

_LEAST_GAP_M = 0.3e-3


@dataclass(frozen=True, slots=True, eq=False)
class CylinderShape:
    """One cylinder's own figures.

    Attributes:
        facts: Where they come from.
        motion: Crank, rod and pin offset.
        bore: [m].
        clearance: Volume at top dead centre [m3].
        head_area: Wetted [m2].
        crown_area: Wetted [m2].
        flame: Flame table.
    """

    facts: CylinderFacts
    motion: CrankSlider
    bore: float
    clearance: float
    head_area: float
    crown_area: float
    flame: FlameTable


def firing_angles(trial: Trial, notes: Notes) -> dict[int, float]:
    """Crank angle of each cylinder's firing top dead centre [rad], evenly spaced."""
    block = trial.short_block
    numbers = sorted(item.cylinder for item in block.cylinders)
    count = len(numbers)
    order: Sequence[int] = block.firing_order
    if not order:
        usual = USUAL_ORDERS.get(count)
        path = f"short_block {block.tag}: firing_order"
        if usual is None:
            notes.missing(path, "firing order")
            usual = tuple(numbers)
        else:
            shown = "-".join(str(number) for number in usual)
            notes.stand_in(
                float(count),
                0.0,
                "coil_count",
                path,
                "firing order",
                f"the usual {shown} stands in: common practice, no source",
            )
        order = usual
    return {number: 4.0 * math.pi * place / count for place, number in enumerate(order)}


def cylinder_shapes(trial: Trial, notes: Notes) -> list[CylinderShape]:
    """Volumes, motion and chamber of every cylinder; problems go to the notes."""
    if len(trial.cylinders) != len(trial.short_block.cylinders):
        notes.problems.append(
            Problem(
                f"casting {trial.casting.tag}: cylinders",
                f"{len(trial.cylinders)} cylinders on a block of "
                f"{len(trial.short_block.cylinders)}",
            )
        )
        return []
    stroke = notes.needed(trial.stroke)
    rod = notes.needed(trial.rod_length)
    offset = notes.needed(trial.pin_offset)
    clearances = [_clearance(trial, one, notes) for one in trial.cylinders]
    for cylinder in trial.cylinders:
        notes.needed(cylinder.bore)
    if notes.problems:
        return []
    try:
        motion = CrankSlider.from_stroke(stroke, rod, offset)
    except QuantityError as error:
        notes.problems.append(Problem(f"short_block {trial.short_block.tag}", str(error)))
        return []
    shapes = []
    for cylinder, clearance in zip(trial.cylinders, clearances, strict=True):
        shape = _shape(trial, cylinder, motion, clearance, notes)
        if shape is not None:
            shapes.append(shape)
    return shapes


def _clearance(trial: Trial, cylinder: CylinderFacts, notes: Notes) -> float:
    """Clearance volume [m3]; from the wanted ratio where the chamber was never measured."""
    chamber = _chamber_after_cut(trial, cylinder.chamber, notes)
    bore = notes.needed(cylinder.bore)
    if chamber is None:
        ratio = trial.target_ratio.value
        stroke = trial.stroke.value
        if ratio is None or stroke is None:
            return notes.missing(cylinder.chamber.volume.path, cylinder.chamber.volume.what)
        clearance = 0.25 * math.pi * bore**2 * stroke / (ratio - 1.0)
        return notes.stand_in(
            clearance,
            0.1 * clearance,
            "chamber_volume",
            cylinder.chamber.volume.path,
            cylinder.chamber.volume.what,
            "no chamber measured: the clearance of the wanted compression ratio stands in",
        )
    cut = trial.deck_cut.value or 0.0
    values = {
        "bore": bore,
        "below_deck": _below_deck(trial, cylinder, notes) + cut,
        "deck_cut": cut,
        "relief": notes.needed(cylinder.relief_volume),
        "crown": notes.needed(cylinder.crown_volume),
        "crevice": notes.needed(cylinder.crevice_volume),
    }
    return clearance_of(values | _gasket(trial, notes), chamber)


def _chamber_after_cut(trial: Trial, chamber: ChamberFacts, notes: Notes) -> float | None:
    """Chamber volume after the intended cut [m3]: its own, or the mean of the others'."""
    own = chamber_as_known(chamber)
    if own is not None:
        return _cut(own, trial)
    others = [model for one in trial.cylinders if (model := chamber_as_known(one.chamber))]
    if not others:
        return None
    mean = float(np.mean([_cut(model, trial) for model in others]))
    return notes.stand_in(
        mean,
        0.02 * mean,
        "chamber_volume",
        chamber.volume.path,
        chamber.volume.what,
        "the mean of the chambers that were measured stands in",
    )


def _cut(model: ChamberCutModel, trial: Trial) -> float:
    return float(model.volume_unlimited(trial.head_cut.value or 0.0))


def _gasket(trial: Trial, notes: Notes) -> dict[str, float]:
    if trial.gasket_volume is not None and trial.gasket_volume.value is not None:
        return {"gasket_volume": trial.gasket_volume.value}
    return {
        "gasket_bore": notes.needed(trial.gasket_bore),
        "gasket_thickness": notes.needed(trial.gasket_thickness),
    }


def _below_deck(trial: Trial, cylinder: CylinderFacts, notes: Notes) -> float:
    cut = trial.deck_cut.value or 0.0
    fact = cylinder.below_deck
    if fact.value is not None:
        return notes.needed(fact) - cut
    others = [one.below_deck.value for one in trial.cylinders if one.below_deck.value is not None]
    if not others:
        return notes.missing(fact.path, fact.what)
    mean = float(np.mean(others))
    return (
        notes.stand_in(
            mean,
            0.1e-3,
            "piston_below_deck",
            fact.path,
            fact.what,
            "the mean of the other cylinders stands in",
        )
        - cut
    )


def _shape(
    trial: Trial,
    cylinder: CylinderFacts,
    motion: CrankSlider,
    clearance: float,
    notes: Notes,
) -> CylinderShape | None:
    bore = notes.needed(cylinder.bore)
    section = 0.25 * math.pi * bore**2
    below = cylinder.below_deck.value
    if below is None:
        below = _below_deck(trial, cylinder, notes) + (trial.deck_cut.value or 0.0)
    thickness = trial.gasket_thickness.value
    if thickness is None and trial.gasket_volume and trial.gasket_volume.value:
        thickness = trial.gasket_volume.value / section
    gap = max((thickness or 0.0) + below - (trial.deck_cut.value or 0.0), _LEAST_GAP_M)
    crevice = cylinder.crevice_volume.value or 0.0
    roof = clearance - crevice - section * gap
    if not roof > 0.1 * clearance:
        notes.problems.append(
            Problem(
                cylinder.chamber.volume.path,
                f"chamber volume: only {roof * 1e6:.1f} cc are left above the squish gap of "
                f"{gap * 1e3:.2f} mm; check chamber, gasket and deck",
            )
        )
        return None
    area = notes.needed(cylinder.chamber.face_area)
    squish = min(max(1.0 - area / section, 0.0), 0.7)
    plug_x, plug_y = _plug(trial, cylinder, bore, squish, notes)
    try:
        made = squish_chamber(bore, roof, squish, plug_x, plug_y)
        table = flame_table(made, gap, gap + motion.stroke)
    except InputError as error:
        notes.problems.append(Problem(cylinder.chamber.volume.path, str(error)))
        return None
    return CylinderShape(
        facts=cylinder,
        motion=motion,
        bore=bore,
        clearance=clearance,
        head_area=made.roof_factor * section,
        crown_area=section,
        flame=table,
    )


def _plug(
    trial: Trial, cylinder: CylinderFacts, bore: float, squish: float, notes: Notes
) -> tuple[float, float]:
    """Place of the spark gap: its distance from the bore axis, towards the pocket [m]."""
    chamber = trial.casting.chamber(cylinder.number)
    plug = chamber.plug if chamber else None
    x, y = cylinder.bore_x.value, cylinder.bore_y.value
    path = f"casting {trial.casting.tag}: chambers[cylinder {cylinder.number}].plug"
    far = 0.4 * bore
    near = 0.5 * bore * math.sin(0.5 * math.pi * (2.0 * squish - 1.0)) + 0.08 * bore
    if plug is not None and plug.x and plug.y and x is not None and y is not None:
        offset = math.hypot(plug.x.value - x, plug.y.value - y)
    else:
        measured = []
        for one in trial.cylinders:
            item = trial.casting.chamber(one.number)
            spot = item.plug if item else None
            if spot and spot.x and spot.y and one.bore_x.value is not None:
                centre_y = one.bore_y.value or 0.0
                measured.append(
                    math.hypot(spot.x.value - one.bore_x.value, spot.y.value - centre_y)
                )
        offset = notes.stand_in(
            float(np.mean(measured)) if measured else 0.2 * bore,
            0.05 * bore,
            "face_position",
            path,
            f"plug position, cylinder {cylinder.number}",
            "as in the other chambers" if measured else "a usual place stands in",
        )
    return min(max(offset, near), far), 0.0
