"""Distances between discs, walls and guides against optimisation over the solids themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import minimize

from headwright.geometry.clearance import (
    disc_distance,
    head_to_bore,
    point_to_disc,
    refined_lowest,
    retainer_to_guide,
)
from headwright.geometry.valve_motion import axis_direction, head_centre, upright_pair

FloatArray = NDArray[np.float64]
DOWN = np.array([0.0, 0.0, 1.0])


def project(
    point: FloatArray, centre: FloatArray, axis: FloatArray, r: float, t: float
) -> FloatArray:
    """Nearest point of a solid disc."""
    arm = point - centre
    along = float(np.clip(arm @ axis, -t, 0.0))
    across = arm - (arm @ axis) * axis
    length = float(np.linalg.norm(across))
    if length > r:
        across = across * (r / length)
    return centre + along * axis + across


def nearest_by_optimisation(
    one: tuple[FloatArray, FloatArray, float, float],
    other: tuple[FloatArray, FloatArray, float, float],
) -> float:
    """Minimise over a point of one solid its distance from the other: convex, so one minimum."""
    centre, axis, radius, thickness = one
    first, second = upright_pair(axis)

    def place(q: FloatArray) -> FloatArray:
        return centre + 1e-3 * (q[0] * first + q[1] * second - q[2] * axis)

    def square(q: FloatArray) -> float:
        point = place(q) * 1e3
        near = project(place(q), *other) * 1e3
        return float(((point - near) ** 2).sum())

    best = math.inf
    wide, deep = 1e3 * radius, 1e3 * thickness
    for start in ((0.0, 0.0, 0.0), (0.5 * wide, 0.1, deep), (0.1, -0.5 * wide, 0.0)):
        found = minimize(
            square,
            start,
            method="SLSQP",
            bounds=[(-wide, wide), (-wide, wide), (0.0, deep)],
            constraints={
                "type": "ineq",
                "fun": lambda q: wide**2 - q[0] ** 2 - q[1] ** 2,
            },
            options={"ftol": 1e-14, "maxiter": 500},
        )
        best = min(best, math.sqrt(max(found.fun, 0.0)) * 1e-3)
    return best


@pytest.mark.reference
@settings(max_examples=20, deadline=None)
@given(
    tilts=st.tuples(st.floats(0.0, 0.5), st.floats(0.0, 0.5)),
    ways=st.tuples(st.floats(-3.1, 3.1), st.floats(-3.1, 3.1)),
    lifts=st.tuples(st.floats(0.0, 0.014), st.floats(0.0, 0.014)),
)
def test_two_leaning_valves_are_as_far_apart_as_optimisation_finds(
    tilts: tuple[float, float], ways: tuple[float, float], lifts: tuple[float, float]
) -> None:
    """scipy's SLSQP over one solid with exact projection on the other.

    2 micrometres: rim points every degree bettered by a parabola; SLSQP itself stops within
    a fraction of one.
    """
    bodies = []
    for x, radius, tilt, way, lift in zip(
        (0.019, -0.021), (0.0185, 0.0155), tilts, ways, lifts, strict=True
    ):
        centre = head_centre(x, 0.001, tilt, way, 0.006, 0.001, lift)
        bodies.append((centre, axis_direction(tilt, way), radius, 0.0012))
    one, other = bodies
    found = float(disc_distance(*one, *other))
    if found > 1e-4:
        assert found == pytest.approx(nearest_by_optimisation(one, other), abs=2e-6)
    else:
        assert nearest_by_optimisation(one, other) < 1.5e-4


@pytest.mark.reference
def test_parallel_discs_have_closed_distances() -> None:
    """Side by side, one over the other, and across the corner of both.

    A micrometre: where faces overlap the distance is level up to a corner, which a parabola
    through points a degree apart rounds by half of one.
    """

    def of(x: float, z: float) -> float:
        other = np.array([x, 0.0, z])
        return float(disc_distance(np.zeros(3), DOWN, 0.018, 0.001, other, DOWN, 0.015, 0.001))

    assert of(0.036, 0.0) == pytest.approx(0.003, abs=1e-6)
    assert of(0.030, 0.005) == pytest.approx(0.004, abs=1e-6)
    assert of(0.036, 0.005) == pytest.approx(math.hypot(0.003, 0.004), abs=1e-6)
    assert of(0.0325, 0.0) == pytest.approx(-0.0005, abs=1e-6)


@pytest.mark.reference
def test_two_discs_leaning_alike_meet_in_the_plane_of_their_axes() -> None:
    """A hemispherical layout: axes in one plane, lifted alike; the corner gap by trigonometry."""
    lean = math.radians(20.0)
    lift, thick = 0.006, 0.0
    one = head_centre(0.022, 0.0, lean, math.pi, 0.0, 0.0, lift)
    other = head_centre(-0.022, 0.0, lean, 0.0, 0.0, 0.0, lift)
    found = float(
        disc_distance(
            one,
            axis_direction(lean, math.pi),
            0.018,
            thick,
            other,
            axis_direction(lean, 0.0),
            0.018,
            thick,
        )
    )
    inner = 0.022 - lift * math.sin(lean) - 0.018 * math.cos(lean)
    assert found == pytest.approx(2.0 * inner, abs=1e-9)


@pytest.mark.prop
@given(st.floats(0.0, 0.4), st.floats(0.0, 0.4), st.floats(0.0, 0.01))
def test_distance_is_the_same_both_ways(first: float, second: float, lift: float) -> None:
    one = (head_centre(0.02, 0, first, 1.0, 0.005, 0.001, lift), axis_direction(first, 1.0))
    other = (head_centre(-0.02, 0, second, -1.0, 0.005, 0.001, 0.0), axis_direction(second, -1.0))
    there = disc_distance(*one, 0.018, 0.001, *other, 0.015, 0.0015)
    back = disc_distance(*other, 0.015, 0.0015, *one, 0.018, 0.001)
    assert float(there) == pytest.approx(float(back), abs=1e-12)


@pytest.mark.reference
def test_a_point_is_as_far_from_a_disc_as_the_nearest_of_many_points_of_it() -> None:
    """Brute force over 200 x 400 x 11 points of the solid; 60 um is their spacing."""
    turn = np.linspace(0, 2 * math.pi, 400)[:, None, None]
    wide = np.linspace(0, 0.015, 200)[:, None]
    deep = np.linspace(0, 0.001, 11)
    solid = np.stack(
        np.broadcast_arrays(wide * np.cos(turn), wide * np.sin(turn), -deep), axis=-1
    ).reshape(-1, 3)
    rng = np.random.default_rng(7)
    for point in rng.uniform([-0.03, -0.03, -0.01], [0.03, 0.03, 0.01], (20, 3)):
        found = float(point_to_disc(point, np.zeros(3), DOWN, 0.015, 0.001))
        brute = float(np.linalg.norm(solid - point, axis=1).min())
        assert max(found, 0.0) == pytest.approx(brute, abs=60e-6)


@pytest.mark.reference
@pytest.mark.parametrize("tilt", [0.0, 0.2, 0.45])
def test_the_wall_is_as_far_as_the_nearest_of_many_rim_points(tilt: float) -> None:
    """100 000 points of the rim; the parabola is within some nanometres."""
    centre, axis = np.array([0.015, 0.004, 0.0]), axis_direction(tilt, 0.6)
    first, second = upright_pair(axis)
    turn = np.linspace(0, 2 * math.pi, 100_000)[:, None]
    rim = centre + 0.017 * (np.cos(turn) * first + np.sin(turn) * second)
    brute = 0.037 - np.hypot(rim[:, 0] - 0.001, rim[:, 1]).max()
    assert float(head_to_bore(centre, axis, 0.017, 0.001, 0.0, 0.074)) == pytest.approx(
        brute, abs=1e-8
    )


@pytest.mark.reference
def test_the_wall_gap_of_an_upright_valve_is_the_plain_one() -> None:
    centre = np.array([0.003, 0.004, 0.001])
    assert float(head_to_bore(centre, DOWN, 0.02, 0.0, 0.0, 0.08)) == pytest.approx(0.015)


@pytest.mark.reference
def test_what_is_left_over_a_guide_is_a_sum() -> None:
    assert retainer_to_guide(0.0395, 0.0040, 0.0130, 0.0030, 0.0105) == pytest.approx(0.0090)


@pytest.mark.prop
@given(st.floats(0.6, 8.4), st.floats(0.1, 5.0))
def test_a_parabola_is_found_exactly_between_its_points(place: float, bend: float) -> None:
    values = bend * (np.arange(10.0) - place) ** 2 + 1.0
    assert float(refined_lowest(values)) == pytest.approx(1.0, abs=1e-9)
    assert float(refined_lowest(np.roll(values, 4), round_about=False)) <= values.min() + 1e-12


def test_a_lowest_at_an_end_stays_what_it_is() -> None:
    assert float(refined_lowest(np.array([0.1, 0.5, 2.0]))) == 0.1
    assert float(refined_lowest(np.array([0.1, 0.5, 0.2]), round_about=True)) < 0.1
