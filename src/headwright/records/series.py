"""A row of figures of one quantity: a lift table, a curve's axis."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from headwright.errors import QuantityError
from headwright.quantities import Quantity
from headwright.quantities.spread import spread_of
from headwright.records.base import Line
from headwright.records.figure_text import read_figure, refusal
from headwright.records.glossary_field import GlossaryField
from headwright.records.measured import Provenance
from headwright.records.shown import shown

__all__ = ["InSeries", "Series"]

MAX_LENGTH: Final = 4000


class Series(BaseModel):
    """Figures of one quantity in SI, in order, with one standard uncertainty for all."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    values: tuple[float, ...] = Field(min_length=1, max_length=MAX_LENGTH)
    unit: str
    uncertainty: float | None = Field(default=None, strict=True, ge=0.0, allow_inf_nan=False)
    provenance: Provenance = "assumed"
    source: Line = ""


@dataclass(frozen=True, slots=True)
class InSeries(GlossaryField):
    """Marks a field as a row of the glossary quantity ``name``.

    Reads ``{ values = [0.0, 0.1], unit = "mm" }`` or a list of text figures with units.
    """

    def _read(self, given: Any, info: ValidationInfo) -> Any:
        if given is None:
            return None
        if isinstance(given, Series):
            given = given.model_dump()
        table: dict[Any, Any] = dict(given) if isinstance(given, Mapping) else {"values": given}
        system = (info.context or {}).get("system")
        try:
            self._read_table(table, system)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{reason}", {"reason": error.reason}) from error
        return table

    def _read_table(self, table: dict[Any, Any], system: Any) -> None:
        """Put the figures of a table into SI, in place."""
        values, unit = table.get("values"), table.get("unit")
        if isinstance(values, str | bytes) or not isinstance(values, Sequence):
            raise refusal(self.quantity, values, "must hold a list of figures under 'values'")
        if len(values) > MAX_LENGTH:
            raise refusal(self.quantity, values, f"{len(values)} figures; at most {MAX_LENGTH}")
        table["values"] = tuple(
            self._one(entry, self.quantity, unit, system, f"entry {place}")
            for place, entry in enumerate(values)
        )
        if table.get("uncertainty") is not None:
            spread = spread_of(self.quantity)
            table["uncertainty"] = self._one(
                table["uncertainty"], spread, unit, system, "uncertainty"
            )
        table["unit"] = self.quantity.si_unit

    def _one(self, given: object, quantity: Quantity, unit: Any, system: Any, what: str) -> float:
        try:
            reading = read_figure(given, quantity, unit=unit, system=system)
        except QuantityError as error:
            raise refusal(quantity, given, f"{what}: {error.reason}") from error
        if reading.uncertainty is not None:
            raise refusal(
                quantity,
                given,
                f"{what}: {shown(given)} has an uncertainty; give one for the whole row under "
                "'uncertainty'",
            )
        return reading.value
