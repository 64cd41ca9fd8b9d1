"""Order of accuracy on smooth exact solutions, and that smooth waves keep their shape."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.simulation.network import GasProfile

from . import simple_waves
from .rigs import AIR, AIR_CONSTANT, SCALED, carry, from_density, tube

pytestmark = pytest.mark.reference

GRIDS = (100, 200, 400, 800)


def average(function, edges, points=8):
    """Cell averages by Gauss-Legendre quadrature, exact to round-off for these functions."""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    centres = 0.5 * (edges[1:] + edges[:-1])
    half = 0.5 * np.diff(edges)
    places = centres[:, None] + half[:, None] * nodes[None, :]
    return (function(places.ravel()).reshape(places.shape) * weights).sum(axis=1) / 2.0


def slope(errors):
    return -float(np.polyfit(np.log(GRIDS), np.log(errors), 1)[0])


def carried_bump(cells, elapsed=0.3):
    """A bell of density in a stream of uniform pressure: the exact solution only moves."""
    edges = np.linspace(0.0, 1.0, cells + 1)

    def bell(place):
        return 1.0 + 0.5 * np.exp(-(((place - 0.35) / 0.08) ** 2))

    def fill(distance):
        density = average(bell, edges)
        flat = np.ones_like(distance)
        return from_density(density, flat, flat)

    profile = carry(tube(fill, cells), elapsed).profiles["tube"]
    exact = average(lambda x: simple_waves.carried_density(x, elapsed, bell, 1.0), edges)
    return float(np.abs(profile.density - exact).mean())


def test_slope_for_carried_density():
    # A second-order scheme in the L1 norm; 1.9 leaves room for the limiter's clipping of the
    # crest, which costs order only there.
    errors = [carried_bump(cells) for cells in GRIDS]
    assert slope(errors) >= 1.9


def simple_wave(cells, height=60.0):
    """A right-running wave of finite amplitude in air, at half its breaking time."""
    pressure, temperature, length = 1e5, 300.0, 3.0
    density = pressure / (AIR_CONSTANT * temperature)
    sound = math.sqrt(1.4 * pressure / density)
    edges = np.linspace(0.0, length, cells + 1)

    def start(place):
        return height * np.exp(-(((place - 1.0) / 0.25) ** 2))

    def states(velocity):
        return simple_waves.state_from_velocity(velocity, density, pressure)

    def fill(distance):
        # Averages of the conserved quantities, so that the start itself is second order or better.
        rho = average(lambda x: states(start(x))[0], edges)
        momentum = average(lambda x: states(start(x))[0] * start(x), edges)
        energy = average(
            lambda x: states(start(x))[1] / 0.4 + 0.5 * states(start(x))[0] * start(x) ** 2, edges
        )
        velocity = momentum / rho
        inner = (energy - 0.5 * momentum * velocity) * 0.4
        return from_density(rho, velocity, inner, AIR_CONSTANT)

    steepest = abs(height) / 0.25 * math.sqrt(2.0) * math.exp(-0.5)
    elapsed = 0.5 * simple_waves.breaking_time(steepest)
    profile = carry(tube(fill, cells, AIR, length, 0.04), elapsed).profiles["tube"]

    def end(place):
        return states(simple_waves.wave_at(place, elapsed, start, sound))[0]

    exact = average(end, edges)
    return float(np.abs(profile.density - exact).mean())


def test_slope_for_a_simple_wave():
    errors = [simple_wave(cells) for cells in GRIDS]
    assert slope(errors) >= 1.9


@pytest.mark.parametrize("height", [-50.0, 103.53])
def test_slope_for_other_amplitudes(height):
    """An expansion wave, and a compression of p/p0 = 1.5."""
    errors = [simple_wave(cells, height) for cells in GRIDS]
    assert slope(errors) >= 1.9


def sine(cells_per_wave, height=0.2, waves=8, travel=16.0):
    """A sine of density carried over ``travel`` wavelengths; height and shape of what is left.

    Returns the height kept, and the root mean square of everything that is not the sine over the
    height (a limiter that clips crests or squares waves off shows here).
    """
    cells = cells_per_wave * (waves + int(travel))
    length = float(waves) + travel

    def wave(place):
        return 1.0 + height * np.sin(2.0 * np.pi * place)

    edges = np.linspace(0.0, length, cells + 1)

    def fill(distance):
        flat = np.ones_like(distance)
        return from_density(average(wave, edges), flat, flat)

    profile = carry(tube(fill, cells, SCALED, length), travel).profiles["tube"]
    # Whole waves that the states beyond the ends have not reached.
    inside = (profile.distance > travel + 1.0) & (profile.distance < length - 2.0)
    place, density = profile.distance[inside], profile.density[inside] - 1.0
    one = np.sin(2.0 * np.pi * (place - travel))
    two = np.cos(2.0 * np.pi * (place - travel))
    amplitude = 2.0 * np.array([np.mean(density * one), np.mean(density * two)])
    rest = density - amplitude[0] * one - amplitude[1] * two
    kept = float(np.hypot(*amplitude)) / height
    return kept, float(np.sqrt(np.mean(rest**2))) / height


@pytest.mark.parametrize(
    ("cells", "height", "least_kept", "most_rest"),
    [
        # PyClaw 5.14 (Roe) on the same grids over the same 16 wavelengths, measured, height kept
        # and rest:    MC limiter        superbee
        # 20 cells     0.68, 0.043       0.96, 0.139
        # 26 cells     0.85, 0.050       1.00, 0.087
        # 40 cells     0.96, 0.042       1.02, 0.037
        # Ours must keep more height than MC, not add to it, and leave less than MC's clipped
        # crests and far less than superbee's squared waves; at +-50 % on 20 cells, where the
        # compressive branch is in force, its height stays within 1 %.
        (20, 0.05, 0.75, 0.030),
        (20, 0.2, 0.83, 0.045),
        (26, 0.2, 0.87, 0.030),
        (40, 0.2, 0.955, 0.022),
        (20, 0.5, 0.95, 0.060),
    ],
)
def test_sine_keeps_its_height_and_shape(cells, height, least_kept, most_rest):
    """Settings as in the Sod check: the sharp contacts there are not bought with squared waves."""
    kept, rest = sine(cells, height)
    assert least_kept <= kept <= (1.0 if height < 0.5 else 1.01)
    assert rest <= most_rest


# p/p0, particle velocity and crest speed for air at 300 K: Riemann invariants (Courant &
# Friedrichs ch. III), recomputed to the digits shown.
CRESTS = (
    (1.1, 23.800, 375.78),
    (1.2, 45.812, 402.19),
    (1.5, 103.530, 471.46),
    (0.8, -54.470, 281.86),
)


@pytest.mark.parametrize(("ratio", "velocity", "crest"), CRESTS, ids=str)
@pytest.mark.parametrize("direction", [1.0, -1.0])
def test_crest_speed(ratio, velocity, crest, direction):
    """The crest of a bell-shaped wave travels at u + a, and carries the right velocity."""
    pressure, temperature, length, cells = 1e5, 300.0, 4.0, 800
    density = pressure / (AIR_CONSTANT * temperature)
    sound = math.sqrt(1.4 * pressure / density)
    assert simple_waves.wave_velocity(ratio, sound) == pytest.approx(velocity, abs=2e-3)
    begin = 1.2 if direction > 0 else length - 1.2

    def fill(distance):
        bell = np.exp(-(((distance - begin) / 0.3) ** 2))
        flow = direction * velocity * bell
        rho, push = simple_waves.state_from_velocity(flow, density, pressure, 1.4, direction)
        return GasProfile(push, push / (rho * AIR_CONSTANT), flow)

    steepest = abs(velocity) / 0.3 * math.sqrt(2.0) * math.exp(-0.5)
    elapsed = min(1.2 / crest, 0.7 * simple_waves.breaking_time(steepest))
    profile = carry(tube(fill, cells, AIR, length, 0.04), elapsed).profiles["tube"]
    deviation = np.abs(profile.pressure - pressure)
    top = int(np.argmax(deviation))
    # Crest from a parabola through the logarithms around it (a bell is one in the logarithm).
    near = slice(top - 4, top + 5)
    fit = np.polyfit(profile.distance[near] - profile.distance[top], np.log(deviation[near]), 2)
    place = profile.distance[top] - fit[1] / (2.0 * fit[0])
    travelled = direction * (place - begin)
    # 0.1 % of the way is 0.25 of a cell here; the exact crest is level, so the parabola is the
    # limit of what can be read.
    assert travelled == pytest.approx(crest * elapsed, rel=1.5e-3, abs=0.3 * length / cells)
    assert profile.pressure[top] == pytest.approx(ratio * pressure, rel=1e-3)
    assert direction * profile.velocity[top] == pytest.approx(velocity, rel=6e-3)
