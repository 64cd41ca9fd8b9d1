"""A fuel and the mixture it is burned at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from headwright.errors import Problem
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

    def contradictions(self) -> Iterator[Problem]:
        """Yield alcohol shares that make more than the whole."""
        shares = [one.value for one in (self.ethanol_fraction, self.methanol_fraction) if one]
        if sum(shares) > 1.0 + 1e-9:
            yield Problem(
                "fuel.methanol_fraction",
                f"with ethanol_fraction makes {100 * sum(shares):.1f} %, more than the whole",
            )
