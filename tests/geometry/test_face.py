"""Plan of the face: hand-worked layouts, areas by integration, symmetry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from headwright.errors import QuantityError
from headwright.geometry.face import (
    Circle,
    area_outside,
    centre_distance,
    edge_gap,
    moved_along_axis,
    narrowest_gap,
    overlap_area,
    pairwise_gaps,
    point_distance,
    wall_clearance,
)

coordinates = st.floats(-0.1, 0.1)
circles = st.builds(Circle, coordinates, coordinates, st.floats(0.002, 0.1))


def area_by_strips(first: Circle, second: Circle) -> float:
    """Common area by counting strips: the midpoint rule across x, chord by chord."""
    low = max(first.centre_x - first.radius, second.centre_x - second.radius)
    high = min(first.centre_x + first.radius, second.centre_x + second.radius)
    if high <= low:
        return 0.0
    count = 20_000
    across = low + (np.arange(count) + 0.5) * (high - low) / count

    def chord(circle: Circle) -> tuple[np.ndarray, np.ndarray]:
        half = np.sqrt(np.maximum(circle.radius**2 - (across - circle.centre_x) ** 2, 0.0))
        return circle.centre_y - half, circle.centre_y + half

    (low_one, high_one), (low_two, high_two) = chord(first), chord(second)
    common = np.minimum(high_one, high_two) - np.maximum(low_one, low_two)
    return float(np.maximum(common, 0.0).sum() * (high - low) / count)


@pytest.mark.reference
def test_bridge_and_wall_by_hand() -> None:
    # 3-4-5 triangle: centres 50 mm apart.
    one, two = Circle(0.0, 0.0, 0.040), Circle(0.030, 0.040, 0.056)
    assert centre_distance(one, two) == pytest.approx(0.050)
    assert edge_gap(one, two) == pytest.approx(0.002)
    bore = Circle(0.0, 0.0, 0.100)
    assert wall_clearance(bore, Circle(0.015, 0.020, 0.036)) == pytest.approx(0.007)
    assert wall_clearance(bore, Circle(0.030, 0.040, 0.036)) == pytest.approx(-0.018)


@pytest.mark.reference
def test_overlap_of_equal_circles() -> None:
    # Two unit circles a radius apart share 2 pi / 3 - sqrt(3) / 2 (the vesica piscis).
    assert overlap_area(Circle(0.0, 0.0, 2.0), Circle(0.0, 1.0, 2.0)) == pytest.approx(
        2.0 * math.pi / 3.0 - 3.0**0.5 / 2.0, rel=1e-14
    )


@pytest.mark.reference
@given(circles, circles)
def test_overlap_against_strips(first: Circle, second: Circle) -> None:
    # Strips err at the ends of the chords, by less than 1e-5 of the smaller disc.
    small = min(first.area, second.area)
    assert overlap_area(first, second) == pytest.approx(
        area_by_strips(first, second), abs=1e-5 * small
    )


@pytest.mark.prop
@given(circles, circles)
def test_overlap_is_mutual_and_bounded(first: Circle, second: Circle) -> None:
    common = overlap_area(first, second)
    assert common == pytest.approx(overlap_area(second, first), rel=1e-9, abs=1e-15)
    assert 0.0 <= common <= min(first.area, second.area)
    assert common + area_outside(first, second) == pytest.approx(second.area, rel=1e-12)
    if edge_gap(first, second) > 0.0:
        assert common == 0.0
    if wall_clearance(first, second) > 1e-12:
        assert common == second.area
        assert area_outside(first, second) == 0.0


@pytest.mark.prop
@given(circles, circles, coordinates, coordinates, st.floats(0.0, 6.3))
def test_gaps_do_not_mind_where_the_casting_lies(
    first: Circle, second: Circle, across: float, along: float, turn: float
) -> None:
    def moved(circle: Circle) -> Circle:
        cosine, sine = math.cos(turn), math.sin(turn)
        return Circle(
            circle.centre_x * cosine - circle.centre_y * sine + across,
            circle.centre_x * sine + circle.centre_y * cosine + along,
            circle.diameter,
        )

    assert edge_gap(moved(first), moved(second)) == pytest.approx(
        edge_gap(first, second), abs=1e-15
    )
    assert edge_gap(first, second) == edge_gap(second, first)


def test_valve_hanging_over_the_bore() -> None:
    bore, valve = Circle(0.0, 0.0, 0.0706), Circle(0.021, 0.0, 0.036)
    assert wall_clearance(bore, valve) == pytest.approx(-0.0037)
    outside = area_outside(bore, valve)
    assert outside == pytest.approx(valve.area - area_by_strips(bore, valve), rel=1e-3)
    assert 0.0 < outside < 0.2 * valve.area


def test_leaning_valve_moves_off_the_wall() -> None:
    bore, valve = Circle(0.0, 0.0, 0.0706), Circle(0.017, 0.0, 0.036)
    lifted = moved_along_axis(valve, math.radians(10.0), math.pi, 0.010)
    assert lifted.centre_x == pytest.approx(0.017 - 0.010 * math.sin(math.radians(10.0)))
    assert lifted.centre_y == pytest.approx(0.0, abs=1e-17)
    assert wall_clearance(bore, lifted) > wall_clearance(bore, valve)


def test_table_of_gaps_across_two_cylinders() -> None:
    features = {
        "inlet 1": Circle(0.000, 0.0, 0.036),
        "exhaust 1": Circle(0.0345, 0.0, 0.031),
        "exhaust 2": Circle(0.0670, 0.0, 0.031),
        "plug 1": Circle(0.018, 0.024, 0.014),
    }
    gaps = pairwise_gaps(features)
    assert len(gaps) == 6
    assert [gap.gap for gap in gaps] == sorted(gap.gap for gap in gaps)
    assert (gaps[0].first, gaps[0].second) == ("inlet 1", "exhaust 1")
    assert gaps[0].gap == pytest.approx(0.001)
    assert narrowest_gap(features) == gaps[0]
    between = pairwise_gaps(features, [("exhaust 1", "exhaust 2")])
    assert between[0].gap == pytest.approx(0.0015)
    assert narrowest_gap({"alone": features["plug 1"]}) is None


@pytest.mark.reference
def test_uncertain_values_pass_through() -> None:
    # Bridge from four coordinates and two diameters; by hand: only x differs, so u is the root of
    # 2 * 0.05^2 + 2 * 0.01^2 mm (half of each diameter's 0.02).
    one = Circle(ufloat(0.0, 5e-5), 0.0, ufloat(0.038, 2e-5))
    two = Circle(ufloat(0.0365, 5e-5), 0.0, ufloat(0.031, 2e-5))
    bridge = edge_gap(one, two)
    assert bridge.nominal_value == pytest.approx(0.002)  # type: ignore[attr-defined]
    assert bridge.std_dev == pytest.approx(  # type: ignore[attr-defined]
        math.sqrt(2 * 5e-5**2 + 2 * 1e-5**2), rel=1e-12
    )


@pytest.mark.prop
def test_arrays_pass_through() -> None:
    spots = np.array([0.0, 0.010, 0.020, 0.060])
    bore = Circle(0.0, 0.0, 0.070)
    valves = Circle(spots, np.zeros(4), np.full(4, 0.036))  # type: ignore[arg-type]
    singly = [Circle(float(spot), 0.0, 0.036) for spot in spots]
    assert overlap_area(bore, valves) == pytest.approx(
        [overlap_area(bore, valve) for valve in singly]
    )
    assert wall_clearance(bore, valves) == pytest.approx(
        [wall_clearance(bore, valve) for valve in singly]
    )
    assert point_distance(spots, spots, spots + 3.0, spots + 4.0) == pytest.approx(np.full(4, 5.0))


def test_refusals() -> None:
    with pytest.raises(QuantityError, match="diameter: is 0 m"):
        Circle(0.0, 0.0, 0.0)
    with pytest.raises(QuantityError, match="centre_y: is nan m"):
        Circle(0.0, math.nan, 0.03)
    with pytest.raises(QuantityError, match="lean_angle"):
        moved_along_axis(Circle(0.0, 0.0, 0.03), 1.6, 0.0, 0.01)
    with pytest.raises(KeyError):
        pairwise_gaps({}, [("inlet", "exhaust")])
