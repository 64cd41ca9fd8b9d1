"""Shrouding: closed forms for a pocket, a straight wall and a round bore."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.face import Circle, wall_clearance
from headwright.geometry.fire_ring import outline_shape
from headwright.geometry.shroud import (
    gap_to_circle,
    gap_to_outline,
    nearest_wall,
    shrouding,
    wall_gaps,
)

ROUND = np.arange(7200) * (2.0 * math.pi / 7200)


@pytest.mark.reference
def test_valve_in_the_middle_of_a_round_pocket() -> None:
    # Closed form: w is the same all round, s = 1 - w (R + w/2) / (R h).
    radius, wall, lift = 0.018, 0.004, 0.009
    taken = shrouding(2 * radius, lift, np.full(10, wall))
    exact = 1 - wall * (radius + wall / 2) / (radius * lift)
    assert taken.blocked == pytest.approx(exact, rel=1e-14)
    assert taken.arc == 1.0
    assert taken.free_area == pytest.approx(
        math.pi * ((radius + wall) ** 2 - radius**2), rel=1e-12
    )  # the ring between head and wall


@pytest.mark.reference
def test_valve_beside_a_straight_wall() -> None:
    # A wall at distance d from the axis: (R + w) = d / cos(phi), so that
    # the passage is the smaller within cos(phi0) = d / sqrt(R^2 + 2 R h), and
    # s = [phi0 (1 + R / (2 h)) - d^2 tan(phi0) / (2 R h)] / pi.
    radius, d, lift = 0.018, 0.0195, 0.009
    far = 10.0
    outline = [d, d, -far, -far], [-far, far, far, -far]
    gaps = gap_to_outline(*outline, Circle(0.0, 0.0, 2 * radius), ROUND)
    taken = shrouding(2 * radius, lift, gaps)
    phi = math.acos(d / math.sqrt(radius**2 + 2 * radius * lift))
    exact = (phi * (1 + radius / (2 * lift)) - d**2 * math.tan(phi) / (2 * radius * lift)) / math.pi
    assert taken.arc == pytest.approx(phi / math.pi, abs=1 / 7200)
    assert taken.blocked == pytest.approx(exact, rel=1e-5)  # midpoint sums over 7200 directions


@pytest.mark.reference
def test_free_area_beside_the_bore_is_what_shapely_measures() -> None:
    # With a lift so great that every direction is shrouded, what is left is the area of the bore
    # outside the head: measured by shapely (GEOS) as bore less head.
    import shapely

    bore, valve = Circle(0.0, 0.0, 0.0746), Circle(0.0172, 0.003, 0.036)
    gaps = gap_to_circle(bore, valve, ROUND)
    taken = shrouding(valve.diameter, 10.0, gaps)
    disc = shapely.Point(0, 0).buffer(bore.radius, quad_segs=2000)
    head = shapely.Point(valve.centre_x, valve.centre_y).buffer(valve.radius, quad_segs=2000)
    assert taken.free_area == pytest.approx(disc.difference(head).area, rel=1e-5)


@pytest.mark.reference
def test_gap_to_bore_is_the_law_of_cosines() -> None:
    bore, valve = Circle(0.001, -0.002, 0.0746), Circle(0.0182, 0.001, 0.03)
    for angle, gap in zip(ROUND[::500], gap_to_circle(bore, valve, ROUND[::500]), strict=True):
        reach = gap + valve.radius
        x = valve.centre_x + reach * math.cos(angle) - bore.centre_x
        y = valve.centre_y + reach * math.sin(angle) - bore.centre_y
        assert math.hypot(x, y) == pytest.approx(bore.radius, rel=1e-12)
    nearest = gap_to_circle(bore, valve, ROUND).min()
    assert nearest == pytest.approx(wall_clearance(bore, valve), abs=1e-8)


@pytest.mark.reference
def test_rays_meet_an_outline_where_shapely_says() -> None:
    import shapely

    turns = np.linspace(0.0, 2 * math.pi, 37)[:-1]
    reach = 0.03 + 0.004 * np.cos(3 * turns)
    x, y = reach * np.cos(turns), reach * np.sin(turns)
    valve = Circle(0.004, -0.002, 0.01)
    edge = outline_shape(x, y).exterior
    some = ROUND[3::487]
    for angle, gap in zip(some, gap_to_outline(x, y, valve, some), strict=True):
        end = (valve.centre_x + math.cos(angle), valve.centre_y + math.sin(angle))
        ray = shapely.LineString([(valve.centre_x, valve.centre_y), end])
        crossings = ray.intersection(edge)
        distance = shapely.Point(valve.centre_x, valve.centre_y).distance(crossings)
        assert gap + valve.radius == pytest.approx(distance, rel=1e-9)


@pytest.mark.prop
@given(
    st.floats(0.0, 0.02),
    st.floats(0.001, 0.012),
    st.floats(0.001, 0.012),
)
def test_more_lift_is_never_less_shrouded(off: float, one: float, other: float) -> None:
    gaps = wall_gaps(Circle(off, 0.0, 0.03), 0.01, bore=Circle(0.0, 0.0, 0.074), directions=60)
    low, high = sorted((one, other))
    first, second = shrouding(0.03, low, gaps), shrouding(0.03, high, gaps)
    assert first.blocked <= second.blocked + 1e-12
    assert 0.0 <= first.blocked <= first.arc <= 1.0


def test_walls_stand_beside_the_valve_only_where_they_are() -> None:
    bore = Circle(0.0, 0.0, 0.074)
    outline = [-0.03, 0.03, 0.03, -0.03], [-0.03, -0.03, 0.03, 0.03]
    valve = Circle(0.0, 0.0, 0.04)
    shallow = wall_gaps(valve, 0.002, bore=bore, outline=outline, seat_depth=0.004)
    assert shallow.min() == pytest.approx(0.01)  # the chamber's wall, not yet the bore's
    flush = wall_gaps(valve, 0.002, bore=bore, outline=outline)
    assert flush.min() == pytest.approx(0.017)  # seat in the face: the bore alone
    assert np.isinf(wall_gaps(valve, 0.002, seat_depth=0.004)).all()


def test_an_open_valve_is_not_shrouded() -> None:
    taken = shrouding(0.036, 0.009, np.full(8, np.inf))
    assert (taken.blocked, taken.arc) == (0.0, 0.0)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="outside the bore"):
        gap_to_circle(Circle(0.0, 0.0, 0.07), Circle(0.05, 0.0, 0.03), ROUND)
    with pytest.raises(InputError, match="outside the chamber"):
        gap_to_outline([0.0, 1.0, 0.0], [0.0, 0.0, 1.0], Circle(-1.0, 0.2, 0.1), ROUND)
    with pytest.raises(InputError, match="three points"):
        gap_to_outline([0.0, 1.0], [0.0, 0.0], Circle(0.0, 0.0, 0.1), ROUND)
    with pytest.raises(InputError, match="none given"):
        nearest_wall()
    with pytest.raises(QuantityError, match="lift"):
        shrouding(0.036, 0.0, [1.0])
