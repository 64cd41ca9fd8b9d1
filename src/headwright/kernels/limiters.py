"""Limited slopes of the reconstruction.

Both limiters are functions of the differences to the left and right neighbour, a and b; zero
when their signs differ, else, with m and M the smaller and larger of abs(a), abs(b),

``acoustic`` (pressure, velocity, mass fractions)
    min[2 m, max((m + M) / 2, (3 M - 2 m) / 2)]: van Leer's monotonised central slope while the
    two differences are within a factor 1.5 of each other, steeper at a kink, never beyond the
    bound 2 m that keeps the reconstruction monotone.
``contact`` (the part of the density change that pressure does not explain)
    min[2 m, (m + M) / 2], blended into Roe's compressive superbee min(2 m, M) where the
    step across one cell is a twentieth of the density or more, fully at a tenth. A contact
    then stays sharp, while smooth entropy waves of ordinary size (the steepest cell step of a
    +-20 % sine with 26 cells a wavelength is 5 %) never meet the compressive branch.

Sources: B. van Leer, J. Comput. Phys. 23 (1977) 276; P. K. Sweby, SIAM J. Numer. Anal. 21
(1984) 995 for the monotone region and superbee; the blends are this project's.
"""

from __future__ import annotations

import math

from headwright.kernels.compiling import inlined


@inlined
def acoustic(left: float, right: float) -> float:
    """Limited slope of pressure, velocity or a mass fraction."""
    a = abs(left)
    b = abs(right)
    small = a if a < b else b
    large = a if a > b else b
    slope = 0.5 * (small + large)
    steep = 1.5 * large - small
    slope = steep if steep > slope else slope
    bound = 2.0 * small
    slope = bound if bound < slope else slope
    slope = math.copysign(slope, left)
    return slope if left * right > 0.0 else 0.0


@inlined
def contact(left: float, right: float, inverse_density: float) -> float:
    """Limited slope of the entropy part of the density."""
    a = abs(left)
    b = abs(right)
    small = a if a < b else b
    large = a if a > b else b
    bound = 2.0 * small
    slope = 0.5 * (small + large)
    slope = bound if bound < slope else slope
    steep = bound if bound < large else large
    weight = 20.0 * large * inverse_density - 1.0
    weight = weight if weight > 0.0 else 0.0
    weight = weight if weight < 1.0 else 1.0
    slope = slope + weight * (steep - slope)
    slope = math.copysign(slope, left)
    return slope if left * right > 0.0 else 0.0
