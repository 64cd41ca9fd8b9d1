"""The HLLC flux: consistency, symmetry, exact contacts, upwinding."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.kernels.flux import contact_wave

GAMMA = 1.4
densities = st.floats(0.01, 50.0)
pressures = st.floats(1e3, 1e7)
machs = st.floats(-3.0, 3.0)


def flux(left, right):
    """Mass, momentum and energy flux between two states (density, velocity, pressure)."""
    sounds = [math.sqrt(GAMMA * p / rho) for rho, _, p in (left, right)]
    _, rho, u, p, s, a, ratio, s_star, p_star, _ = contact_wave(*left, sounds[0], *right, sounds[1])
    energy = p / (GAMMA - 1.0) + 0.5 * rho * u * u
    mass = a * ratio
    return (
        mass,
        mass * s_star + p_star,
        ratio * ((s - u) * energy + (s_star - u) * (a * s_star + p)) + s_star * p_star,
    )


def exact(rho, u, p):
    return (rho * u, rho * u * u + p, u * (GAMMA / (GAMMA - 1.0) * p + 0.5 * rho * u * u))


def close(got, expected, rho, u, p):
    """Equal to round-off of the largest terms that go into each flux."""
    c = math.sqrt(GAMMA * p / rho)
    fast = abs(u) + c
    scales = (rho * fast, rho * fast**2, rho * fast**3)
    for one, other, scale in zip(got, expected, scales, strict=True):
        assert one == pytest.approx(other, abs=1e-12 * scale)


@pytest.mark.prop
@given(densities, machs, pressures)
def test_equal_states_give_their_own_flux(rho, mach, p):
    u = mach * math.sqrt(GAMMA * p / rho)
    close(flux((rho, u, p), (rho, u, p)), exact(rho, u, p), rho, u, p)


@pytest.mark.prop
@given(densities, machs, pressures, densities, machs, pressures)
def test_mirror_image(rho_l, mach_l, p_l, rho_r, mach_r, p_r):
    left = (rho_l, mach_l * math.sqrt(GAMMA * p_l / rho_l), p_l)
    right = (rho_r, mach_r * math.sqrt(GAMMA * p_r / rho_r), p_r)
    mass, momentum, energy = flux(left, right)
    mirrored = flux((right[0], -right[1], right[2]), (left[0], -left[1], left[2]))
    assert mirrored == pytest.approx((-mass, momentum, -energy), rel=1e-9, abs=1e-9)


@pytest.mark.prop
@given(densities, densities, pressures)
def test_a_contact_at_rest_is_kept_exactly(rho_l, rho_r, p):
    assert flux((rho_l, 0.0, p), (rho_r, 0.0, p)) == (0.0, p, 0.0)


@pytest.mark.prop
@given(densities, densities, pressures, st.floats(-0.9, 0.9))
def test_a_moving_contact_carries_the_upwind_density(rho_l, rho_r, p, mach):
    u = mach * math.sqrt(GAMMA * p / max(rho_l, rho_r))
    upwind = rho_l if u >= 0.0 else rho_r
    close(flux((rho_l, u, p), (rho_r, u, p)), exact(upwind, u, p), max(rho_l, rho_r), u, p)


def test_supersonic_flow_is_upwind():
    left, right = (1.0, 1200.0, 1e5), (0.8, 1300.0, 0.9e5)
    close(flux(left, right), exact(*left), *left)
    left, right = (1.0, -1200.0, 1e5), (0.8, -1300.0, 0.9e5)
    close(flux(left, right), exact(*right), *right)
