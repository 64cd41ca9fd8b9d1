"""Lobes smoothed from lift tables against closed forms; timing, overlap, harmonics."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from headwright.errors import InputError
from headwright.physics import cam
from headwright.physics.cam_profiles import profile_lobe_lift, smooth_lobe

HEIGHT, HALF = 7.0e-3, math.pi
STEP = math.radians(5.0)
ANGLES = np.arange(-36, 37) * STEP
GRID = np.radians(np.arange(-178.0, 178.5, 0.5))


def closed(angles: np.ndarray, derivative: int) -> np.ndarray:
    """The polynomial of ``smooth_lobe`` and its derivatives, by numpy's own polynomials."""
    powers = np.zeros(15)
    powers[[0, 2, 6, 10, 14]] = np.array([16.0, -35.0, 35.0, -21.0, 5.0]) / 16.0
    curve = np.polynomial.Polynomial(powers)
    found = (curve.deriv(derivative) if derivative else curve)(angles / HALF)
    return HEIGHT * found / HALF**derivative


@pytest.mark.reference
@pytest.mark.parametrize(("derivative", "tolerance"), [(0, 5e-5), (1, 1e-3), (2, 0.012), (3, 0.2)])
def test_a_clean_table_gives_the_closed_form(derivative: int, tolerance: float) -> None:
    # Closed form; the largest error stands where its fourth derivative jumps, at the very ends.
    table = cam.smooth_lift_table(ANGLES, np.round(smooth_lobe(HEIGHT, HALF, ANGLES), 7))
    truth = closed(GRID, derivative)
    assert np.abs(table.lobe.lift(GRID, derivative) - truth).max() < tolerance * np.abs(truth).max()
    assert table.rms_residual < 1e-7


@pytest.mark.reference
def test_a_finer_table_converges() -> None:
    # The closed form's fourth derivative jumps at its ends, where the spline's is nought: the
    # acceleration's error falls with nearly the square of the step.
    errors = []
    for step in (10.0, 5.0, 2.5):
        angles = np.radians(np.arange(-180.0, 180.0 + step / 2, step))
        table = cam.smooth_lift_table(angles, smooth_lobe(HEIGHT, HALF, angles))
        errors.append(np.abs(table.lobe.lift(GRID, 2) - closed(GRID, 2)).max())
    assert errors[0] / errors[1] > 3.0
    assert errors[1] / errors[2] > 3.0


@pytest.mark.reference
@pytest.mark.parametrize("step", [5.0, 2.0, 1.0])
@pytest.mark.parametrize("choice", ["cross_validation", "uncertainty"])
def test_noise_is_smoothed_away_and_its_spread_told(step: float, choice: cam.Smoothing) -> None:
    # Truth known; ten tables with errors of 5 um. Differences of the readings would err by more
    # than the acceleration itself; the curve errs by a few per cent, and the told spread covers it.
    angles = np.radians(np.arange(-180.0, 180.0 + step / 2, step))
    generator = np.random.default_rng(7)
    inside = np.abs(GRID) < 0.85 * HALF
    truth = closed(GRID, 2)
    scaled, worst = [], []
    for _ in range(4):
        noisy = smooth_lobe(HEIGHT, HALF, angles) + generator.normal(0.0, 5e-6, angles.size)
        table = cam.smooth_lift_table(angles, noisy, 5e-6, choice)
        error = table.lobe.lift(GRID, 2) - truth
        worst.append(np.abs(error[inside]).max() / np.abs(truth).max())
        scaled.append(float(np.sqrt(np.mean((error / table.spread(GRID, 2))[inside] ** 2))))
        assert table.rms_residual == pytest.approx(5e-6, rel=0.4)
    assert np.median(worst) < 0.09
    assert 0.2 < np.median(scaled) < 2.0
    raw = np.diff(noisy, 2) / math.radians(step) ** 2
    if step == 1.0:
        assert np.abs(raw - closed(angles[1:-1], 2)).max() > np.abs(truth).max()


@pytest.mark.prop
def test_beyond_its_ends_the_lobe_is_the_base_circle() -> None:
    table = cam.smooth_lift_table(ANGLES, smooth_lobe(HEIGHT, HALF, ANGLES))
    beyond = np.array([table.lobe.start - 1.0, table.lobe.start, table.lobe.end, 9.0])
    for derivative in range(4):
        assert (table.lobe.lift(beyond, derivative) == 0.0).all()
    near = table.lobe.start + 1e-4
    assert abs(float(table.lobe.lift(near, 2)[0])) < 1e-6
    moved = table.lobe.moved(0.5).scaled(2.0)
    assert float(moved.lift(0.5)[0]) == pytest.approx(2.0 * float(table.lobe.lift(0.0)[0]))


@pytest.mark.prop
def test_a_table_cut_short_is_carried_to_the_base_circle() -> None:
    keep = slice(8, -8)
    table = cam.smooth_lift_table(ANGLES[keep], smooth_lobe(HEIGHT, HALF, ANGLES[keep]))
    assert table.lobe.start < ANGLES[8] - STEP
    assert float(table.lobe.lift(ANGLES[20])[0]) == pytest.approx(
        float(smooth_lobe(HEIGHT, HALF, ANGLES[20])), abs=3e-6
    )


@pytest.mark.reference
@pytest.mark.parametrize("level", [0.1e-3, 0.3e-3, 1.27e-3, 5e-3])
def test_crossings(level: float) -> None:
    # Root of the closed form, found by scipy.
    table = cam.smooth_lift_table(ANGLES, smooth_lobe(HEIGHT, HALF, ANGLES))
    root = brentq(lambda x: float(smooth_lobe(HEIGHT, HALF, x)) - level, 0.0, HALF)
    found = cam.lift_crossings(table.lobe, level)
    assert found is not None
    assert found == pytest.approx((-root, root), abs=math.radians(0.02))
    assert cam.lift_crossings(table.lobe, 8e-3) is None


@pytest.mark.reference
def test_events_of_the_trade() -> None:
    # A 290 degree cam on a 105 degree centreline opens at 40 and closes at 70; on 109 for the
    # exhaust it opens at 74 and closes at 36: sums by hand.
    half = math.radians(145.0)
    for side, centre, expected in (
        ("intake", 105.0, (40, 70, 290)),
        ("exhaust", 109.0, (74, 36, 290)),
    ):
        found = cam.lobe_events((-half, half), math.radians(centre), side)  # type: ignore[arg-type]
        assert [math.degrees(one) for one in found] == pytest.approx(expected)


@pytest.mark.reference
def test_overlap_of_two_straight_flanks() -> None:
    # Two triangles of height 1 and foot 2 that cross at half height: area 1/4 x base 1.
    angles = np.linspace(0.0, 4.0, 40001)
    first = np.maximum(1.0 - np.abs(angles - 1.0), 0.0)
    second = np.maximum(1.0 - np.abs(angles - 2.0), 0.0)
    found = cam.overlap_area(first, second, float(angles[1]))
    assert found == pytest.approx(0.25, rel=1e-4)


@pytest.mark.reference
def test_harmonics_of_a_known_sum() -> None:
    phase = np.linspace(0.0, 2.0 * math.pi, 1440, endpoint=False)
    lift = 3.0 + 2.0 * np.cos(phase) + 0.25 * np.sin(7.0 * phase)
    found = cam.lift_harmonics(lift, 10)
    expected = np.zeros(10)
    expected[[0, 6]] = 2.0, 0.25
    assert found == pytest.approx(expected, abs=1e-12)


@pytest.mark.reference
def test_a_cycloidal_table() -> None:
    # Norton, cycloidal rise: greatest acceleration 2 pi h / span^2 (from memory, recomputed).
    span = math.radians(140.0)
    angles = np.radians(np.arange(-140.0, 141.0, 2.0))
    table = cam.smooth_lift_table(angles, profile_lobe_lift("cycloidal", 8e-3, span, angles))
    grid = table.lobe.grid()
    peak = float(np.abs(table.lobe.lift(grid, 2)).max())
    assert peak == pytest.approx(2.0 * math.pi * 8e-3 / span**2, rel=0.01)


@pytest.mark.parametrize(
    ("angles", "lifts", "told"),
    [
        (ANGLES[:5], np.ones(5), "12 or more"),
        (ANGLES, np.ones(3), "do not pair"),
        (ANGLES[::-1], smooth_lobe(HEIGHT, HALF, ANGLES), "must rise"),
        (ANGLES, np.full(73, np.nan), "finite"),
        (ANGLES, np.zeros(73), "above nought"),
    ],
)
def test_bad_tables_are_refused(angles: np.ndarray, lifts: np.ndarray, told: str) -> None:
    with pytest.raises(InputError, match=told):
        cam.smooth_lift_table(angles, lifts)
    with pytest.raises(InputError, match="state the readings' uncertainty"):
        cam.smooth_lift_table(ANGLES, smooth_lobe(HEIGHT, HALF, ANGLES), None, "uncertainty")
