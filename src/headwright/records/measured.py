"""One figure of a record: its value, how well it is known, and where it comes from.

A field of a record is declared ``bore: Annotated[Measured, In("bore")]``. ``In`` names the entry
of the glossary that gives the dimension, the allowed range and the meaning; it reads what a
builder may write:

* ``"1.475 in"``, ``"1.475 +/- 0.002 in"``, ``"24.1 cc (measured)"``, ``"3.000 in (maker)"``
* a table: ``{ value = "1.475 in", uncertainty = "0.001 in", provenance = "measured" }``
* repeat readings: ``{ readings = ["24.1 cc", "24.3 cc"], instrument = "burette-50" }``

Where no provenance is given the figure counts as ``assumed``: a guess must look like one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_serializer
from pydantic_core import PydanticCustomError

from headwright.errors import QuantityError
from headwright.quantities.spread import spread_of
from headwright.records.base import Line, Tag, Text
from headwright.records.figure_text import LONGEST_TEXT, read_figure, refusal
from headwright.records.glossary_field import GlossaryField
from headwright.records.measurement import Evaluated, evaluate
from headwright.records.shown import shown

__all__ = ["PROVENANCES", "Figure", "In", "Measured", "Provenance"]

Provenance = Literal["measured", "maker", "estimated", "assumed"]
PROVENANCES: Final[tuple[Provenance, ...]] = ("measured", "maker", "estimated", "assumed")

MAX_READINGS: Final = 200
_TRAILING_PROVENANCE: Final = re.compile(r"^(.*?)\s*\(\s*([A-Za-z]+)\s*\)\s*$", re.DOTALL)
_KEYS: Final = frozenset(
    {
        "value",
        "unit",
        "uncertainty",
        "dof",
        "readings",
        "provenance",
        "instrument",
        "source",
        "note",
    }
)


class Measured(BaseModel):
    """A figure in SI with its standard uncertainty and its provenance.

    ``uncertainty`` is one standard uncertainty after the GUM, in the same unit as ``value``, or
    None where nothing is known of it. ``dof`` is its effective degrees of freedom; None means
    unlimited (a calibration certificate, a resolution) or unknown. ``readings`` are the repeat
    readings behind the value, in SI, when there are any.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    value: float = Field(strict=True, allow_inf_nan=False)
    unit: str
    uncertainty: float | None = Field(default=None, strict=True, ge=0.0, allow_inf_nan=False)
    dof: float | None = Field(default=None, strict=True, gt=0.0, allow_inf_nan=False)
    provenance: Provenance = "assumed"
    readings: tuple[float, ...] = Field(default=(), max_length=MAX_READINGS)
    instrument: Tag | None = None
    source: Line = ""
    note: Text = ""

    @property
    def is_guess(self) -> bool:
        """Tell whether the figure is neither measured nor a maker's."""
        return self.provenance in {"estimated", "assumed"}

    @model_serializer(mode="wrap")
    def _leave_out_what_is_not_set(self, handler: Any) -> dict[str, Any]:
        body: dict[str, Any] = handler(self)
        kept = {key: val for key, val in body.items() if val not in (None, "", (), [])}
        return {**kept, "unit": self.unit, "provenance": self.provenance}

    @field_validator("readings")
    @classmethod
    def _finite(cls, readings: tuple[float, ...]) -> tuple[float, ...]:
        if any(not -1e300 < reading < 1e300 for reading in readings):
            raise PydanticCustomError("reading", "every reading must be a finite number")
        return readings

    def replace(self, **changes: Any) -> Self:
        """Return a copy with some parts changed."""
        return self.model_copy(update=changes)


Figure = Measured | None
"""A figure that may be missing: nobody has measured it yet."""


@dataclass(frozen=True, slots=True)
class In(GlossaryField):
    """Marks a field as holding the glossary quantity ``name`` and reads what is written there.

    ``intended`` fields hold what somebody wants, not what was found: a target, a cut to be made.
    """

    intended: bool = False

    def _read(self, given: Any, info: ValidationInfo) -> Any:
        if given is None:
            return None
        context: Mapping[str, Any] = info.context or {}
        try:
            if isinstance(given, Measured):
                given = given.model_dump()
            if isinstance(given, Mapping):
                return self._from_table(given, context)
            return self._from_text(given, context)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{reason}", {"reason": error.reason}) from error

    def _refuse(self, given: object, reason: str) -> QuantityError:
        return refusal(self.quantity, given, reason)

    def _number(
        self, given: object, unit: object, context: Mapping[str, Any]
    ) -> tuple[float, float | None]:
        """Read text or a number with its unit; return value and uncertainty in SI."""
        reading = read_figure(given, self.quantity, unit=unit, system=context.get("system"))
        return reading.value, reading.uncertainty

    def _spread(self, given: object, unit: object, context: Mapping[str, Any]) -> float:
        """Read a standard uncertainty, which may be smaller than the field's range allows."""
        quantity = spread_of(self.quantity)
        try:
            reading = read_figure(given, quantity, unit=unit, system=context.get("system"))
        except QuantityError as error:
            raise self._refuse(given, f"uncertainty: {error.reason}") from error
        if reading.uncertainty is not None:
            raise self._refuse(given, f"the uncertainty {shown(given)} has one of its own")
        return reading.value

    def _from_text(self, given: object, context: Mapping[str, Any]) -> Measured:
        provenance: Provenance = "assumed"
        if (
            isinstance(given, str)
            and len(given) <= LONGEST_TEXT
            and (match := _TRAILING_PROVENANCE.match(given))
        ):
            word = match[2].lower()
            if word not in PROVENANCES:
                raise self._refuse(
                    given, f"({word}) is no provenance; use one of: {', '.join(PROVENANCES)}"
                )
            provenance = word
            given = match[1]
        value, uncertainty = self._number(given, None, context)
        return Measured(
            value=value,
            unit=self.quantity.si_unit,
            uncertainty=uncertainty,
            provenance=provenance,
        )

    def _from_table(self, given: Mapping[Any, Any], context: Mapping[str, Any]) -> dict[str, Any]:
        if unknown := [shown(key, 40) for key in given if key not in _KEYS]:
            names = ", ".join(unknown[:5]) + (" ..." if len(unknown) > 5 else "")
            raise self._refuse(given, f"unknown {names}; allowed: {', '.join(sorted(_KEYS))}")
        unit = given.get("unit")
        table = {
            key: given[key]
            for key in ("dof", "provenance", "instrument", "source", "note")
            if given.get(key) is not None
        }
        table["unit"] = self.quantity.si_unit
        evaluated = self._evaluate_readings(given, unit, context)
        if evaluated is not None:
            table["readings"] = evaluated.readings
            table.setdefault("provenance", "measured")
        spread: float | None = None
        if given.get("value") is not None:
            table["value"], spread = self._number(given["value"], unit, context)
        elif evaluated is not None:
            table["value"] = evaluated.value
        else:
            raise self._refuse(given, "neither a value nor readings are given")
        if given.get("uncertainty") is not None:
            if spread is not None:
                raise self._refuse(given, "the uncertainty is given twice")
            spread = self._spread(given["uncertainty"], unit, context)
        elif spread is None and evaluated is not None and evaluated.uncertainty is not None:
            spread = evaluated.uncertainty
            if evaluated.dof is not None:
                table.setdefault("dof", evaluated.dof)
        if spread is not None:
            table["uncertainty"] = spread
        return table

    def _evaluate_readings(
        self, given: Mapping[Any, Any], unit: object, context: Mapping[str, Any]
    ) -> Evaluated | None:
        readings = given.get("readings")
        if readings is None:
            return None
        if not isinstance(readings, list | tuple):
            raise self._refuse(
                readings, f"readings must be a list of figures, not {shown(readings)}"
            )
        if not readings:
            return None
        if len(readings) > MAX_READINGS:
            raise self._refuse(readings, f"{len(readings)} readings; at most {MAX_READINGS}")
        values = tuple(
            self._reading(entry, unit, place, context) for place, entry in enumerate(readings)
        )
        instruments = context.get("instruments") or {}
        name = given.get("instrument")
        instrument = instruments.get(name) if isinstance(name, str) else None
        contribution = instrument.spread_for(self.quantity.dimension) if instrument else None
        return evaluate(values, contribution)

    def _reading(
        self, given: object, unit: object, place: int, context: Mapping[str, Any]
    ) -> float:
        try:
            return self._number(given, unit, context)[0]
        except QuantityError as error:
            raise self._refuse(given, f"readings[{place}]: {error.reason}") from error
