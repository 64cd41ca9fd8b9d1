"""The argument type shared by all relations: one figure, or an array of them."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Value"]

Array: TypeAlias = NDArray[np.float64]
"""An array of SI values."""

Value: TypeAlias = float | NDArray[np.float64]
"""A figure or an array of figures, SI; arrays broadcast together as in numpy."""
