"""Breathing at a glance: inlet Mach index, port speeds and pipe resonance.

Quick cross-checks for the full gas dynamics, never a replacement.

Sources: C. F. Taylor, *The Internal-Combustion Engine in Theory and Practice*, vol. 1, ch. 6, and
J. C. Livengood and J. D. Stanitz, NACA TN 915 (1943), for the Mach index; quarter-wave and
Helmholtz formulas: acoustics. Engelman's tuning: ASME 73-WA/DGP-2 (1973). All from memory.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "engelman_tuned_speed",
    "helmholtz_frequency",
    "inlet_mach_index",
    "mean_port_velocity",
    "quarter_wave_frequency",
    "speed_for_mach_index",
    "tuned_speed",
]


def inlet_mach_index(
    bore: Value,
    valve_diameter: Value,
    mean_piston_speed: Value,
    mean_flow_coefficient: Value,
    sound_speed: Value,
    valves: Value = 1.0,
) -> Value:
    """Inlet Mach index Z [-]: ``(B / D)**2 S_p / (n C_i a)``.

    Volumetric efficiency holds up to Z of about 0.5 to 0.6 and falls beyond.

    Args:
        bore: [m].
        valve_diameter: head diameter of an inlet valve [m].
        mean_piston_speed: [m/s].
        mean_flow_coefficient: mean over the open period, referred to the head area [-].
        sound_speed: at inlet stagnation temperature [m/s].
        valves: inlet valves per cylinder [-].

    >>> round(inlet_mach_index(0.1016, 0.0508, 20.74333, 0.35, 343.0), 4)
    0.6912
    """
    return (
        (bore / valve_diameter) ** 2
        * mean_piston_speed
        / (valves * mean_flow_coefficient * sound_speed)
    )


def speed_for_mach_index(
    mach_index: Value,
    bore: Value,
    stroke: Value,
    valve_diameter: Value,
    mean_flow_coefficient: Value,
    sound_speed: Value,
    valves: Value = 1.0,
) -> Value:
    """Crank speed at which the Mach index reaches a value [rad/s].

    ``w = pi S_p / S`` with ``S_p = Z n C_i a (D / B)**2``

    Args:
        mach_index: Z [-].
        bore: [m].
        stroke: [m].
        valve_diameter: [m].
        mean_flow_coefficient: [-].
        sound_speed: [m/s].
        valves: inlet valves per cylinder [-].
    """
    piston_speed = (
        mach_index * valves * mean_flow_coefficient * sound_speed * (valve_diameter / bore) ** 2
    )
    return math.pi * piston_speed / stroke


def mean_port_velocity(bore: Value, port_area: Value, mean_piston_speed: Value) -> Value:
    """Mean velocity in a port during the stroke, incompressible [m/s]: ``S_p A_p / A``.

    Args:
        bore: [m].
        port_area: [m2].
        mean_piston_speed: [m/s].
    """
    return mean_piston_speed * math.pi / 4.0 * bore**2 / port_area


def quarter_wave_frequency(length: Value, sound_speed: Value) -> Value:
    """Lowest resonance of a pipe closed at one end [Hz]: ``a / (4 L)``.

    Args:
        length: with end correction [m].
        sound_speed: [m/s].
    """
    return sound_speed / (4.0 * length)


def tuned_speed(frequency: Value, order: Value) -> Value:
    """Crank speed of a four-stroke at which a resonance is its given order [rad/s].

    ``w = 4 pi f / q``: q pulses per cycle of two revolutions.

    Args:
        frequency: [Hz].
        order: resonance cycles per engine cycle [-]; 3 to 5 are the useful ones.
    """
    return 4.0 * math.pi * frequency / order


def helmholtz_frequency(
    volume: Value, neck_area: Value, neck_length: Value, sound_speed: Value
) -> Value:
    """Resonance of a vessel with a neck [Hz]: ``a / (2 pi) sqrt(A / (L V))``.

    Args:
        volume: [m3].
        neck_area: [m2].
        neck_length: with end corrections [m].
        sound_speed: [m/s].
    """
    frequency: Value = sound_speed / (2.0 * math.pi) * np.sqrt(neck_area / (neck_length * volume))
    return frequency


def engelman_tuned_speed(
    swept_volume: Value,
    compression_ratio: Value,
    pipe_area: Value,
    pipe_length: Value,
    sound_speed: Value,
) -> Value:
    """Crank speed of best ram after Engelman [rad/s].

    The pipe and half the swept volume, ``V_d / 2 (r + 1) / (r - 1)``, as a Helmholtz resonator
    at 2.1 times the frequency of the revolutions.

    Args:
        swept_volume: of one cylinder [m3].
        compression_ratio: [-].
        pipe_area: [m2].
        pipe_length: [m].
        sound_speed: [m/s].
    """
    volume = 0.5 * swept_volume * (compression_ratio + 1.0) / (compression_ratio - 1.0)
    frequency = helmholtz_frequency(volume, pipe_area, pipe_length, sound_speed)
    return 2.0 * math.pi * frequency / 2.1
