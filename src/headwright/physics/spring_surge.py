"""Surge: the coils of a valve spring swinging at harmonics of the cam.

Source: A. M. Wahl, *Mechanical Springs*, ch. 13 (from memory); the amplitude is derived here. A
uniform spring between a fixed seat and a retainer that moves by ``a cos(w t)`` is a rod; its first
mode, ``sin(pi x / L)``, is driven by 2/pi of the retainer's motion. At resonance its amplitude is

    q = (2 / pi) a / (2 zeta)

and the load at the ends swings by ``pi k q = k a / zeta``: the spring answers as if the harmonic
were ``1 / zeta`` times as large.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.arrays import Array, Value

__all__ = ["SURGE_DAMPING", "resonant_speeds", "surge_load", "surge_order"]

SURGE_DAMPING = 0.01
"""Share of critical damping of a plain wire spring; flat-wire dampers give several times as much.
Own judgement, no source."""


def surge_order(frequency: Value, crank_speed: Value) -> Value:
    """First surge frequency as a multiple of cam speed [-].

    Args:
        frequency: first natural frequency of the spring [Hz].
        crank_speed: [rad/s]; the cam turns at half of it.
    """
    return frequency * 4.0 * math.pi / crank_speed


def resonant_speeds(frequency: float, orders: Array) -> Array:
    """Crank speeds at which harmonics of the cam meet the first surge frequency [rad/s].

    Args:
        frequency: first natural frequency of the spring [Hz].
        orders: of cam speed [-].
    """
    return np.asarray(4.0 * math.pi * frequency / np.asarray(orders, dtype=float))


def surge_load(rate: Value, harmonic: Value, damping: float = SURGE_DAMPING) -> Value:
    """Amplitude of a spring's end load at resonance [N]: ``k a / zeta``.

    Args:
        rate: [N/m].
        harmonic: amplitude of the lift's harmonic that meets the surge frequency [m].
        damping: share of critical damping [-].

    Validity: small swings; clashing coils and dampers keep it lower.
    """
    return rate * harmonic / damping
