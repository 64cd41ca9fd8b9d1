"""The shop itself, its instruments, and measuring sessions made with them."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import Field, ValidationError, ValidationInfo, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from headwright.errors import Problem, QuantityError
from headwright.quantities import GLOSSARY, Quantity
from headwright.quantities.spread import spread_of
from headwright.records.base import Day, Line, Name, Part, Record, Tag, Text
from headwright.records.cutting import GasketChoice, Operation
from headwright.records.figure_text import read_figure
from headwright.records.measured import MAX_READINGS, Figure, In, Measured
from headwright.records.measurement import InstrumentSpread
from headwright.records.shown import shown

__all__ = ["Instrument", "MeasuredFeature", "MeasuringSession", "Shop"]

_FIELD_DIMENSIONS: Final = ("length", "volume", "force", "volume_flow", "pressure", "mass", "angle")


class Instrument(Record):
    """A measuring instrument, with what it adds to the doubt of every reading.

    Give the resolution and the calibration in the quantity the instrument measures: only the
    pair named by ``measures`` is used. ``coverage_factor`` divides the certificate's expanded
    uncertainty (2 where the certificate says k = 2).
    """

    kind: ClassVar[str] = "instrument"
    title: ClassVar[str] = "Instrument"
    plural: ClassVar[str] = "instruments"

    story: Text = ""
    measures: Literal["length", "volume", "force", "volume_flow", "pressure", "mass", "angle"]
    length_resolution: Annotated[Figure, In("length_step")] = None
    length_calibration: Annotated[Figure, In("length_step")] = None
    volume_resolution: Annotated[Figure, In("volume_step")] = None
    volume_calibration: Annotated[Figure, In("volume_step")] = None
    force_resolution: Annotated[Figure, In("force_step")] = None
    force_calibration: Annotated[Figure, In("force_step")] = None
    volume_flow_resolution: Annotated[Figure, In("flow_step")] = None
    volume_flow_calibration: Annotated[Figure, In("flow_step")] = None
    pressure_resolution: Annotated[Figure, In("pressure_step")] = None
    pressure_calibration: Annotated[Figure, In("pressure_step")] = None
    mass_resolution: Annotated[Figure, In("mass_step")] = None
    mass_calibration: Annotated[Figure, In("mass_step")] = None
    angle_resolution: Annotated[Figure, In("angle_step")] = None
    angle_calibration: Annotated[Figure, In("angle_step")] = None
    coverage_factor: Annotated[float, Field(strict=True, ge=1.0, le=4.0)] = 2.0
    calibration_dof: Annotated[float | None, Field(strict=True, gt=0.0, allow_inf_nan=False)] = None
    calibrated: Day | None = None
    calibration_due: Day | None = None

    def contradictions(self) -> Iterator[Problem]:
        """Yield a missing resolution and figures that belong to another quantity."""
        if getattr(self, f"{self.measures}_resolution") is None:
            yield Problem(f"instrument.{self.measures}_resolution", "is missing and needed")
        for other in _FIELD_DIMENSIONS:
            for part in ("resolution", "calibration"):
                if other != self.measures and getattr(self, f"{other}_{part}") is not None:
                    yield Problem(
                        f"instrument.{other}_{part}", f"this instrument measures {self.measures}"
                    )
        if self.calibrated and self.calibration_due and self.calibration_due < self.calibrated:
            yield Problem(
                "instrument.calibration_due",
                f"{self.calibration_due} is before it was calibrated ({self.calibrated})",
            )

    def spread_for(self, dimension: str) -> InstrumentSpread | None:
        """Return what the instrument adds to a reading, or None if it measures something else."""
        if dimension != self.measures:
            return None
        resolution: Figure = getattr(self, f"{dimension}_resolution")
        calibration: Figure = getattr(self, f"{dimension}_calibration")
        return InstrumentSpread(
            resolution=resolution.value if resolution else 0.0,
            calibration=calibration.value / self.coverage_factor if calibration else 0.0,
            calibration_dof=self.calibration_dof,
        )


class MeasuredFeature(Part):
    """One feature measured in a session: where it belongs, the readings, the instrument.

    ``path`` is the field's path inside the subject, such as ``chambers[0].volume``; ``quantity``
    its glossary name. Readings may be given in any unit of the quantity, each with its own or
    all in ``unit``; once read they are in SI and ``unit`` is the SI unit.
    """

    path: Name
    quantity: Name
    readings: Annotated[
        tuple[Annotated[float, Field(strict=True, allow_inf_nan=False)], ...],
        Field(min_length=1, max_length=MAX_READINGS),
    ]
    unit: Line | None = None
    instrument: Tag | None = None
    uncertainty: Annotated[float | None, Field(strict=True, ge=0.0, allow_inf_nan=False)] = None
    note: Text = ""

    @model_validator(mode="before")
    @classmethod
    def _into_si(cls, given: Any, info: ValidationInfo) -> Any:
        """Read the figures in the units they are written in."""
        if not isinstance(given, Mapping) or not isinstance(given.get("quantity"), str):
            return given
        quantity = GLOSSARY.get(given["quantity"])
        if quantity is None:
            close = difflib.get_close_matches(given["quantity"][:60], GLOSSARY, n=1)
            hint = f"; did you mean {close[0]!r}?" if close else ""
            raise _at(("quantity",), f"{shown(given['quantity'])} is not in the glossary{hint}")
        fields, unit = dict(given), given.get("unit")
        system = (info.context or {}).get("system")
        readings = given.get("readings")
        if isinstance(readings, list | tuple) and len(readings) <= MAX_READINGS:
            fields["readings"] = tuple(
                _figure_at(("readings", place), reading, quantity, unit, system)
                for place, reading in enumerate(readings)
            )
        if given.get("uncertainty") is not None:
            spread = spread_of(quantity)
            fields["uncertainty"] = _figure_at(
                ("uncertainty",), given["uncertainty"], spread, unit, system
            )
        fields["unit"] = quantity.si_unit
        return fields


def _at(location: tuple[str | int, ...], reason: str) -> ValidationError:
    """Return an error that points at one place inside the part being read."""
    why = PydanticCustomError("quantity", "{reason}", {"reason": reason})
    detail = InitErrorDetails(type=why, loc=location, input=None)
    return ValidationError.from_exception_data("feature", [detail])


def _figure_at(
    location: tuple[str | int, ...], given: Any, quantity: Quantity, unit: Any, system: Any
) -> float:
    try:
        return read_figure(given, quantity, unit=unit, system=system).value
    except QuantityError as error:
        raise _at(location, error.reason) from error


class MeasuringSession(Record):
    """A sitting at the bench: what was measured on one part, with what, by whom, when."""

    kind: ClassVar[str] = "measurement"
    title: ClassVar[str] = "Measuring session"
    plural: ClassVar[str] = "measurements"

    subject_kind: Name
    subject: Tag
    date: Day
    by: Name | None = None
    temperature: Annotated[Figure, In("air_temperature")] = None
    features: Annotated[tuple[MeasuredFeature, ...], Field(min_length=1, max_length=2000)]

    def contradictions(self) -> Iterator[Problem]:
        """Yield a subject of no kind the book knows."""
        from headwright.records import KINDS

        if self.subject_kind not in KINDS:
            yield Problem(
                "measurement.subject_kind",
                f"{shown(self.subject_kind)} is not one of: {', '.join(KINDS)}",
            )


class Shop(Record):
    """The shop: its name, the units it thinks in, its rates."""

    kind: ClassVar[str] = "shop"
    title: ClassVar[str] = "Shop"
    plural: ClassVar[str] = "shops"

    name: Name
    system: Literal["inch", "metric"] = "inch"
    currency: Name = "shop currency"
    hourly_rate: Annotated[Figure, In("price")] = None
    head_cut_repeatability: Annotated[Measured | None, In("length_step")] = None
    operations: Annotated[tuple[Operation, ...], Field(max_length=40)] = ()
    gaskets: Annotated[tuple[GasketChoice, ...], Field(max_length=60)] = ()
    story: Text = ""

    def contradictions(self) -> Iterator[Problem]:
        """Yield operations and gaskets entered twice."""
        named: dict[str, list[str]] = {
            "operations": [item.step for item in self.operations],
            "gaskets": [item.name for item in self.gaskets],
        }
        for name, keys in named.items():
            for key in dict.fromkeys(keys):
                if keys.count(key) > 1:
                    yield Problem(f"shop.{name}", f"{key} is entered {keys.count(key)} times")

    def operation(self, step: str) -> Operation | None:
        """Return what the shop says of one kind of step, if anything."""
        return next((item for item in self.operations if item.step == step), None)
