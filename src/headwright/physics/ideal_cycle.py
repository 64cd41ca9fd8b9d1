"""Ideal engine cycles: the ceilings no real engine reaches, and tests for models.

Source: Heywood, *Internal Combustion Engine Fundamentals*, ch. 5 and eq. 6.2 (from memory);
closed forms derived again for the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

from headwright.physics.arrays import Value

__all__ = [
    "OttoCycle",
    "diesel_efficiency",
    "dual_efficiency",
    "ideal_volumetric_efficiency",
    "otto_cycle",
    "otto_efficiency",
]


def otto_efficiency(compression_ratio: Value, heat_ratio: Value = 1.4) -> Value:
    """Efficiency of the constant-volume cycle [-]: ``1 - r**(1 - g)``.

    Args:
        compression_ratio: [-], above 1.
        heat_ratio: [-].

    >>> round(otto_efficiency(10.0), 6)
    0.601893
    """
    return 1.0 - compression_ratio ** (1.0 - heat_ratio)


def diesel_efficiency(
    compression_ratio: Value, cutoff_ratio: Value, heat_ratio: Value = 1.4
) -> Value:
    """Efficiency of the constant-pressure cycle [-].

    ``1 - r**(1 - g) (b**g - 1) / (g (b - 1))``

    Args:
        compression_ratio: [-].
        cutoff_ratio: b, volume after over before heat is added [-], above 1.
        heat_ratio: [-].
    """
    return dual_efficiency(compression_ratio, 1.0, cutoff_ratio, heat_ratio)


def dual_efficiency(
    compression_ratio: Value,
    pressure_ratio: Value,
    cutoff_ratio: Value,
    heat_ratio: Value = 1.4,
) -> Value:
    """Efficiency of the limited-pressure cycle [-].

    ``1 - r**(1 - g) (a b**g - 1) / (a g (b - 1) + a - 1)``

    Args:
        compression_ratio: [-].
        pressure_ratio: a, pressure rise at constant volume [-].
        cutoff_ratio: b, volume growth at constant pressure [-].
        heat_ratio: [-].

    >>> round(dual_efficiency(15.0, 1.5, 1.4), 6)
    0.645698
    """
    spent = pressure_ratio * cutoff_ratio**heat_ratio - 1.0
    given = pressure_ratio * heat_ratio * (cutoff_ratio - 1.0) + pressure_ratio - 1.0
    return 1.0 - compression_ratio ** (1.0 - heat_ratio) * spent / given


@dataclass(frozen=True, slots=True)
class OttoCycle:
    """States of the constant-volume cycle.

    Attributes:
        temperatures: before and after compression, after heat, after expansion [K].
        peak_pressure: [Pa].
        work: [J/kg].
        mean_effective_pressure: [Pa].
        efficiency: [-].
    """

    temperatures: tuple[float, float, float, float]
    peak_pressure: float
    work: float
    mean_effective_pressure: float
    efficiency: float


def otto_cycle(
    compression_ratio: float,
    temperature: float,
    pressure: float,
    heat: float,
    heat_volume: float = 717.5,
    gas_constant: float = 287.0,
) -> OttoCycle:
    """The constant-volume cycle with constant specific heats.

    Args:
        compression_ratio: [-].
        temperature: at bottom dead centre [K].
        pressure: at bottom dead centre [Pa].
        heat: added at top dead centre [J/kg].
        heat_volume: specific heat at constant volume [J/(kg K)].
        gas_constant: [J/(kg K)].

    Returns:
        states and work; no losses of any kind.
    """
    ratio = 1.0 + gas_constant / heat_volume
    growth = compression_ratio ** (ratio - 1.0)
    compressed = temperature * growth
    burned = compressed + heat / heat_volume
    expanded = burned / growth
    work = heat - heat_volume * (expanded - temperature)
    volume = gas_constant * temperature / pressure
    return OttoCycle(
        temperatures=(temperature, compressed, burned, expanded),
        peak_pressure=pressure * compression_ratio * burned / temperature,
        work=work,
        mean_effective_pressure=work / (volume * (1.0 - 1.0 / compression_ratio)),
        efficiency=work / heat,
    )


def ideal_volumetric_efficiency(
    compression_ratio: Value, exhaust_over_inlet: Value, heat_ratio: Value = 1.4
) -> Value:
    """Volumetric efficiency of the ideal four-stroke, no losses, instant valves [-].

    ``r / (r - 1) - (pe / pi + g - 1) / (g (r - 1))``; independent of the residual's temperature.

    Args:
        compression_ratio: [-].
        exhaust_over_inlet: exhaust over inlet pressure [-].
        heat_ratio: [-].

    >>> ideal_volumetric_efficiency(10.0, 1.0)
    1.0
    """
    rest = (exhaust_over_inlet + heat_ratio - 1.0) / (heat_ratio * (compression_ratio - 1.0))
    return compression_ratio / (compression_ratio - 1.0) - rest
