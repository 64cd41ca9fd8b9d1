"""Gasket against chamber: closed forms of squares and circles."""

import math

import pytest

from headwright.errors import InputError, QuantityError
from headwright.geometry.face import Circle, area_outside
from headwright.geometry.fire_ring import (
    circle_to_outline,
    gasket_overlap,
    outline_reach,
    outline_shape,
    ring_land,
)

SQUARE = [-0.03, 0.03, 0.03, -0.03], [-0.03, -0.03, 0.03, 0.03]


def polygon(radius: float, x: float = 0.0, count: int = 2000) -> tuple[list[float], list[float]]:
    turns = [2 * math.pi * n / count for n in range(count)]
    return [x + radius * math.cos(t) for t in turns], [radius * math.sin(t) for t in turns]


@pytest.mark.reference
def test_square_chamber_in_a_round_gasket() -> None:
    # Closed form: half diagonal a sqrt(2); area of the disc less the square.
    over = gasket_overlap(*SQUARE, Circle(0.0, 0.0, 0.09))
    assert over.land == pytest.approx(0.045 - 0.03 * math.sqrt(2), rel=1e-12)
    assert over.hollow_area == pytest.approx(0.0, abs=1e-15)
    assert over.face_in_bore == pytest.approx(math.pi / 4 * 0.09**2 - 0.06**2, rel=1e-5)
    assert over.ring_share is None


@pytest.mark.reference
def test_corners_of_a_square_beyond_a_circle() -> None:
    # Closed form: four corners of a square of side 2a outside a circle of radius r between a and
    # a sqrt(2): square less (circle less four segments).
    a, r = 0.03, 0.04
    half = math.acos(a / r)
    segment = r**2 * (half - math.sin(half) * math.cos(half))
    exact = 4 * a**2 - (math.pi * r**2 - 4 * segment)
    over = gasket_overlap(*SQUARE, Circle(0.0, 0.0, 2 * r))
    assert over.hollow_area == pytest.approx(exact, rel=1e-4)
    assert over.land < 0


@pytest.mark.reference
def test_round_chamber_beyond_the_gasket_is_the_lune() -> None:
    # The same lune from the two-circle formula of face.area_outside.
    x, y = polygon(0.03, 0.012)
    over = gasket_overlap(x, y, Circle(0.0, 0.0, 0.076))
    exact = area_outside(Circle(0.0, 0.0, 0.076), Circle(0.012, 0.0, 0.06))
    assert over.hollow_area == pytest.approx(exact, rel=2e-4)
    assert over.land == pytest.approx(0.038 - 0.042, rel=1e-6)


@pytest.mark.reference
def test_share_of_a_ring_over_a_round_hollow() -> None:
    # A concentric round chamber of radius c over a ring from r to r + w:
    # (c^2 - r^2) / ((r + w)^2 - r^2).
    x, y = polygon(0.039)
    over = gasket_overlap(x, y, Circle(0.0, 0.0, 0.076), 0.003)
    assert over.ring_share == pytest.approx((0.039**2 - 0.038**2) / (0.041**2 - 0.038**2), rel=1e-3)


@pytest.mark.reference
def test_insert_to_the_gasket_bore() -> None:
    assert ring_land(Circle(0, 0, 0.08), Circle(0.01, 0, 0.04)) == pytest.approx(0.01)
    assert ring_land(Circle(0, 0, 0.08), Circle(0.03, 0, 0.04)) == pytest.approx(-0.01)


@pytest.mark.reference
def test_circle_to_the_edge_of_a_square() -> None:
    assert circle_to_outline(Circle(0.0, 0.0, 0.02), *SQUARE) == pytest.approx(0.02)
    assert circle_to_outline(Circle(0.05, 0.0, 0.02), *SQUARE) == pytest.approx(0.01)
    assert circle_to_outline(Circle(0.03, 0.0, 0.02), *SQUARE) == pytest.approx(-0.01)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="crosses itself"):
        outline_shape([0.0, 1.0, 1.0, 0.0], [0.0, 1.0, 0.0, 1.0])
    with pytest.raises(InputError, match="three points"):
        outline_shape([0.0, 1.0], [0.0, 1.0])
    with pytest.raises(InputError, match="give x and y"):
        outline_reach([], [], 0.0, 0.0)
    with pytest.raises(QuantityError, match="ring_width"):
        gasket_overlap(*SQUARE, Circle(0.0, 0.0, 0.09), 0.0)
