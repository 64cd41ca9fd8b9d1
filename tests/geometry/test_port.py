"""Sections and volumes of ports against solids of known volume."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.port import (
    PortStations,
    ellipse_section,
    hydraulic_diameter,
    measured_section,
    round_section,
    rounded_section,
    slot_section,
)

sides = st.floats(0.005, 0.08)


@pytest.mark.reference
def test_known_sections() -> None:
    # A square's hydraulic diameter is its side, a circle's its diameter.
    assert rounded_section(0.03, 0.03, 0.0).hydraulic_diameter == pytest.approx(0.03)
    assert round_section(0.03).hydraulic_diameter == pytest.approx(0.03)
    assert round_section(0.03).equivalent_diameter == pytest.approx(0.03)
    slot = slot_section(0.050, 0.020)
    assert slot.area == pytest.approx(0.03 * 0.02 + math.pi * 0.01**2)
    assert slot.perimeter == pytest.approx(0.06 + math.pi * 0.02)
    assert hydraulic_diameter(2.0, 4.0) == 2.0


@pytest.mark.reference
@given(sides, sides)
def test_ellipse_perimeter(width: float, height: float) -> None:
    # Midpoint rule on the arc length, exact to round-off for a smooth closed curve of low
    # eccentricity and to 1e-6 for the flattest here.
    turn = (np.arange(2000) + 0.5) * 2.0 * np.pi / 2000
    arc = np.hypot(width / 2.0 * np.sin(turn), height / 2.0 * np.cos(turn)).mean() * 2.0 * np.pi
    section = ellipse_section(width, height)
    assert section.perimeter == pytest.approx(arc, rel=1e-6)
    assert section.area == pytest.approx(math.pi / 4.0 * width * height, rel=1e-12)


@pytest.mark.prop
@given(sides, sides, st.floats(0.0, 1.0))
def test_nothing_beats_a_circle(width: float, height: float, part: float) -> None:
    section = rounded_section(width, height, part * min(width, height) / 2.0)
    assert section.perimeter >= math.pi * section.equivalent_diameter * (1.0 - 1e-12)
    assert section.hydraulic_diameter <= section.equivalent_diameter * (1.0 + 1e-12)
    assert measured_section(section.area, section.perimeter) == section


@pytest.mark.reference
def test_cone_and_cylinder_are_exact() -> None:
    # Frustum 40 to 30 mm over 50 mm: pi h / 12 (D^2 + D d + d^2); then 20 mm of 30 mm bore.
    large, small = round_section(0.040), round_section(0.030)
    port = PortStations.from_sections([0.010, 0.060, 0.080], [large, small, small])
    frustum = math.pi * 0.050 / 12.0 * (0.04**2 + 0.04 * 0.03 + 0.03**2)
    assert port.volume == pytest.approx(frustum + small.area * 0.020, rel=1e-13)
    assert port.volume_from_face() == pytest.approx([0.0, frustum, port.volume], rel=1e-13)
    assert port.length == pytest.approx(0.070)
    assert port.mean_area == pytest.approx(port.volume / 0.070)
    assert port.area_at(0.035) == pytest.approx(round_section(0.035).area, rel=1e-13)
    assert port.half_angles() == pytest.approx([-math.atan(0.005 / 0.050), 0.0])


@pytest.mark.prop
@given(st.lists(st.tuples(st.floats(0.002, 0.05), st.floats(1e-4, 2e-3)), min_size=2, max_size=8))
def test_a_station_on_the_curve_changes_nothing(pieces: list[tuple[float, float]]) -> None:
    distances = np.cumsum([width for width, _ in pieces])
    areas = np.array([area for _, area in pieces])
    port = PortStations(distances, areas)
    middle = (distances[0] + distances[1]) / 2.0
    finer = PortStations(
        np.insert(distances, 1, middle), np.insert(areas, 1, port.area_at(float(middle)))
    )
    assert finer.volume == pytest.approx(port.volume, rel=1e-12)
    assert areas.min() <= port.mean_area * (1.0 + 1e-12)
    assert port.mean_area <= areas.max() * (1.0 + 1e-12)
    assert port.smallest[1] == areas.min()


def test_area_at_takes_arrays() -> None:
    port = PortStations([0.0, 0.1], [4e-4, 9e-4])
    where = np.array([0.0, 0.05, 0.1])
    assert port.area_at(where) == pytest.approx([4e-4, 6.25e-4, 9e-4])
    assert isinstance(port.area_at(0.05), float)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: round_section(-0.03), "diameter: is -0.03 m"),
        (lambda: rounded_section(0.03, 0.02, 0.011), "at most half the smaller side"),
        (lambda: rounded_section(0.03, math.nan, 0.0), "height: is nan m"),
        (lambda: measured_section(7e-4, 0.05), "a circle's of that area"),
        (lambda: hydraulic_diameter(0.0, 0.1), "area: is 0 m2"),
        (lambda: PortStations([0.0], [1e-3]), "two stations or more"),
        (lambda: PortStations([0.0, 0.1], [1e-3]), "2 distances and 1 areas"),
        (lambda: PortStations([0.0, 0.0], [1e-3, 1e-3]), "(element 1 of 2)"),
        (lambda: PortStations([0.0, 0.1], [1e-3, 0.0]), "areas: is 0 m2 (element 1 of 2)"),
        (lambda: PortStations([0.0, 0.1], [1e-3, 1e-3]).area_at(0.2), "first and last station"),
    ],
)
def test_refusals(call: object, words: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert isinstance(caught.value, (InputError, QuantityError))
    assert words in str(caught.value)
