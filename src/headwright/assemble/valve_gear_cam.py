"""A build's cam as smooth lobes: from its lift tables, or from lift and duration.

What the table does not say is noted in words, never filled in silently.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from headwright.assemble.bundle import Bundle
from headwright.assemble.facts import Fact, assumed, computed, derive, known, unknown
from headwright.errors import InputError
from headwright.physics.arrays import Array
from headwright.physics.cam import (
    FEWEST_READINGS,
    Lobe,
    SmoothedTable,
    lift_crossings,
    lobe_events,
    smooth_lift_table,
)
from headwright.physics.cam_profiles import smooth_lobe
from headwright.physics.rocker import RockerGeometry
from headwright.records import Cam
from headwright.records.casting import ValveSide
from headwright.records.measured import Figure
from headwright.records.valve_gear import CamLobe

__all__ = ["LobeFacts", "centreline_fact", "lash_fact", "lobe_facts", "needs_own_smoothing"]

USUAL_CHECKING_LIFT_M: Final = (0.3e-3, 0.2e-3)
"""Lift at which timing was taken, where nobody said. Common practice, no source."""
USUAL_LASH_M: Final = (0.30e-3, 0.10e-3)
"""Valve lash where nobody said. Common practice, no source."""
CARD_AGREES: Final = math.radians(3.0)
"""How near a lift table and the cam's card must be. Common practice, no source."""
GUESSED_ACCELERATION: Final = 0.15
"""Relative standard uncertainty of the acceleration of a lobe known by lift and duration alone.
Own judgement, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class LobeFacts:
    """One side's lobe: lift at the tappet against crank angle from full lift.

    Attributes:
        side: which valve.
        lobe: the smooth curve; None where too little is known.
        table: how the lift table was smoothed; None where there is none.
        basis: what the curve rests on, in words.
        centreline: full lift from gas-exchange top dead centre.
        acceleration: how far the curve's accelerations may be trusted: 1 with its relative spread.
        missing: what must be measured before there is a lobe.
        notes: what was noticed.
    """

    side: ValveSide
    lobe: Lobe | None
    table: SmoothedTable | None
    basis: str
    centreline: Fact
    acceleration: Fact
    missing: tuple[Fact, ...] = ()
    notes: tuple[str, ...] = ()


def lobe_facts(
    bundle: Bundle, side: ValveSide, geometry: RockerGeometry | None = None
) -> LobeFacts | None:
    """Return one side's lobe; None where the build names no cam.

    Args:
        bundle: the build.
        side: which valve.
        geometry: of the rocker, to carry a table read at the valve back to the tappet.
    """
    if bundle.cam is None:
        return None
    ratio = bundle.rocker.ratio if bundle.rocker is not None else None
    lobe = bundle.cam.lobe(side)
    at_valve = lobe is not None and lobe.lifts_at == "valve"
    return _lobe_facts(bundle.cam, side, ratio, geometry if at_valve else None)


@lru_cache(maxsize=128)
def _lobe_facts(
    cam: Cam, side: ValveSide, ratio: Figure, geometry: RockerGeometry | None
) -> LobeFacts:
    """Return one side's lobe; the same cam is asked for with every casting of the rack."""
    at = f"cam {cam.tag}: lobes[{side}]"
    lobe = cam.lobe(side)
    if lobe is None:
        gone = unknown("lobe_lift", at, f"{side} lobe")
        nowhere = unknown("lobe_centreline", at, f"centreline of the {side} lobe")
        return LobeFacts(side, None, None, "", nowhere, _trust(at, 0.0), (gone,))
    centreline = centreline_fact(cam, lobe)
    if needs_own_smoothing(lobe):
        try:
            table, notes = _table(cam, lobe, ratio, geometry)
        except InputError as error:
            gone = unknown("lobe_lift", f"cam {cam.tag}: lobes", f"{side} lift table ({error})")
            return LobeFacts(side, None, None, "", centreline, _trust(at, 0.0), (gone,))
        peak = _grid_peak(table.lobe)
        spread = float(table.spread(peak, 2)[0]) / max(
            abs(float(table.lobe.lift(peak, 2)[0])), 1e-9
        )
        words = "lift table, smoothed by " + (
            "cross validation"
            if table.choice == "cross_validation"
            else "the readings' uncertainty"
        )
        notes += _against_card(cam, lobe, table.lobe, centreline)
        return LobeFacts(
            side, table.lobe, table, words, centreline, _trust(at, spread), notes=notes
        )
    return _from_duration(cam, lobe, ratio, centreline, at)


def _against_card(cam: Cam, lobe: CamLobe, curve: Lobe, centreline: Fact) -> tuple[str, ...]:
    """Tell where the lift table and the timing on the cam's card disagree."""
    level, centre = cam.checking_lift, centreline.value
    if level is None or centre is None or cam.checked_at != "lobe":
        return ()
    crossings = lift_crossings(curve, level.value)
    if crossings is None:
        return ()
    opens, closes, _ = lobe_events(crossings, centre, lobe.side)
    told = []
    for word, figure, found in (("opens", lobe.opens, opens), ("closes", lobe.closes, closes)):
        if figure is not None and abs(found - figure.value) > CARD_AGREES:
            told.append(
                f"the {lobe.side} lobe {word} at {math.degrees(found):.1f}° by its lift table and "
                f"centreline, at {math.degrees(figure.value):.1f}° by the card: degree it again"
            )
    return tuple(told)


def needs_own_smoothing(lobe: CamLobe) -> bool:
    """Tell whether a lobe has a lift table long enough to be smoothed."""
    return (
        lobe.lift_angles is not None
        and lobe.lifts is not None
        and len(lobe.lifts.values) >= FEWEST_READINGS
    )


def _trust(at: str, relative: float) -> Fact:
    return Fact(
        "spring_reserve",
        at + ".lifts",
        "acceleration of the lobe" if relative < GUESSED_ACCELERATION else "the cam's lift table",
        1.0,
        relative,
        "measured" if relative < GUESSED_ACCELERATION else "estimated",
        uncertainty_assumed=False,
    )


def _grid_peak(lobe: Lobe) -> float:
    grid = lobe.grid()
    return float(grid[int(np.argmin(lobe.lift(grid, 2)))])


def _full_lift(lobe: Lobe) -> float:
    """Angle of the greatest lift: where the velocity passes nought, straight between angles."""
    grid = lobe.grid()
    place = int(np.argmax(lobe.lift(grid)))
    near = grid[max(place - 1, 0) : place + 2]
    slopes = lobe.lift(near, 1)
    if slopes[0] <= slopes[-1]:
        return float(grid[place])
    return float(np.interp(0.0, -slopes, near))


def _table(
    cam: Cam, lobe: CamLobe, ratio: Figure, geometry: RockerGeometry | None
) -> tuple[SmoothedTable, tuple[str, ...]]:
    if lobe.lift_angles is None or lobe.lifts is None:
        raise InputError("no lift table")
    angles = np.array(lobe.lift_angles.values) * (2.0 if lobe.angles_of == "cam" else 1.0)
    lifts = np.array(lobe.lifts.values)
    notes = []
    if lobe.lifts_at == "valve":
        angles, lifts, note = _at_tappet(angles, lifts, lobe, ratio, geometry)
        notes.append(note)
    table = _smoothed(tuple(angles), tuple(lifts), lobe.lifts.uncertainty)
    peak = _full_lift(table.lobe)
    step = float(np.median(np.diff(angles)))
    if abs(peak) > 2.5 * step:
        table = _smoothed(tuple(angles - peak), tuple(lifts), lobe.lifts.uncertainty)
        notes.append(
            f"the {lobe.side} lift table's angles count from {math.degrees(-peak):.1f}° from full "
            "lift; they were shifted to full lift"
        )
    for end, lift in (("begins", lifts[0]), ("ends", lifts[-1])):
        if lift > 20e-6:
            notes.append(
                f"the {lobe.side} lift table {end} at {1e3 * lift:.3f} mm: the ramp beyond is a "
                "guess"
            )
    stated = lobe.lifts.uncertainty
    if stated and table.rms_residual > 1.5 * stated:
        notes.append(
            f"the {lobe.side} lift table scatters by {1e3 * table.rms_residual:.4f} mm about a "
            f"smooth curve, more than its stated {1e3 * stated:.4f} mm: look for misread figures"
        )
    if lobe.lobe_lift is not None:
        apart = table.lobe.largest - lobe.lobe_lift.value
        if abs(apart) > 3.0 * math.hypot(lobe.lobe_lift.uncertainty or 20e-6, table.reading_spread):
            notes.append(
                f"the {lobe.side} lift table reaches {1e3 * table.lobe.largest:.3f} mm, but "
                f"lobe_lift says {1e3 * lobe.lobe_lift.value:.3f} mm; the table counts"
            )
    return table, tuple(notes)


def _at_tappet(
    angles: Array, lifts: Array, lobe: CamLobe, ratio: Figure, geometry: RockerGeometry | None
) -> tuple[Array, Array, str]:
    """Carry a table read at the valve back to the tappet."""
    lash = lobe.table_lash.value if lobe.table_lash is not None else 0.0
    keep = lifts > 0.0
    if not keep.any():
        raise InputError("no reading is above nought")
    first, last = int(np.argmax(keep)), int(keep.size - 1 - np.argmax(keep[::-1]))
    part = slice(first, last + 1)
    note = f"the {lobe.side} lift table was read at the valve with {1e3 * lash:.2f} mm lash"
    if geometry is not None:
        found = geometry.tappet_lift_for(lifts[part], lash)
        return angles[part], found, note + " and carried back by the rocker's geometry"
    if ratio is None:
        raise InputError("it was read at the valve, and the rocker's ratio is not known")
    return (
        angles[part],
        (lifts[part] + lash) / ratio.value,
        note + " and divided by the rocker's ratio",
    )


@lru_cache(maxsize=64)
def _smoothed(
    angles: tuple[float, ...], lifts: tuple[float, ...], uncertainty: float | None
) -> SmoothedTable:
    return smooth_lift_table(np.array(angles), np.array(lifts), uncertainty)


def _from_duration(cam: Cam, lobe: CamLobe, ratio: Figure, centreline: Fact, at: str) -> LobeFacts:
    """Return a smooth curve through lift and duration."""
    trust = _trust(at, GUESSED_ACCELERATION)
    side = lobe.side
    height = lobe.lobe_lift.value if lobe.lobe_lift is not None else None
    if height is None and lobe.lifts is not None:
        height = max(lobe.lifts.values)
    if height is None or not height > 0.0:
        gone = unknown("lobe_lift", at + ".lobe_lift", f"lift of the {side} lobe")
        return LobeFacts(side, None, None, "", centreline, trust, (gone,))
    if lobe.duration is not None:
        duration = lobe.duration.value
    elif lobe.opens is not None and lobe.closes is not None:
        duration = math.pi + lobe.opens.value + lobe.closes.value
    else:
        gone = unknown("cam_duration", at + ".duration", f"duration of the {side} lobe")
        return LobeFacts(side, None, None, "", centreline, trust, (gone,))
    checked = cam.checking_lift.value if cam.checking_lift else USUAL_CHECKING_LIFT_M[0]
    if cam.checked_at == "valve":
        checked /= ratio.value if ratio else 1.5
    notes = [
        f"no {side} lift table: a smooth curve through lift and duration stands in, its "
        "acceleration is a guess"
    ]
    lobe_curve = _stand_in(height, duration, min(checked, 0.9 * height))
    return LobeFacts(
        side,
        lobe_curve,
        None,
        "a smooth curve through lift and duration (no lift table: estimated)",
        centreline,
        trust,
        notes=tuple(notes),
    )


@lru_cache(maxsize=64)
def _stand_in(height: float, duration: float, checked: float) -> Lobe:
    low, high = 0.5 * duration, 4.0 * math.pi
    for _ in range(60):
        span = 0.5 * (low + high)
        at_check = float(smooth_lobe(height, span, 0.5 * duration))
        low, high = (low, span) if at_check > checked else (span, high)
    span = 0.5 * (low + high)
    angles = np.linspace(-span, span, 121)
    return smooth_lift_table(angles, smooth_lobe(height, span, angles)).lobe


def centreline_fact(cam: Cam, lobe: CamLobe) -> Fact:
    """Full lift from gas-exchange top dead centre, away from it [rad]."""
    at = f"cam {cam.tag}: lobes[{lobe.side}]."
    path, what = at + "centreline", f"centreline of the {lobe.side} lobe"
    if lobe.centreline is not None:
        return known(lobe.centreline, "lobe_centreline", path, what)
    if lobe.opens is not None and lobe.closes is not None:
        sign = 1.0 if lobe.side == "intake" else -1.0
        events = {
            "opens": known(lobe.opens, "valve_event", at + "opens", f"{lobe.side} opening"),
            "closes": known(lobe.closes, "valve_event", at + "closes", f"{lobe.side} closing"),
        }

        def centre(opens: float, closes: float) -> float:
            return 0.5 * (math.pi + sign * (closes - opens))

        return computed("lobe_centreline", path, what, derive("lobe_centreline", centre, events))
    if cam.lobe_separation is not None:
        advance = (
            known(cam.advance, "cam_advance", f"cam {cam.tag}: advance", "cam advance")
            if cam.advance is not None
            else assumed(
                0.0, 0.03, "cam_advance", f"cam {cam.tag}: advance", "cam advance", "taken as none"
            )
        )
        separation = known(
            cam.lobe_separation, "lobe_separation", f"cam {cam.tag}: lobe_separation", "separation"
        )
        sign = -1.0 if lobe.side == "intake" else 1.0
        found = derive(
            "lobe_centreline",
            lambda separation, advance: separation + sign * advance,
            {"separation": separation, "advance": advance},
        )
        return computed("lobe_centreline", path, what, found)
    return unknown("lobe_centreline", path, what)


def lash_fact(bundle: Bundle, side: ValveSide) -> Fact:
    """Clearance at the valve's tip, hot where it is known [m]."""
    gear = bundle.valve_gear
    path = f"valve_gear {gear.tag if gear else ''}: {side}_lash_hot"
    what = f"{side} valve clearance"
    if gear is not None:
        hot = gear.intake_lash_hot if side == "intake" else gear.exhaust_lash_hot
        cold = gear.intake_lash_cold if side == "intake" else gear.exhaust_lash_cold
        if hot is not None or cold is not None:
            name = path if hot is not None else path.replace("hot", "cold")
            return known(hot or cold, "lash", name, what)
    return assumed(
        *USUAL_LASH_M, "lash", path, what, "a usual lash stands in: common practice, no source"
    )
