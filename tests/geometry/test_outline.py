"""Areas of outlines against shapes of known area."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.face import Circle, overlap_area
from headwright.geometry.outline import outline_area, outline_area_in_circle, outline_length


def ring(circle: Circle, count: int) -> tuple[np.ndarray, np.ndarray]:
    turn = np.arange(count) * 2.0 * np.pi / count
    return (
        circle.centre_x + circle.radius * np.cos(turn),
        circle.centre_y + circle.radius * np.sin(turn),
    )


@pytest.mark.reference
def test_regular_polygon() -> None:
    # Inscribed n-gon: n/2 R^2 sin(2 pi / n) and 2 n R sin(pi / n).
    across, along = ring(Circle(0.3, -0.2, 0.08), 7)
    assert outline_area(across, along) == pytest.approx(
        3.5 * 0.04**2 * math.sin(2.0 * math.pi / 7.0), rel=1e-12
    )
    assert outline_length(across, along) == pytest.approx(
        14.0 * 0.04 * math.sin(math.pi / 7.0), rel=1e-12
    )


@pytest.mark.reference
def test_square_over_a_circle_by_hand() -> None:
    # Quarter plane with its corner at the centre: a quarter of the circle.
    corner = [0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0]
    assert outline_area_in_circle(*corner, Circle(0.0, 0.0, 0.2)) == pytest.approx(
        math.pi * 0.01 / 4.0, rel=1e-13
    )
    # Half plane: half of it; and a square wholly round it: all of it.
    half = [-1.0, 1.0, 1.0, -1.0], [0.0, 0.0, 1.0, 1.0]
    assert outline_area_in_circle(*half, Circle(0.0, 0.0, 0.2)) == pytest.approx(
        math.pi * 0.01 / 2.0, rel=1e-13
    )
    whole = [-1.0, 1.0, 1.0, -1.0], [-1.0, -1.0, 1.0, 1.0]
    assert outline_area_in_circle(*whole, Circle(0.0, 0.0, 0.2)) == pytest.approx(
        math.pi * 0.01, rel=1e-13
    )
    away = [2.0, 3.0, 3.0, 2.0], [0.0, 0.0, 1.0, 1.0]
    assert outline_area_in_circle(*away, Circle(0.0, 0.0, 0.2)) == pytest.approx(0.0, abs=1e-17)


@pytest.mark.reference
@given(st.floats(-0.06, 0.06), st.floats(-0.06, 0.06), st.floats(0.01, 0.08))
def test_many_sided_outline_tends_to_circles(across: float, along: float, diameter: float) -> None:
    # A 720-gon is smaller than its circle by 2 pi^2 / (3 n^2) = 1.3e-5 of the area.
    chamber, bore = Circle(across, along, diameter), Circle(0.0, 0.0, 0.07)
    found = outline_area_in_circle(*ring(chamber, 720), bore)
    assert found == pytest.approx(overlap_area(bore, chamber), abs=3e-5 * chamber.area)


triangles = st.lists(st.tuples(st.floats(-0.1, 0.1), st.floats(-0.1, 0.1)), min_size=3, max_size=3)


@pytest.mark.prop
@given(triangles, st.floats(0.01, 0.1))
def test_part_is_no_more_than_the_whole(points: list[tuple[float, float]], diameter: float) -> None:
    across, along = zip(*points, strict=True)
    circle = Circle(0.01, -0.02, diameter)
    inside = outline_area_in_circle(across, along, circle)
    whole = outline_area(across, along)
    assert 0.0 <= inside <= min(whole, circle.area) + 1e-15
    backwards = outline_area_in_circle(across[::-1], along[::-1], circle)
    assert backwards == pytest.approx(inside, abs=1e-15)
    everywhere = outline_area_in_circle(across, along, Circle(0.0, 0.0, 1.0))
    assert everywhere == pytest.approx(whole, abs=1e-15)


@pytest.mark.prop
@given(triangles, st.floats(0.0, 1.0))
def test_cut_in_two_adds_up(points: list[tuple[float, float]], part: float) -> None:
    one, two, three = (np.array(point) for point in points)
    split = two + part * (three - two)
    circle = Circle(0.0, 0.0, 0.09)

    def inside(*corners: np.ndarray) -> float:
        return outline_area_in_circle([c[0] for c in corners], [c[1] for c in corners], circle)

    assert inside(one, two, split) + inside(one, split, three) == pytest.approx(
        inside(one, two, three), abs=1e-15
    )


def test_repeated_point_changes_nothing() -> None:
    circle = Circle(0.0, 0.0, 0.05)
    plain = outline_area_in_circle([0.0, 0.05, 0.0], [0.0, 0.0, 0.05], circle)
    doubled = outline_area_in_circle([0.0, 0.05, 0.05, 0.0], [0.0, 0.0, 0.0, 0.05], circle)
    assert doubled == pytest.approx(plain, rel=1e-14)


def test_refusals() -> None:
    with pytest.raises(InputError, match="three or more"):
        outline_area([0.0, 1.0], [0.0, 1.0])
    with pytest.raises(InputError, match="3 x and 2 y"):
        outline_length([0.0, 1.0, 2.0], [0.0, 1.0])
    with pytest.raises(QuantityError, match=r"outline y: is nan m \(element 1 of 3\)"):
        outline_area([0.0, 1.0, 2.0], [0.0, math.nan, 1.0])
