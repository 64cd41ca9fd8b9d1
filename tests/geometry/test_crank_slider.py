"""Piston motion against closed forms, differences of itself, and its mirror image."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import QuantityError
from headwright.geometry.crank_slider import CrankSlider, pin_travel

SPEED = 7000.0 * 2.0 * math.pi / 60.0

# Bore 101.6, stroke 88.9, rod 152.4 mm at 7000 rpm, no offset: degrees, mm, m/s, m/s2.
# Heywood, Internal Combustion Engine Fundamentals, ch. 2 (equations from memory), recomputed
# from the closed form outside this project; the digits shown are the tolerance.
MOTION_TABLE = [
    (0.0, 0.0, 0.0, 30851.45),
    (30.0, 7.584453, 20.451397, 24320.64),
    (60.0, 27.166843, 32.471249, 8465.20),
    (90.0, 51.076348, 32.583552, -7283.13),
    (120.0, 71.616843, 23.965119, -15419.79),
    (180.0, 88.9, 0.0, -16918.54),
]


@pytest.fixture
def motion() -> CrankSlider:
    return CrankSlider.from_stroke(0.0889, 0.1524)


@st.composite
def sliders(draw: st.DrawFn) -> CrankSlider:
    radius = draw(st.floats(0.02, 0.08))
    ratio = draw(st.floats(2.2, 5.0))
    offset = draw(st.floats(-0.25, 0.25))
    return CrankSlider(radius, ratio * radius, offset * radius)


angles = st.floats(-7.0, 14.0)


@pytest.mark.reference
@pytest.mark.parametrize(("degrees", "position", "velocity", "acceleration"), MOTION_TABLE)
def test_motion_table(
    motion: CrankSlider, degrees: float, position: float, velocity: float, acceleration: float
) -> None:
    angle = math.radians(degrees)
    assert motion.position(angle) == pytest.approx(1e-3 * position, rel=1e-6, abs=1e-15)
    assert motion.velocity(angle, SPEED) == pytest.approx(velocity, rel=1e-6, abs=1e-12)
    assert motion.acceleration(angle, SPEED) == pytest.approx(acceleration, rel=1e-6)


@pytest.mark.reference
def test_piston_speeds(motion: CrankSlider) -> None:
    # Same source: mean 20.74333 m/s; greatest 1.63665 times that, 74.88 degrees after top.
    peak = motion.peak_speed(SPEED)
    mean = motion.mean_speed(SPEED)
    assert mean == pytest.approx(20.74333, rel=1e-6)
    assert peak.down_speed / mean == pytest.approx(1.63665, abs=1e-5)
    assert math.degrees(peak.down_angle) == pytest.approx(74.88, abs=0.02)
    assert peak.up_angle == pytest.approx(2.0 * math.pi - peak.down_angle, abs=1e-12)
    assert peak.up_speed == pytest.approx(peak.down_speed, rel=1e-14)


@pytest.mark.reference
def test_long_rod_is_a_sine_curve() -> None:
    # With an endless rod the motion is r (1 - cos a); the error falls as r / l.
    motion = CrankSlider(0.04, 4.0e4)
    angle = np.linspace(0.0, 2.0 * np.pi, 37)
    assert motion.position(angle) == pytest.approx(0.04 * (1.0 - np.cos(angle)), abs=1e-7)


@pytest.mark.reference
def test_offset_against_loop_closure() -> None:
    # Rod length recovered from the coordinates of crank pin and gudgeon pin at every angle:
    # Pythagoras, worked with the pin's own position only.
    motion = CrankSlider(0.0435, 0.1450, 0.0012)
    angle = np.linspace(0.0, 2.0 * np.pi, 361)
    throw = angle + motion.top_throw_angle
    pin_y = motion.top_pin_height - motion.position(angle)
    rod = np.hypot(0.0435 * np.sin(throw) + 0.0012, pin_y - 0.0435 * np.cos(throw))
    assert rod == pytest.approx(np.full_like(rod, 0.1450), rel=1e-14)


def test_positive_offset_eases_the_negative_and_shortens_the_downstroke() -> None:
    towards_thrust = CrankSlider(0.0435, 0.1450, 0.0015)
    away = CrankSlider(0.0435, 0.1450, -0.0015)
    assert towards_thrust.top_throw_angle < 0.0 < away.top_throw_angle
    assert towards_thrust.bottom_angle < math.pi < away.bottom_angle
    quarter = math.radians(75.0)  # about where gas side thrust is greatest on the firing stroke
    assert towards_thrust.side_thrust_ratio(quarter) > away.side_thrust_ratio(quarter) > 0.0


def test_true_stroke_exceeds_the_cranks() -> None:
    motion = CrankSlider(0.04, 0.13, 0.01)
    assert motion.stroke > 0.08
    assert motion.stroke == pytest.approx(motion.position(motion.bottom_angle), rel=1e-14)


@pytest.mark.prop
@given(sliders())
def test_dead_centres_are_where_the_piston_stops(motion: CrankSlider) -> None:
    assert motion.position(0.0) == 0.0
    scale = motion.crank_radius
    assert motion.position_slope(0.0) == pytest.approx(0.0, abs=1e-14 * scale)
    assert motion.position_slope(motion.bottom_angle) == pytest.approx(0.0, abs=1e-13 * scale)
    turn = np.linspace(0.0, 2.0 * np.pi, 721)
    position = motion.position(turn)
    assert (position >= -1e-16).all()
    assert (position <= motion.stroke * (1.0 + 1e-12)).all()


@pytest.mark.prop
@given(sliders(), angles)
def test_velocity_and_acceleration_are_slopes(motion: CrankSlider, angle: float) -> None:
    # Four-point differences, error of order step^4: 1e-12 relative plus round-off over the step.
    step = 1e-3

    def slope(function: object, at: float) -> float:
        near = function(at + step) - function(at - step)  # type: ignore[operator]
        far = function(at + 2 * step) - function(at - 2 * step)  # type: ignore[operator]
        return float(8.0 * near - far) / (12.0 * step)

    scale = motion.crank_radius
    assert motion.position_slope(angle) == pytest.approx(
        slope(motion.position, angle), abs=1e-9 * scale
    )
    assert motion.position_curvature(angle) == pytest.approx(
        slope(motion.position_slope, angle), abs=1e-9 * scale
    )


@pytest.mark.prop
@given(sliders(), st.floats(0.0, 1.0))
def test_position_and_angle_undo_each_other(motion: CrankSlider, part: float) -> None:
    position = part * motion.stroke
    down, up = motion.angle_going_down(position), motion.angle_coming_up(position)
    assert 0.0 <= down <= motion.bottom_angle
    assert motion.bottom_angle <= up <= 2.0 * math.pi
    assert motion.position(down) == pytest.approx(position, abs=1e-15)
    assert motion.position(up) == pytest.approx(position, abs=1e-15)
    assert motion.dwell(position) == pytest.approx(down - (up - 2.0 * math.pi), abs=1e-9)


@pytest.mark.prop
@given(sliders(), st.floats(0.01, 3.0))
def test_angle_is_found_again(motion: CrankSlider, angle: float) -> None:
    # Near the dead centres position says little of angle: 1e-17 m is up to 1e-8 rad there.
    at = min(angle, motion.bottom_angle - 0.01)
    assert motion.angle_going_down(motion.position(at)) == pytest.approx(at, abs=1e-11)


@pytest.mark.prop
@given(sliders(), angles)
def test_mirror_image_runs_backwards(motion: CrankSlider, angle: float) -> None:
    mirror = CrankSlider(motion.crank_radius, motion.rod_length, -motion.pin_offset)
    assert mirror.position(-angle) == pytest.approx(motion.position(angle), abs=1e-16)
    assert mirror.velocity(-angle, 100.0) == pytest.approx(
        -motion.velocity(angle, 100.0), abs=1e-12
    )
    assert mirror.rod_angle(-angle) == pytest.approx(-motion.rod_angle(angle), abs=1e-14)


@pytest.mark.prop
@given(sliders())
def test_peak_speed_beats_a_scan(motion: CrankSlider) -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 3601)
    velocity = motion.velocity(turn, 1.0)
    peak = motion.peak_speed(1.0)
    assert peak.down_speed == pytest.approx(velocity.max(), rel=2e-6)
    assert peak.up_speed == pytest.approx(-velocity.min(), rel=2e-6)
    assert peak.down_speed >= velocity.max() * (1.0 - 1e-14)
    assert peak.up_speed >= -velocity.min() * (1.0 - 1e-14)


@pytest.mark.prop
@given(sliders())
def test_mean_speed_is_the_mean(motion: CrankSlider) -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 20001)
    mean = np.trapezoid(np.abs(motion.velocity(turn, 1.0)), turn) / (2.0 * np.pi)
    assert motion.mean_speed(1.0) == pytest.approx(mean, rel=1e-6)


@pytest.mark.prop
@given(sliders(), angles)
def test_side_thrust_is_the_tangent(motion: CrankSlider, angle: float) -> None:
    assert motion.side_thrust_ratio(angle) == pytest.approx(
        math.tan(motion.rod_angle(angle)), rel=1e-12, abs=1e-15
    )
    assert abs(motion.rod_angle(angle)) <= motion.greatest_rod_angle + 1e-15


@pytest.mark.prop
@given(sliders(), st.lists(angles, min_size=1, max_size=5))
def test_arrays_and_floats_agree(motion: CrankSlider, chosen: list[float]) -> None:
    array = np.array(chosen)
    for method in (motion.position, motion.position_slope, motion.position_curvature):
        assert method(array) == pytest.approx([method(angle) for angle in chosen], abs=1e-16)
    assert isinstance(motion.position(chosen[0]), float)
    assert not isinstance(motion.position(chosen[0]), np.generic)


def test_fields_may_be_samples() -> None:
    radii, rods = np.array([0.04, 0.042]), np.array([0.13, 0.14])
    many = CrankSlider(radii, rods, np.array([0.001, -0.001]))  # type: ignore[arg-type]
    one = CrankSlider(0.042, 0.14, -0.001)
    assert many.position(1.2)[1] == pytest.approx(one.position(1.2), rel=1e-15)  # type: ignore[index]
    peak = many.peak_speed(500.0)
    assert peak.down_speed[1] == pytest.approx(one.peak_speed(500.0).down_speed)  # type: ignore[index]
    assert many.dwell(0.002)[1] == pytest.approx(one.dwell(0.002))  # type: ignore[index]


def test_dwell_grows_with_rod_length() -> None:
    short, long = CrankSlider.from_stroke(0.08, 0.12), CrankSlider.from_stroke(0.08, 0.16)
    assert long.dwell(0.002) > short.dwell(0.002)
    assert long.dwell(0.0) == 0.0
    assert long.dwell(long.stroke) == pytest.approx(2.0 * math.pi)


@pytest.mark.parametrize(
    ("arguments", "field", "words"),
    [
        ((-0.04, 0.13, 0.0), "crank_radius", "-0.04 m; must be greater than 0 m"),
        ((0.04, math.nan, 0.0), "rod_length", "nan m"),
        ((0.04, math.inf, 0.0), "rod_length", "inf m"),
        ((0.04, 0.13, math.nan), "pin_offset", "must be a finite number"),
        ((0.08, 0.075, 0.0), "rod_length", "longer than crank radius plus pin offset (0.08 m)"),
        ((0.04, 0.05, -0.02), "rod_length", "(0.06 m)"),
    ],
)
def test_impossible_parts(arguments: tuple[float, float, float], field: str, words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        CrankSlider(*arguments)
    assert caught.value.field == field
    assert words in str(caught.value)


@pytest.mark.parametrize("position", [-1e-6, 0.0890, math.nan])
def test_position_outside_the_stroke(motion: CrankSlider, position: float) -> None:
    with pytest.raises(QuantityError, match=r"between 0 m and the stroke of 0\.0889 m"):
        motion.angle_going_down(position)


def test_offending_element_is_named(motion: CrankSlider) -> None:
    with pytest.raises(QuantityError, match=r"0\.2 m \(element 1 of 3\)"):
        motion.dwell(np.array([0.01, 0.2, 0.3]))


def test_pin_travel_matches_the_slider() -> None:
    motion = CrankSlider(0.04, 0.13, 0.002)
    assert pin_travel(0.04, 0.13, 0.002) == (motion.top_pin_height, motion.bottom_pin_height)
