"""A fuel and the mixture it is burned at."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from headwright.records.base import Name, Record, Text
from headwright.records.measured import Figure, In

__all__ = ["Fuel"]


class Fuel(Record):
    """A fuel in the shop. ``octane`` is what the knock model takes; RON unless said otherwise."""

    kind: ClassVar[str] = "fuel"
    title: ClassVar[str] = "Fuel"
    plural: ClassVar[str] = "fuels"

    sort: Literal["petrol", "racing_petrol", "methanol", "ethanol", "blend"]
    maker: Name | None = None
    story: Text = ""
    research_octane: Annotated[Figure, In("research_octane")] = None
    motor_octane: Annotated[Figure, In("motor_octane")] = None
    density: Annotated[Figure, In("fuel_density")] = None
    heating_value: Annotated[Figure, In("heating_value")] = None
    vaporisation_heat: Annotated[Figure, In("vaporisation_heat")] = None
    stoichiometric_ratio: Annotated[Figure, In("air_fuel_ratio")] = None
    ethanol_fraction: Annotated[Figure, In("volume_fraction")] = None
    methanol_fraction: Annotated[Figure, In("volume_fraction")] = None
    mixture: Annotated[Figure, In("lambda_ratio")] = None
    lead: bool | None = None
    price: Annotated[Figure, In("price")] = None
