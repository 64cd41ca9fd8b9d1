"""Linear acoustics of pipes: steps, junctions, ends, resonances.

Sources: L. E. Kinsler et al., *Fundamentals of Acoustics*, ch. 10 (steps, branches, resonators);
H. Levine & J. Schwinger, "On the radiation of sound from an unflanged circular pipe", Phys. Rev. 73
(1948) 383 (0.6133 a, and the reflection modulus); Y. Nomura et al., J. Phys. Soc. Japan 15 (1960)
510, and A. N. Norris & I. C. Sheng, J. Sound Vib. 135 (1989) 85 (0.8217 a in an infinite flange).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import i1, j1, k1, y1

UNFLANGED = 0.6133
"""End correction of a thin-walled pipe end over its inner radius, low frequency limit."""
FLANGED = 0.8217
"""End correction of a pipe end in an infinite baffle over its radius, low frequency limit."""


def step_reflection(area_before: float, area_after: float) -> float:
    """Reflected over incident pressure at a step of cross section."""
    return (area_before - area_after) / (area_before + area_after)


def junction_reflection(areas: Sequence[float], arriving: int = 0) -> float:
    """Reflected over incident pressure in pipe ``arriving`` where several pipes meet.

    One pressure at the joint and continuity: ``R = (2 A_i - sum A) / sum A``. For equal pipes
    this is ``(2 - n) / n``. The pressure sent into every other pipe is ``1 + R``.
    """
    return (2.0 * areas[arriving] - sum(areas)) / sum(areas)


def step_with_gas(
    area_before: float, impedance_before: float, area_after: float, impedance_after: float
) -> float:
    """Reflection at a step where the gas changes too; impedances are rho times a [Pa s/m]."""
    one = area_before / impedance_before
    two = area_after / impedance_after
    return (one - two) / (one + two)


def quarter_wave(length: float, sound_speed: float, order: int = 1) -> float:
    """Resonance [Hz] of a pipe closed at one end, open at the other, ``order`` = 1, 2, 3..."""
    return (2 * order - 1) * sound_speed / (4.0 * length)


def half_wave(length: float, sound_speed: float, order: int = 1) -> float:
    """Resonance [Hz] of a pipe open (or closed) at both ends."""
    return order * sound_speed / (2.0 * length)


def stepped_quarter_wave(
    closed_length: float,
    closed_area: float,
    open_length: float,
    open_area: float,
    sound_speed: float,
) -> float:
    """First resonance [Hz] of two pipes in line, the first closed at its far end, the second open.

    ``A1 tan(k L1) = A2 cot(k L2)`` (continuity of pressure and volume flow at the step).
    """

    def mismatch(wave_number: float) -> float:
        return closed_area * math.sin(wave_number * closed_length) * math.sin(
            wave_number * open_length
        ) - open_area * math.cos(wave_number * closed_length) * math.cos(wave_number * open_length)

    longest = closed_length + open_length
    return float(brentq(mismatch, 1e-9, math.pi / longest * 0.999) * sound_speed / (2 * math.pi))


def cone_resonance(
    length: float, closed_diameter: float, open_diameter: float, sound_speed: float
) -> float:
    """First resonance [Hz] of a conical pipe, closed at one end and open at the other.

    Spherical waves, ``p = B sin(k (r + e)) / r`` measured from the apex, with ``dp/dr = 0`` at
    the closed end and ``p = 0`` at the open one: ``tan(k L) = -k r_closed`` with the apex beyond
    the closed end, or ``tan(k L) = +k r_closed`` when the pipe narrows to its open end
    (Kinsler et al., conical waveguides; here worked out from the spherical wave equation).
    """
    if math.isclose(closed_diameter, open_diameter):
        return quarter_wave(length, sound_speed)
    apex = closed_diameter * length / (open_diameter - closed_diameter)

    def mismatch(wave_number: float) -> float:
        return math.sin(wave_number * length) + wave_number * apex * math.cos(wave_number * length)

    steps = 2000
    top = 1.5 * math.pi / length
    previous = 1e-6 / length
    for index in range(1, steps + 1):
        value = top * index / steps
        if mismatch(previous) * mismatch(value) < 0.0:
            return float(brentq(mismatch, previous, value) * sound_speed / (2.0 * math.pi))
        previous = value
    msg = "no resonance found"
    raise ValueError(msg)


def helmholtz(volume: float, neck_length: float, neck_area: float, sound_speed: float) -> float:
    """Lumped resonance [Hz] of a vessel with a neck."""
    return sound_speed / (2.0 * math.pi) * math.sqrt(neck_area / (volume * neck_length))


def vessel_and_pipe(
    volume: float, pipe_length: float, pipe_area: float, sound_speed: float
) -> float:
    """First resonance [Hz] of a vessel on a pipe open at its far end, waves in the pipe kept.

    ``(A / V k) cot... : k V tan(k L) = A`` (vessel lumped, one-dimensional waves in the pipe).
    """

    def mismatch(wave_number: float) -> float:
        return wave_number * volume * math.sin(wave_number * pipe_length) - pipe_area * math.cos(
            wave_number * pipe_length
        )

    top = math.pi / (2.0 * pipe_length)
    return float(brentq(mismatch, 1e-9, top) * sound_speed / (2.0 * math.pi))


def unflanged_end(wave_number_radius: float) -> tuple[float, float]:
    """Reflection modulus and end correction over radius of an unflanged end (Levine-Schwinger).

    The integrals of the paper are evaluated as printed (eqs VI.4 and VI.5), valid for
    0 < ka < 3.83::

        |R|   = exp(-2 ka/pi  int_0^ka atan(-J1/N1)(x) / (x sqrt(ka^2 - x^2)) dx)
        l / a = 1/pi int_0^ka log(pi J1 sqrt(J1^2 + N1^2)) / (x sqrt(ka^2 - x^2)) dx
              + 1/pi int_0^inf log(1 / (2 I1 K1)) / (x sqrt(x^2 + ka^2)) dx

    """
    ka = wave_number_radius

    def sine(angle: float) -> float:
        # x = ka sin(angle) takes the square-root singularity away.
        value = ka * math.sin(angle)
        return math.atan2(float(j1(value)), -float(y1(value))) / value

    loss, _ = quad(sine, 0.0, math.pi / 2, limit=200)
    modulus = math.exp(-2.0 * ka / math.pi * loss)

    def near(angle: float) -> float:
        value = ka * math.sin(angle)
        first = float(j1(value))
        second = float(y1(value))
        return math.log(math.pi * first * math.sqrt(first**2 + second**2)) / value

    def far(value: float) -> float:
        product = 2.0 * float(i1(value)) * float(k1(value))
        return -math.log(product) / (value * math.sqrt(value * value + ka * ka))

    inner, _ = quad(near, 1e-9, math.pi / 2, limit=200)
    outer, _ = quad(far, 1e-9, 50.0, limit=400)
    tail, _ = quad(
        # I1 K1 -> (1 - 3/(8 x^2)) / (2 x) beyond the reach of the library functions.
        lambda value: (math.log(value) + 3.0 / (8.0 * value * value)) / value**2,
        50.0,
        math.inf,
    )
    return modulus, (inner + outer + tail) / math.pi


def unflanged_modulus_low(wave_number_radius: float) -> float:
    """Low-frequency expansion of the reflection modulus in Levine & Schwinger (ka < 1)."""
    ka = wave_number_radius
    series = 1.0 + ka**4 / 6.0 * (math.log(1.0 / (1.7811 * ka)) + 19.0 / 12.0)
    return math.exp(-0.5 * ka * ka) * series
