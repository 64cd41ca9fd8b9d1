"""Physical constants and reference states, each with its source.

All SI. Values that the SI defines are exact.
"""

from __future__ import annotations

from typing import Final

GAS_CONSTANT_J_MOL_K: Final = 8.314462618
"""Molar gas constant, exact to the digits shown (SI 2019 redefinition; CODATA 2018)."""

STANDARD_GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of free fall, exact by convention (3rd CGPM, 1901)."""

STANDARD_ATMOSPHERE_PA: Final = 101_325.0
"""Standard atmosphere, exact by definition (10th CGPM, 1954)."""

STEFAN_BOLTZMANN_W_M2_K4: Final = 5.670374419e-8
"""Stefan-Boltzmann constant, from exact constants (CODATA 2018)."""

INCH_M: Final = 0.0254
"""International inch, exact (1959 yard and pound agreement)."""

POUND_KG: Final = 0.45359237
"""International avoirdupois pound, exact (1959 yard and pound agreement)."""
