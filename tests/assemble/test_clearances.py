"""Clearances of whole builds against brute force over the rotation and closed forms."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from headwright.assemble.clearance_others import (
    lift_map,
    retainer_gap,
    rocker_gap,
    valve_gap,
    wall_gap,
)
from headwright.assemble.clearances import ANGLES, Moving, Setting, piston_approach
from headwright.geometry.clearance import disc_distance
from headwright.geometry.valve_motion import axis_direction, head_centre

from .makers import m
from .makers_of_clearances import (
    CENTRE_DEG,
    DECK_MM,
    GASKET_MM,
    LASH_MM,
    LOBE_MM,
    OUTSIDE_MM,
    RATIO,
    RIM_MM,
    SEAT_MM,
    clear_trial,
    down,
    flat_gap,
    lift,
)

TABLE = 6e-6
"""The cam's table is smoothed and read at half degrees: a few micrometres at the valve [m]."""


def approach(side: str, setting: Setting | None = None, **changes: Any) -> Any:
    trial = clear_trial(**changes)
    return piston_approach(Moving(trial), trial.cylinders[0], side, setting or Setting())


@pytest.mark.reference
@pytest.mark.parametrize("side", ["intake", "exhaust"])
def test_an_upright_valve_over_a_flat_crown_comes_as_near_as_brute_force_finds(side: str) -> None:
    """Crank triangle, cam polynomial and a sum, searched in hundredths of a degree."""
    found = approach(side)
    assert found.travel.value == pytest.approx(1e-3 * flat_gap(side), abs=TABLE)
    nearest = math.degrees(found.angle)
    assert 2.0 < (nearest if side == "intake" else -nearest) < 25.0  # 5 to 20 degrees: usual
    degrees = np.degrees(ANGLES)
    face = -SEAT_MM + RIM_MM + OUTSIDE_MM + lift(degrees, side)
    assert found.curve == pytest.approx(
        1e-3 * (GASKET_MM + DECK_MM + down(degrees) - face), abs=TABLE
    )


@pytest.mark.reference
@pytest.mark.parametrize(("advance", "apart"), [(6.0, 0.0), (-9.0, 0.0), (0.0, 3.0), (4.0, -2.0)])
def test_a_moved_cam_is_the_same_cam_searched_later_or_earlier(
    advance: float, apart: float
) -> None:
    """Brute force with both lobes moved; separation in cam degrees moves each peak by as many."""
    setting = Setting(advance=math.radians(advance), separation=math.radians(apart))
    for side, later in (("intake", apart - advance), ("exhaust", -apart - advance)):
        found = approach(side, setting)
        assert found.travel.value == pytest.approx(1e-3 * flat_gap(side, later=later), abs=TABLE)


@pytest.mark.reference
def test_lash_goes_straight_into_the_gap() -> None:
    setting = Setting(intake_lash=0.5e-3)
    found = approach("intake", setting)
    assert found.travel.value == pytest.approx(1e-3 * flat_gap("intake", lash=0.5), abs=TABLE)
    assert found.travel.value - approach("intake").travel.value == pytest.approx(
        (0.5 - LASH_MM) * 1e-3, abs=1e-9
    )


@pytest.mark.reference
@pytest.mark.parametrize(
    ("changes", "gain_mm"),
    [
        ({"of_build": {"cuts": {"head_cut": "1.5 mm"}}}, -1.5),
        ({"of_build": {"cuts": {"deck_cut": "0.2 mm"}}}, -0.2),
        ({"of_block": {"gasket": {"thickness": m("1.4 mm", "0.02 mm")}}}, 0.4),
        ({"of_valves": {"seat_depth": m("6.5 mm", "0.05 mm")}}, 0.5),
    ],
)
def test_stacked_lengths_add_up(changes: Mapping[str, Any], gain_mm: float) -> None:
    """Textbook stack: every length enters with its own sign and nothing else."""
    gain = approach("intake", **changes).travel.value - approach("intake").travel.value
    assert gain == pytest.approx(gain_mm * 1e-3, abs=1e-9)


def pocketed(depth: float, x: float = -24.0, y: float = 0.0, **more: Any) -> dict[str, Any]:
    return {
        "piston": {
            "pockets": [
                {
                    "side": "intake",
                    "x": m(f"{x} mm", "0.05 mm"),
                    "y": m(f"{y} mm", "0.05 mm"),
                    "diameter": m("51 mm", "0.05 mm"),
                    "depth": m(f"{depth} mm", "0.02 mm"),
                    **more,
                }
            ]
        }
    }


@pytest.mark.reference
def test_a_pocket_under_the_valve_adds_its_depth_and_keeps_room_round_it() -> None:
    """51 mm pocket, 48 mm head, 0.3 mm aside: room 1.5 - 0.3 mm."""
    plain = approach("intake").travel.value
    found = approach("intake", of_block=pocketed(2.0, x=-24.3))
    assert found.travel.value == pytest.approx(plain + 2.0e-3, abs=1e-9)
    assert found.room.value == pytest.approx(1.2e-3, abs=1e-6)
    assert found.plain == pytest.approx(plain, abs=2e-6)
    assert not found.on_land


@pytest.mark.reference
def test_a_pocket_beside_the_valve_is_no_help() -> None:
    plain = approach("intake").travel.value
    found = approach("intake", of_block=pocketed(2.0, x=-20.0))
    assert found.on_land
    assert found.travel.value == pytest.approx(plain, abs=2e-6)
    assert found.room.value == pytest.approx(-2.5e-3, abs=1e-6)


def test_a_piston_is_turned_to_where_its_pockets_fit() -> None:
    found = approach("intake", of_block=pocketed(2.0, x=24.0))
    assert found.turned
    assert found.room.value == pytest.approx(1.5e-3, abs=1e-6)


@pytest.mark.reference
@pytest.mark.parametrize("lean", [5.0, 12.0, 20.0])
def test_a_leaning_valve_touches_with_the_low_side_of_its_rim(lean: float) -> None:
    """Plane trigonometry for each angle, then the least: (h - R sin g) / cos g - lift."""
    tilt = math.radians(lean)
    changes = {
        "tilt": m(f"{lean} deg", "0 deg"),
        "tilt_direction": m("90 deg", "0 deg"),
        "seat_depth": m("14 mm", "0.05 mm"),
    }
    found = approach("intake", of_valves=changes)
    degrees = np.arange(-60.0, 60.0, 0.01)
    height = GASKET_MM + DECK_MM + down(degrees) + 14.0
    left = (height - 24.0 * math.sin(tilt)) / math.cos(tilt)
    left -= RIM_MM + OUTSIDE_MM + lift(degrees, "intake")
    assert found.travel.value == pytest.approx(1e-3 * float(left.min()), abs=TABLE)


@pytest.mark.reference
def test_at_speed_the_gap_shrinks_by_play_and_stretch() -> None:
    """F l / (E A) with the mass of piston, pin and small end (see the rod's own tests), plus play.

    The acceleration is that of the exact crank triangle at the nearest angle, so 2 per cent of the
    stretch covers the nearest angle's own shift.
    """
    rods = {
        "rod_stiffness": m("2e8 N/m", "1e6 N/m"),
        "rod_mass_small_end": m("200 g", "1 g"),
        "bearings": [
            {"place": "rod", "count": 4, "clearance": m("0.05 mm", "0.005 mm")},
            {"place": "main", "count": 5, "clearance": m("0.06 mm", "0.005 mm")},
        ],
        "piston": {
            "mass": m("400 g", "1 g"),
            "pin_mass": m("100 g", "1 g"),
            "pin_clearance": m("0.01 mm", "0.002 mm"),
        },
    }
    speed = 7000.0 * math.pi / 30.0
    trial = clear_trial(of_block=rods)
    moving = Moving(trial)
    rest = piston_approach(moving, trial.cylinders[0], "intake")
    fast = piston_approach(moving, trial.cylinders[0], "intake", Setting(speed=speed))
    assert moving.motion is not None
    pull = moving.motion.acceleration(rest.angle, speed)
    stretch = 0.7 * float(pull) / 2e8
    assert 0.05e-3 < stretch < 0.15e-3
    lost = rest.travel.value - fast.travel.value
    assert lost == pytest.approx(0.12e-3 + stretch, abs=0.02 * stretch)


@pytest.mark.reference
def test_doubt_agrees_with_sampling_the_whole_search() -> None:
    """20 000 draws of seat, gasket, deck, lash, timing and ratio through the closed form.

    4 per cent: the spread of a sampled standard deviation is 0.5 per cent, the rest is curvature.
    """
    found = approach("intake")
    rng = np.random.default_rng(11)
    count = 20_000
    place = round(math.degrees(found.angle))
    degrees = place + np.arange(-12.0, 12.5, 0.5)[:, None]
    spread = {
        path: fact.uncertainty for fact in found.travel.facts for path in [fact.what.split(",")[0]]
    }
    by_name = {fact.name: fact.uncertainty for fact in found.travel.facts}
    timing = np.degrees(by_name["lobe_centreline"]) * rng.standard_normal(count)
    ratio = RATIO * (1.0 + by_name["rocker_ratio"] * rng.standard_normal(count))
    from .makers_of_clearances import lobe

    valve = ratio * lobe(degrees - CENTRE_DEG - timing) - LASH_MM
    valve += 1e3 * by_name["lash"] * rng.standard_normal(count)
    stack = sum(
        1e3 * by_name[name] * rng.standard_normal(count)
        for name in (
            "seat_depth",
            "gasket_thickness",
            "piston_below_deck",
            "valve_margin",
            "seat_width",
            "valve_lift",
        )
    )
    gaps = (down(degrees) - valve).min(axis=0) + stack
    assert spread
    assert found.travel.uncertainty == pytest.approx(1e-3 * gaps.std(), rel=0.04)


@pytest.mark.reference
def test_two_leaning_valves_come_as_near_as_every_angle_tried_shows() -> None:
    """Brute force over the rotation in quarter degrees with the same discs; 10 um for the steps."""
    trial = clear_trial()
    body = [
        ("intake", 0.0, "-24 mm"),
        ("exhaust", 180.0, "24 mm"),
    ]
    valves = []
    for side, way, x in body:
        valves.append(
            {
                "cylinder": 1,
                "side": side,
                "x": m(x, "0.05 mm"),
                "y": m("0 mm", "0.05 mm"),
                "head_diameter": m("40 mm", "0.05 mm"),
                "seat_depth": m("12 mm", "0.05 mm"),
                "seat_angle": m("45 deg", "0.1 deg"),
                "tilt": m("18 deg", "0.1 deg"),
                "tilt_direction": m(f"{way} deg", "0.5 deg"),
            }
        )
    trial = clear_trial(of_casting={"valves": valves})
    moving = Moving(trial)
    found = valve_gap(moving, trial.cylinders[0])
    tilt = math.radians(18.0)
    best = math.inf
    for degree in np.arange(-40.0, 40.0, 0.25):
        discs = []
        for side, way, x in (("intake", 0.0, -0.024), ("exhaust", math.pi, 0.024)):
            opened = 1e-3 * float(lift(degree, side))
            stand = 1e-3 * (RIM_MM + OUTSIDE_MM)
            centre = head_centre(x, 0.0, tilt, way, 0.012, stand, opened)
            discs.append((centre, axis_direction(tilt, way), 0.020, 1e-3 * RIM_MM))
        best = min(best, float(disc_distance(*discs[0], *discs[1])))
    assert found.gap.value == pytest.approx(best, abs=1e-5)
    shut = lift_map(moving, trial.cylinders[0], count=9)
    assert shut is not None
    assert found.gap.value < shut.gap[0, 0]
    assert shut.gap.min() < found.gap.value  # both full open at once would be nearer still


@pytest.mark.reference
def test_the_wall_is_reached_by_a_valve_that_opens_towards_it() -> None:
    """Plane trigonometry: the rim's far end goes out by lift sin g, leans in by R (1 - cos g)."""
    changes = {"tilt": m("10 deg", "0 deg"), "tilt_direction": m("180 deg", "0 deg")}
    trial = clear_trial(of_valves=changes)
    moving = Moving(trial)
    tilt = math.radians(10.0)
    full = RATIO * LOBE_MM - LASH_MM
    along = RIM_MM + OUTSIDE_MM + full
    middle = 24.0 + (along * math.sin(tilt) - SEAT_MM * math.tan(tilt))
    expected = 50.8 - middle - 24.0 * math.cos(tilt)
    found = wall_gap(moving, trial.cylinders[0], "intake")
    assert found.value == pytest.approx(1e-3 * expected, abs=TABLE)


@pytest.mark.reference
def test_retainer_and_rocker_gaps_are_sums_of_what_was_measured() -> None:
    trial = clear_trial()
    moving = Moving(trial)
    full = RATIO * LOBE_MM - LASH_MM
    found = retainer_gap(moving, trial.cylinders[0], "exhaust")
    assert found.value == pytest.approx(1e-3 * (40.0 - 3.0 - 14.0 - 2.0 - full), abs=TABLE)
    assert rocker_gap(moving).value == pytest.approx(1.5e-3)


def test_what_cannot_be_guessed_is_asked_for() -> None:
    found = approach("intake", of_valves={"seat_depth": None, "tilt": None})
    assert found.travel.value is None
    assert {fact.name for fact in found.travel.missing} == {"seat_depth", "valve_tilt"}
    gone = approach("intake", of_block={"stroke": None})
    assert "stroke" in {fact.name for fact in gone.travel.missing}


def test_a_dome_is_known_by_its_pockets_alone() -> None:
    dome = {"piston": {"crown": "dome", "crown_volume": m("-5 cc", "0.1 cc")}}
    found = approach("intake", of_block=dome)
    assert found.travel.value is None
    assert "clay" in found.travel.missing[0].what


def test_a_dish_helps_only_a_head_that_fits_into_it() -> None:
    def dished(diameter: str) -> float:
        piston = {
            "crown": "dish",
            "dish_diameter": m(diameter, "0.1 mm"),
            "dish_depth": m("1.5 mm", "0.05 mm"),
        }
        return float(approach("intake", of_block={"piston": piston}).travel.value)

    plain = float(approach("intake").travel.value)
    assert dished("100 mm") == pytest.approx(plain + 1.5e-3, abs=1e-9)
    assert dished("80 mm") == pytest.approx(plain, abs=2e-6)


def test_lift_of_a_moving_train_takes_the_place_of_the_rigid_one() -> None:
    trial = clear_trial()
    moving = Moving(trial)
    table = moving.lifts["intake"].table
    assert table is not None
    rigid = piston_approach(moving, trial.cylinders[0], "intake").travel.value
    higher = np.maximum(table - LASH_MM * 1e-3, 0.0) + 0.2e-3
    setting = Setting(delivered={"intake": higher})
    found = piston_approach(moving, trial.cylinders[0], "intake", setting).travel.value
    assert rigid is not None
    assert found is not None
    assert rigid - found == pytest.approx(0.2e-3, abs=2e-6)


def test_a_pocket_that_cannot_be_placed_leaves_the_plain_crown() -> None:
    """The crown's own plane is on the safe side: no room is counted that may not be there."""
    plain = approach("intake").travel.value
    lost = approach("intake", of_block=pocketed(2.0), of_valves={"x": None})
    assert lost.travel.value == pytest.approx(plain, abs=1e-9)
    assert lost.crown_only
    assert not lost.pocketed
