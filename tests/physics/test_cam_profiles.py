"""Textbook cam motions against their printed coefficients and against differences."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.errors import InputError
from headwright.physics.cam_profiles import PROFILES, Profile, profile_lobe_lift, profile_rise

GRID = np.linspace(0.0, 1.0, 200_001)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("profile", "velocity", "acceleration", "jerk"),
    [
        # Greatest values for unit rise over unit angle: Norton, Cam Design and Manufacturing
        # Handbook, table of peak factors (from memory; the closed forms recomputed).
        ("harmonic", math.pi / 2.0, math.pi**2 / 2.0, math.pi**3 / 2.0),
        ("cycloidal", 2.0, 2.0 * math.pi, 4.0 * math.pi**2),
        ("345", 1.875, 10.0 / math.sqrt(3.0), 60.0),
        ("4567", 2.1875, 7.5132, 52.5),
    ],
)
def test_peaks(profile: Profile, velocity: float, acceleration: float, jerk: float) -> None:
    peaks = [np.abs(profile_rise(profile, 1.0, 1.0, GRID, order)).max() for order in (1, 2, 3)]
    assert peaks == pytest.approx([velocity, acceleration, jerk], rel=2e-5)


@pytest.mark.reference
@pytest.mark.parametrize("profile", PROFILES)
def test_derivatives_are_those_of_the_lift(profile: Profile) -> None:
    # Against central differences of the order below.
    height, span = 0.009, 1.4
    angles = np.linspace(0.05, 1.35, 20001)
    for order in (1, 2, 3):
        below = profile_rise(profile, height, span, angles, order - 1)
        slopes = np.gradient(below, angles)[2:-2]
        exact = profile_rise(profile, height, span, angles, order)[2:-2]
        assert slopes == pytest.approx(exact, abs=2e-6 * np.abs(exact).max())


@pytest.mark.prop
@pytest.mark.parametrize("profile", PROFILES)
def test_ends_and_symmetry(profile: Profile) -> None:
    assert profile_rise(profile, 2.0, 1.0, np.array([-1.0, 0.0, 0.5, 1.0, 3.0])) == pytest.approx(
        [0.0, 0.0, 1.0, 2.0, 2.0]
    )
    where = np.array([-0.7, 0.7])
    even = profile_lobe_lift(profile, 1.0, 1.2, where)
    odd = profile_lobe_lift(profile, 1.0, 1.2, where, 1)
    assert even[0] == pytest.approx(even[1])
    assert odd[0] == pytest.approx(-odd[1])
    assert odd[0] > 0.0


def test_what_cannot_be() -> None:
    with pytest.raises(InputError, match="span"):
        profile_rise("345", 1.0, 0.0, 0.5)
    with pytest.raises(InputError, match="derivative"):
        profile_rise("345", 1.0, 1.0, 0.5, 4)
    with pytest.raises(InputError, match="none of"):
        profile_rise("square", 1.0, 1.0, 0.5)  # type: ignore[arg-type]
