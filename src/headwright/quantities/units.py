"""Every dimension with its units, and the spellings that are refused because they are unclear."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from headwright.quantities.dimension import LOOK_ALIKES, Dimension, Unit, tidy
from headwright.quantities.units_fluids import FLUIDS
from headwright.quantities.units_mechanics import MECHANICS
from headwright.quantities.units_space import SPACE

__all__ = ["CONFUSABLE", "DIMENSIONS", "LOOK_ALIKES", "Dimension", "Unit", "tidy", "units_spelled"]

DIMENSIONS: Final[Mapping[str, Dimension]] = MappingProxyType(
    {one.name: one for one in (*SPACE, *MECHANICS, *FLUIDS)}
)
"""Every dimension by name."""

CONFUSABLE: Final[Mapping[tuple[str, str], str]] = MappingProxyType(
    {
        ("length", "mil"): "a mil is a thousandth of an inch to some and a millimetre to others; "
        "write thou or mm",
        ("volume", "oz"): "fluid ounces differ between countries; write cc or ml",
        ("volume", "fl oz"): "fluid ounces differ between countries; write cc or ml",
        ("volume", "pt"): "pints differ between countries; write l",
        ("volume", "pint"): "pints differ between countries; write l",
        ("volume", "qt"): "quarts differ between countries; write l",
        ("volume", "gal"): "gallons differ between countries; write l",
        ("volume", "gallon"): "gallons differ between countries; write l",
        ("volume", "gallons"): "gallons differ between countries; write l",
        ("pressure", "in"): "inches of what? write inH2O or inHg",
        ("pressure", "mm"): "millimetres of what? write mmHg or mmH2O",
        ("pressure", "lb"): "pounds are a force; write psi if pounds per square inch are meant",
        ("pressure", "mPa"): "mPa is a thousandth of a pascal; write MPa for megapascal",
        ("pressure", "mpa"): "mPa is a thousandth of a pascal; write MPa for megapascal",
        ("energy", "mJ"): "mJ is a thousandth of a joule; write MJ for megajoule",
        ("energy", "mj"): "mJ is a thousandth of a joule; write MJ for megajoule",
        ("specific_energy", "mJ/kg"): "mJ is a thousandth of a joule; write MJ for megajoule",
        ("specific_energy", "mj/kg"): "mJ is a thousandth of a joule; write MJ for megajoule",
        ("temperature", "deg"): "degrees of which scale? write °C or °F",
        ("power", "cv"): "horsepowers differ between countries; write hp, PS or kW",
        ("angle", "'"): "minutes of arc are not read; write decimal degrees",
        ("angle", '"'): "seconds of arc are not read; write decimal degrees",
        ("angle", "min"): "minutes of arc are not read; write decimal degrees",
        ("octane", "octane"): "octane by which test? write RON, MON or AKI",
        ("money", "$"): "leave the currency sign out; sums are in the shop's own currency",
        ("money", "£"): "leave the currency sign out; sums are in the shop's own currency",
        ("money", "€"): "leave the currency sign out; sums are in the shop's own currency",
    }
)
"""Units refused in a dimension because they mean different things, with the reason."""


def units_spelled(spelling: str) -> tuple[tuple[Dimension, Unit], ...]:
    """Return every dimension and unit that ``spelling`` can mean, across all dimensions."""
    found = ((dimension, dimension.find(spelling)) for dimension in DIMENSIONS.values())
    return tuple((dimension, unit) for dimension, unit in found if unit is not None)
