"""Travel to crown and pocket against a disc of many points let down onto a solid piston."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from headwright.geometry.piston_valve import (
    DOWN,
    Pocket,
    land_travel,
    pocket_room,
    pocket_travel,
    travel_to_plane,
    valve_travel,
)
from headwright.geometry.valve_motion import axis_direction, head_centre, upright_pair

FloatArray = NDArray[np.float64]


def disc_points(
    centre: FloatArray, axis: FloatArray, radius: float, rings: int = 61, spokes: int = 180
) -> FloatArray:
    """Points all over a disc, its rim the densest."""
    first, second = upright_pair(axis)
    turn = np.linspace(0.0, 2.0 * math.pi, spokes, endpoint=False)
    wide = radius * np.linspace(0.0, 1.0, rings)[:, None]
    x, y = wide * np.cos(turn), wide * np.sin(turn)
    return (centre + x[..., None] * first + y[..., None] * second).reshape(-1, 3)


def inside_pocket(points: FloatArray, pocket: Pocket, crown: float) -> NDArray[np.bool_]:
    """Is the place within the pocket's wall and above its floor?"""
    axis, floor = pocket.axis(), pocket.floor(crown)
    arm = points - floor
    down = arm @ axis
    aside = np.linalg.norm(arm - down[:, None] * axis, axis=-1)
    return (aside < pocket.diameter / 2.0) & (down < 0.0)


def brute_travel(
    centre: FloatArray, axis: FloatArray, radius: float, pocket: Pocket, crown: float
) -> float:
    """Let the disc down until a point of it is in the metal; walls count, as they would."""
    points = disc_points(centre, axis, radius)

    def hits(travel: float) -> bool:
        moved = points + travel * axis
        return bool(np.any((moved[:, 2] > crown) & ~inside_pocket(moved, pocket, crown)))

    low, high = 0.0, 0.03
    for step in np.arange(0.0, 0.03, 0.001):  # the first touch, not any
        if hits(step):
            high = float(step)
            break
        low = float(step)
    for _ in range(14):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if hits(middle) else (middle, high)
    return low


SPACING = 200e-6
"""Points of the brute force are at most 0.63 mm apart and lean at most 0.4: the nearest to a true
place of contact is on average a quarter of 0.63 mm x tan(0.4) late, at worst this much."""


@pytest.mark.reference
@settings(max_examples=15, deadline=None)
@given(
    tilt=st.floats(0.0, 0.4),
    way=st.floats(-3.1, 3.1),
    off_x=st.floats(-0.012, 0.012),
    off_y=st.floats(-0.012, 0.012),
)
def test_travel_is_that_of_a_disc_let_down_onto_a_solid_crown(
    tilt: float, way: float, off_x: float, off_y: float
) -> None:
    """Brute force: 11 000 points on the disc, first touch by bisection.

    The brute force can only be late (points miss the true place of contact) unless a wall comes
    first, which travel does not count: room at the side tells of it.
    """
    radius, crown = 0.018, 0.002
    axis = axis_direction(tilt, way)
    centre = head_centre(0.0, 0.0, tilt, way, 0.010, 0.001, 0.002)
    pocket = Pocket(off_x, off_y, 0.041, 0.003, tilt, way)
    found = float(valve_travel(centre, axis, radius, pocket, crown))
    brute = brute_travel(centre, axis, radius, pocket, crown)
    assert brute <= found + SPACING
    room = float(pocket_room(centre, axis, radius, pocket, crown))
    on_land = float(land_travel(centre, axis, radius, pocket, crown))
    if room > 0.0 or found == on_land:
        assert brute >= found - 5e-6


@pytest.mark.reference
@pytest.mark.parametrize(("tilt", "way"), [(0.0, 0.0), (0.15, 1.0), (0.3, -2.0)])
def test_a_pocket_cut_along_the_valve_gives_exactly_the_brute_force_travel(
    tilt: float, way: float
) -> None:
    """Valve and pocket parallel, the head inside the wall with 2 mm round it: nothing else in play.

    Both plane contacts are exact, so only the bisection and the disc's own points count: 5 um.
    """
    crown = 0.002
    axis = axis_direction(tilt, way)
    centre = head_centre(0.0, 0.0, tilt, way, 0.010, 0.001, 0.002)
    reach = (crown + 0.010) / axis[2]
    at = centre + axis * (reach - 0.003)
    pocket = Pocket(at[0], at[1], 0.040, 0.004, tilt, way)
    found = float(valve_travel(centre, axis, 0.018, pocket, crown))
    assert found == pytest.approx(brute_travel(centre, axis, 0.018, pocket, crown), abs=5e-6)


@pytest.mark.reference
@pytest.mark.parametrize("off", [0.004, -0.004, 0.008, -0.008, 0.012, -0.012])
def test_a_head_half_over_the_land_is_stopped_by_the_land(off: float) -> None:
    """A leaning head over a pocket too far aside: rim or mouth's edge, as the solid shows it."""
    tilt, way, crown = 0.2, 0.0, 0.002
    axis = axis_direction(tilt, way)
    centre = head_centre(0.0, 0.0, tilt, way, 0.010, 0.001, 0.002)
    pocket = Pocket(off, 0.0, 0.038, 0.010)
    found = float(valve_travel(centre, axis, 0.018, pocket, crown))
    brute = brute_travel(centre, axis, 0.018, pocket, crown)
    assert found == float(land_travel(centre, axis, 0.018, pocket, crown))
    assert found - 5e-6 <= brute <= found + SPACING


@pytest.mark.reference
def test_an_upright_valve_over_a_flat_crown_has_the_plain_difference_left() -> None:
    """Textbook case: crown height less valve height, whatever the diameter."""
    centre = head_centre(0.01, 0.0, 0.0, 0.0, 0.008, 0.001, 0.003)
    for radius in (0.01, 0.02):
        assert float(valve_travel(centre, DOWN, radius, None, 0.0015)) == pytest.approx(
            0.0015 - (-0.008 + 0.001 + 0.003), abs=1e-15
        )


@pytest.mark.reference
def test_a_leaning_valve_over_a_flat_crown_is_nearer_by_its_radius_times_the_sine() -> None:
    """Plane trigonometry, in the section through the lean."""
    lean = math.radians(15.0)
    centre, axis = np.array([0.0, 0.0, -0.010]), axis_direction(lean, 0.7)
    found = float(valve_travel(centre, axis, 0.018, None, 0.001))
    assert found == pytest.approx((0.011 - 0.018 * math.sin(lean)) / math.cos(lean), abs=1e-15)


@pytest.mark.reference
def test_room_in_a_pocket_cut_along_the_valve_is_the_difference_of_radii_less_the_offset() -> None:
    """Two parallel cylinders: R - r - e."""
    axis = axis_direction(0.2, 0.3)
    pocket = Pocket(0.02, -0.01, 0.040, 0.004, 0.2, 0.3)
    first, _ = upright_pair(axis)
    on_axis = pocket.mouth(0.001) + 0.002 * axis
    for offset in (0.0, 0.0007):
        room = float(pocket_room(on_axis + offset * first, axis, 0.0185, pocket, 0.001))
        assert room == pytest.approx(0.0015 - offset, abs=1e-12)


@pytest.mark.prop
@given(st.floats(0.0, 0.3), st.floats(-3.0, 3.0), st.floats(0.0, 0.005))
def test_moving_down_the_axis_uses_up_exactly_that_travel(
    tilt: float, way: float, move: float
) -> None:
    axis = axis_direction(tilt, way)
    centre = np.array([0.0, 0.0, -0.012])
    pocket = Pocket(0.0, 0.0, 0.050, 0.003, 0.1, 0.0)
    before = float(pocket_travel(centre, axis, 0.018, pocket, 0.002))
    after = float(pocket_travel(centre + move * axis, axis, 0.018, pocket, 0.002))
    assert after == pytest.approx(before - move, abs=1e-12)


@pytest.mark.prop
def test_arrays_give_what_single_figures_give() -> None:
    tilts = np.array([0.0, 0.1, 0.2])
    axes = axis_direction(tilts, 0.5)
    centres = head_centre(0.0, 0.0, tilts, 0.5, 0.010, 0.001, 0.002)
    pocket = Pocket(np.array([0.0, 0.001, 0.009]), 0.0, 0.040, 0.003, tilts, 0.5)
    together = valve_travel(centres, axes, 0.018, pocket, 0.002)
    for place, x in enumerate((0.0, 0.001, 0.009)):
        alone = Pocket(x, 0.0, 0.040, 0.003, tilts[place], 0.5)
        assert together[place] == valve_travel(centres[place], axes[place], 0.018, alone, 0.002)
    assert travel_to_plane(centres, axes, 0.018, np.array([0, 0, 0.002]), DOWN).shape == (3,)
