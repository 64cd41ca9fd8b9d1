"""Ports along their way: cones, continuity, rocker arcs by brute force."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.port import PortStations
from headwright.geometry.port_path import (
    mean_port_speed,
    port_path,
    pushrod_side_clearance,
    pushrod_sway,
    sleeve_outcome,
    turn_ratio,
    wall_after_opening,
)


@pytest.mark.reference
def test_cone_and_cylinder() -> None:
    # A straight cone from 40 to 30 mm over 100 mm: pi L (D^2 + D d + d^2) / 12.
    area = [math.pi / 4 * 0.04**2, math.pi / 4 * 0.03**2]
    path = port_path([0.0, 0.1], area)
    assert path.volume == pytest.approx(math.pi * 0.1 * (16 + 12 + 9) * 1e-4 / 12)
    assert path.tapers[0] == pytest.approx(-math.atan(0.05))
    assert path.hydraulic_diameters == pytest.approx([0.04, 0.03])
    assert path.smallest_at == 0.1
    assert path.length == pytest.approx(0.1)
    assert path.divider_step is None


@pytest.mark.reference
def test_shared_port_of_straight_pipes() -> None:
    # One duct of 12 cm2 for 60 mm, then two of 7 cm2 for 40 mm: 72 + 56 cc.
    path = port_path([0.0, 0.05, 0.07, 0.10], [12e-4, 12e-4, 7e-4, 7e-4], divider=0.06, served=2)
    assert path.volume == pytest.approx(72e-6 + 56e-6)
    assert path.divider_step == pytest.approx(14 / 12)
    assert list(path.branches) == [1, 1, 2, 2]
    assert np.isnan(path.tapers[1])
    assert path.smallest_area == pytest.approx(7e-4)


@pytest.mark.reference
def test_mean_speed_is_continuity() -> None:
    # Volume swept in half a turn over the time of half a turn, through the section.
    bore, stroke, rpm, area = 0.0746, 0.0855, 7000.0, 8e-4
    swept = math.pi / 4 * bore**2 * stroke
    time = 0.5 * 60.0 / rpm
    speed = mean_port_speed(area, bore, stroke, rpm * math.pi / 30.0, 0.95)
    assert speed == pytest.approx(0.95 * swept / time / area, rel=1e-12)


@pytest.mark.reference
def test_perimeter_of_a_square_and_turn() -> None:
    path = port_path([0.0, 0.1], [9e-4, 9e-4], [0.12, math.nan])
    assert path.hydraulic_diameters[0] == pytest.approx(0.03)  # 4 A / P of a square is its side
    assert path.hydraulic_diameters[1] == pytest.approx(math.sqrt(4 * 9e-4 / math.pi))
    assert turn_ratio(0.03, math.pi / 4 * 0.03**2) == pytest.approx(1.0)


@pytest.mark.reference
@given(st.floats(0.02, 0.05), st.floats(0.0, 0.012), st.floats(-0.4, 0.2))
def test_sway_by_turning_the_rocker(arm: float, lift: float, start: float) -> None:
    # Brute force: turn the arm in small steps until the cup has risen by the lift.
    begin = arm * math.sin(start)
    heights = np.linspace(begin, begin + lift, 4001)
    if abs(begin + lift) >= 0.98 * arm:
        return
    out = np.sqrt(arm**2 - heights**2)
    low, high = pushrod_sway(arm, lift, start)
    assert low == pytest.approx((out - out[0]).min(), abs=1e-9)
    assert high == pytest.approx((out - out[0]).max(), abs=1e-8)


@pytest.mark.reference
def test_even_arrangement_sways_least() -> None:
    # Half below, half above: out and back by a - sqrt(a^2 - (h/2)^2).
    low, high = pushrod_sway(0.03, 0.008)
    assert (low, high) == pytest.approx((0.0, 0.03 - math.sqrt(0.03**2 - 0.004**2)))
    for start in (-0.3, -0.2, 0.0, 0.1):
        other = pushrod_sway(0.03, 0.008, start)
        assert other[1] - other[0] >= high - low - 1e-12


@pytest.mark.reference
def test_side_clearance_by_subtraction() -> None:
    gap = pushrod_side_clearance(0.011, 0.007, (-0.0002, 0.001), 0.8, 0.0005)
    assert gap == pytest.approx(0.002 - (0.0005 + 0.0008))
    other = pushrod_side_clearance(0.011, 0.007, (-0.0002, 0.001), 0.8, -0.0005)
    assert other == pytest.approx(0.002 - 0.00066)


@pytest.mark.reference
def test_sleeves_by_subtraction() -> None:
    through = sleeve_outcome(0.0008, 0.011, 0.0127, 0.0009)
    assert through.iron_left == pytest.approx(-0.00005)
    assert through.breaks_through
    assert through.wall == pytest.approx(0.0009)
    assert through.passage == pytest.approx(0.0109)
    sound = sleeve_outcome(0.003, 0.011, 0.0127, 0.0009)
    assert not sound.breaks_through
    assert sound.wall == pytest.approx(0.003 - 0.00085 + 0.0009)
    assert wall_after_opening(0.0034, 0.001) == pytest.approx(0.0024)


@pytest.mark.prop
@given(st.lists(st.floats(5e-4, 15e-4), min_size=3, max_size=8))
def test_a_port_of_one_valve_is_its_stations(areas: list[float]) -> None:
    distances = [0.02 * n for n in range(len(areas))]
    path = port_path(distances, areas)
    assert path.volume == pytest.approx(PortStations(distances, areas).volume)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="divider"):
        port_path([0.0, 0.1], [1e-3, 1e-3], served=2)
    with pytest.raises(InputError, match="perimeters"):
        port_path([0.0, 0.1], [1e-3, 1e-3], [0.1])
    with pytest.raises(QuantityError, match="circle"):
        port_path([0.0, 0.1], [1e-3, 1e-3], [0.1, 0.2])
    with pytest.raises(QuantityError, match="upright"):
        pushrod_sway(0.01, 0.03)
    with pytest.raises(InputError, match="sleeve"):
        sleeve_outcome(0.001, 0.011, 0.010, 0.001)
    with pytest.raises(QuantityError, match="height_share"):
        pushrod_side_clearance(0.011, 0.007, (0.0, 0.0), 1.5)
