"""Standard orifice plates in pipes, for measuring flow on a bench.

The Reader-Harris/Gallagher equation and the expansibility factor of ISO 5167-2:2003. It holds for
plates in a straight pipe (diameter 50-1000 mm, bore 12.5 mm and more, diameter ratio 0.1-0.75,
pipe Reynolds number 5000 and more). A plate on the wall of a bench's box lies outside the
standard: use its own calibration instead.
"""

from __future__ import annotations

import math
from typing import Literal

from headwright.errors import InputError

__all__ = [
    "Taps",
    "discharge_coefficient",
    "discharge_uncertainty",
    "expansibility",
    "plate_mass_flow",
]

Taps = Literal["corner", "flange", "D and D/2"]
"""Where the pressures are taken."""

_FLANGE_TAP_M = 0.0254


def _check(pipe_diameter: float, bore_diameter: float, reynolds_pipe: float) -> float:
    """Diameter ratio [-] after checking the limits of the standard."""
    ratio = bore_diameter / pipe_diameter
    if not 0.05 <= pipe_diameter <= 1.0:
        raise InputError(
            f"pipe diameter: {pipe_diameter * 1000:g} mm is outside 50 to 1000 mm, the range of "
            "ISO 5167-2; calibrate this plate instead"
        )
    if bore_diameter < 0.0125:
        raise InputError(
            f"orifice bore: {bore_diameter * 1000:g} mm is below 12.5 mm, the least of "
            "ISO 5167-2; calibrate this plate instead"
        )
    if not 0.1 - 1e-9 <= ratio <= 0.75 + 1e-9:
        raise InputError(
            f"orifice bore over pipe diameter: {ratio:.3f} is outside 0.1 to 0.75, the range of "
            "ISO 5167-2; choose another plate"
        )
    if reynolds_pipe < 5000.0:
        raise InputError(
            f"pipe Reynolds number: {reynolds_pipe:.0f} is below 5000; use a smaller pipe or "
            "more flow"
        )
    return ratio


def discharge_coefficient(
    pipe_diameter: float, bore_diameter: float, reynolds_pipe: float, taps: Taps = "flange"
) -> float:
    """Discharge coefficient of a standard plate [-], Reader-Harris/Gallagher.

    Args:
        pipe_diameter: inside [m].
        bore_diameter: of the plate [m].
        reynolds_pipe: Reynolds number of the pipe flow [-].
        taps: place of the pressure taps.

    Raises:
        InputError: outside the limits of the standard.

    Source: ISO 5167-2:2003, 5.3.2.1, checked against an independent implementation.

    >>> round(discharge_coefficient(0.1, 0.05, 1e5, "corner"), 5)
    0.60687
    """
    ratio = _check(pipe_diameter, bore_diameter, reynolds_pipe)
    if taps == "corner":
        upstream, downstream = 0.0, 0.0
    elif taps == "flange":
        upstream = downstream = _FLANGE_TAP_M / pipe_diameter
    else:
        upstream, downstream = 1.0, 0.47
    a_term = (19000.0 * ratio / reynolds_pipe) ** 0.8
    dam = 2.0 * downstream / (1.0 - ratio)
    fourth = ratio**4 / (1.0 - ratio**4)
    coefficient: float = (
        0.5961
        + 0.0261 * ratio**2
        - 0.216 * ratio**8
        + 0.000521 * (1e6 * ratio / reynolds_pipe) ** 0.7
        + (0.0188 + 0.0063 * a_term) * ratio**3.5 * (1e6 / reynolds_pipe) ** 0.3
        + (0.043 + 0.080 * math.exp(-10.0 * upstream) - 0.123 * math.exp(-7.0 * upstream))
        * (1.0 - 0.11 * a_term)
        * fourth
        - 0.031 * (dam - 0.8 * dam**1.1) * ratio**1.3
    )
    if pipe_diameter < 0.07112:
        coefficient += 0.011 * (0.75 - ratio) * (2.8 - pipe_diameter / _FLANGE_TAP_M)
    return coefficient


def discharge_uncertainty(pipe_diameter: float, bore_diameter: float) -> float:
    """Expanded relative uncertainty of the coefficient, about 95 % [-].

    0.5 % for diameter ratios 0.2-0.6; (0.7 - ratio) % below; (1.667 ratio - 0.5) % above.

    Args:
        pipe_diameter: inside [m].
        bore_diameter: of the plate [m].

    Source: ISO 5167-2, 5.3.3.1 (from memory).
    """
    ratio = bore_diameter / pipe_diameter
    if ratio < 0.2:
        return (0.7 - ratio) / 100.0
    if ratio <= 0.6:
        return 0.005
    return (1.667 * ratio - 0.5) / 100.0


def expansibility(
    pipe_diameter: float,
    bore_diameter: float,
    pressure_upstream: float,
    pressure_downstream: float,
    heat_ratio: float = 1.4,
) -> float:
    """Expansibility factor of a gas through a plate [-].

    ``1 - (0.351 + 0.256 b**4 + 0.93 b**8) (1 - (p2 / p1)**(1 / k))``

    Args:
        pipe_diameter: inside [m].
        bore_diameter: of the plate [m].
        pressure_upstream: [Pa].
        pressure_downstream: [Pa]; at least 0.75 of upstream.
        heat_ratio: [-].

    Raises:
        InputError: the pressure ratio is below 0.75.

    Source: ISO 5167-2:2003, 5.3.2.2.
    """
    ratio = bore_diameter / pipe_diameter
    if not 0.75 <= pressure_downstream / pressure_upstream <= 1.0:
        raise InputError(
            f"pressure ratio across the plate: {pressure_downstream / pressure_upstream:.3f} is "
            "outside 0.75 to 1; use a larger plate"
        )
    factor: float = 1.0 - (0.351 + 0.256 * ratio**4 + 0.93 * ratio**8) * (
        1.0 - (pressure_downstream / pressure_upstream) ** (1.0 / heat_ratio)
    )
    return factor


def plate_mass_flow(
    pipe_diameter: float,
    bore_diameter: float,
    pressure_upstream: float,
    pressure_downstream: float,
    density_upstream: float,
    dynamic_viscosity: float,
    heat_ratio: float = 1.4,
    taps: Taps = "flange",
) -> float:
    """Mass flow through a standard plate [kg/s].

    ``m = C eps pi/4 d**2 sqrt(2 dp rho) / sqrt(1 - b**4)``, C found with the Reynolds number of
    the flow itself by repetition.

    Args:
        pipe_diameter: inside [m].
        bore_diameter: of the plate [m].
        pressure_upstream: [Pa].
        pressure_downstream: [Pa].
        density_upstream: [kg/m3].
        dynamic_viscosity: [Pa s].
        heat_ratio: [-].
        taps: place of the pressure taps.

    Raises:
        InputError: outside the limits of the standard.
    """
    ratio = bore_diameter / pipe_diameter
    ideal = (
        expansibility(
            pipe_diameter, bore_diameter, pressure_upstream, pressure_downstream, heat_ratio
        )
        * math.pi
        / 4.0
        * bore_diameter**2
        * math.sqrt(2.0 * (pressure_upstream - pressure_downstream) * density_upstream)
        / math.sqrt(1.0 - ratio**4)
    )
    flow = 0.6 * ideal
    for _ in range(50):
        reynolds = 4.0 * flow / (math.pi * pipe_diameter * dynamic_viscosity)
        improved = discharge_coefficient(pipe_diameter, bore_diameter, reynolds, taps) * ideal
        if abs(improved - flow) <= 1e-13 * improved:
            return improved
        flow = improved
    return flow
