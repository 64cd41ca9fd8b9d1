"""Will the wire of a valve spring last? Strength of wire, and a Goodman line through test results.

Sources: R. G. Budynas and J. K. Nisbett, *Shigley's Mechanical Engineering Design*, ch. 10: wire
strength ``S_ut = A / d^m`` (table 10-4), torsional strength ``S_su = 0.67 S_ut``, and the endurance
results of F. P. Zimmerli (1957) for infinite life, which do not depend on wire size:

    unpeened   S_sa = 241 MPa at a mean of S_sm = 379 MPa
    peened     S_sa = 398 MPa at a mean of S_sm = 534 MPa

The Goodman line through such a point meets the axis at ``S_se = S_sa / (1 - S_sm / S_su)``, and the
reserve is ``n = 1 / (tau_a / S_se + tau_m / S_su)``. From memory; recomputed against the book's
worked example. Valve-spring makers' clean, nitrided wires stand more: an estimate on the safe side.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from headwright.errors import InputError
from headwright.physics.arrays import Value

__all__ = [
    "WIRES",
    "endurance_amplitude",
    "goodman_reserve",
    "stress_amplitude_and_mean",
    "torsional_strength",
    "wire_strength",
]

WIRES: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "music": (2211.0, 0.145),
        "oil-tempered": (1855.0, 0.187),
        "hard-drawn": (1783.0, 0.190),
        "chrome-vanadium": (2005.0, 0.168),
        "chrome-silicon": (1974.0, 0.108),
    }
)
"""A [MPa mm^m] and m [-] of wires by sort (ASTM A228, A229, A227, A232, A401)."""

_PEENED: Final = (398e6, 534e6)
_UNPEENED: Final = (241e6, 379e6)


def wire_strength(wire: str, diameter: float) -> float:
    """Tensile strength of a spring wire [Pa]: ``A / d^m``.

    Args:
        wire: ``music``, ``oil-tempered``, ``hard-drawn``, ``chrome-vanadium`` or
            ``chrome-silicon``.
        diameter: [m]; the fits hold from about 0.5 to 10 mm.

    Raises:
        InputError: no such wire, or a diameter out of range.

    >>> round(wire_strength("chrome-silicon", 0.004) / 1e6)
    1700
    """
    if wire not in WIRES:
        raise InputError(f"wire: {wire!r} is none of {', '.join(WIRES)}")
    if not 0.1e-3 < diameter < 20e-3:
        raise InputError(f"wire diameter: {1e3 * diameter:g} mm must lie between 0.1 and 20 mm")
    factor, exponent = WIRES[wire]
    return float(factor * 1e6 / (1e3 * diameter) ** exponent)


def torsional_strength(tensile: Value) -> Value:
    """Torsional strength of a spring wire [Pa]: ``0.67 S_ut``.

    Args:
        tensile: tensile strength [Pa].
    """
    return 0.67 * tensile


def stress_amplitude_and_mean(shut: Value, lifted: Value) -> tuple[Value, Value]:
    """Half the stress range and the mean stress [Pa].

    Args:
        shut: corrected shear stress with the valve shut [Pa].
        lifted: at full lift [Pa].
    """
    return 0.5 * (lifted - shut), 0.5 * (lifted + shut)


def endurance_amplitude(tensile: Value, *, peened: bool) -> Value:
    """Amplitude that lasts at no mean stress, on the Goodman line [Pa].

    ``S_sa / (1 - S_sm / S_su)``.

    Args:
        tensile: tensile strength [Pa].
        peened: whether the wire is shot-peened.
    """
    amplitude, mean = _PEENED if peened else _UNPEENED
    return amplitude / (1.0 - mean / torsional_strength(tensile))


def goodman_reserve(amplitude: Value, mean: Value, tensile: Value, *, peened: bool) -> Value:
    """Reserve against fatigue [-]: one on the Goodman line, less beyond it.

    Args:
        amplitude: half the range of the corrected shear stress [Pa].
        mean: [Pa].
        tensile: tensile strength of the wire [Pa].
        peened: whether the wire is shot-peened.
    """
    return 1.0 / (
        amplitude / endurance_amplitude(tensile, peened=peened) + mean / torsional_strength(tensile)
    )
