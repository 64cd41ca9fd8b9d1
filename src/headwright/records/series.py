"""A row of figures of one quantity: a lift table, a curve's axis."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo
from pydantic_core import PydanticCustomError, core_schema

from headwright.errors import QuantityError
from headwright.quantities import GLOSSARY, parse
from headwright.quantities.spread import needs_unit
from headwright.records.measured import Provenance

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler

__all__ = ["InSeries", "Series"]

MAX_LENGTH: Final = 4000


class Series(BaseModel):
    """Figures of one quantity in SI, in order, with one standard uncertainty for all."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    values: tuple[float, ...] = Field(min_length=1, max_length=MAX_LENGTH)
    unit: str
    uncertainty: float | None = Field(default=None, ge=0.0, allow_inf_nan=False)
    provenance: Provenance = "assumed"
    source: str = Field(default="", max_length=400)


@dataclass(frozen=True, slots=True)
class InSeries:
    """Marks a field as a row of the glossary quantity ``name``.

    Reads ``{ values = [0.0, 0.1], unit = "mm" }`` or a list of text figures with units.
    """

    name: str

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Put the reading of builder's text in front of pydantic's own checks."""
        return core_schema.with_info_before_validator_function(self._read, handler(source))

    def _read(self, given: Any, info: ValidationInfo) -> Any:
        if given is None or isinstance(given, Series):
            return given
        table: dict[str, Any] = dict(given) if isinstance(given, Mapping) else {"values": given}
        values = table.get("values")
        if isinstance(values, str) or not isinstance(values, Sequence):
            raise PydanticCustomError("quantity", "must hold a list of figures under 'values'")
        if len(values) > MAX_LENGTH:
            raise PydanticCustomError(
                "quantity",
                "{count} figures; at most {most}",
                {"count": len(values), "most": MAX_LENGTH},
            )
        system = (info.context or {}).get("system")
        try:
            table["values"] = tuple(
                self._one(entry, table.get("unit"), system, place)
                for place, entry in enumerate(values)
            )
            if table.get("uncertainty") is not None and not isinstance(table["uncertainty"], float):
                table["uncertainty"] = self._one(table["uncertainty"], None, system, None)
            elif table.get("uncertainty") is not None:
                table["uncertainty"] = self._one(
                    table["uncertainty"], table.get("unit"), system, None
                )
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{reason}", {"reason": error.reason}) from error
        table["unit"] = GLOSSARY[self.name].si_unit
        return table

    def _one(self, given: object, unit: object, system: Any, place: int | None) -> float:
        quantity = GLOSSARY[self.name]
        where = "" if place is None else f"entry {place}: "
        if isinstance(given, bool) or not isinstance(given, str | int | float):
            raise QuantityError(self.name, str(given)[:80], f"{where}{given!r:.80} is not a figure")
        text = given if isinstance(given, str) else f"{given!r} {unit or ''}"
        try:
            reading = parse(text, quantity, system=system or "inch")
        except QuantityError as error:
            raise QuantityError(self.name, text, f"{where}{error.reason}") from error
        if reading.assumed_unit and system is None and needs_unit(quantity):
            raise QuantityError(self.name, text, f"{where}{text.strip()!r} has no unit")
        return reading.value
