"""The shop itself, its instruments, and measuring sessions made with them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from headwright.errors import Problem
from headwright.quantities import GLOSSARY
from headwright.records.base import Day, Name, Part, Record, Tag, Text
from headwright.records.measured import Figure, In, Measured
from headwright.records.measurement import InstrumentSpread

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
    coverage_factor: Annotated[float, Field(ge=1.0, le=4.0, allow_inf_nan=False)] = 2.0
    calibration_dof: Annotated[float | None, Field(gt=0.0, allow_inf_nan=False)] = None
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
    its glossary name. The readings are in the quantity's SI unit once read.
    """

    path: Name
    quantity: Name
    readings: Annotated[
        tuple[Annotated[float, Field(allow_inf_nan=False)], ...],
        Field(min_length=1, max_length=200),
    ]
    unit: Name
    instrument: Tag | None = None
    uncertainty: Annotated[float | None, Field(ge=0.0, allow_inf_nan=False)] = None
    note: Text = ""


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
        """Yield quantities the glossary does not know, wrong units and readings out of range."""
        for place, feature in enumerate(self.features):
            path = f"measurement.features[{place}]"
            quantity = GLOSSARY.get(feature.quantity)
            if quantity is None:
                yield Problem(f"{path}.quantity", f"{feature.quantity!r} is not in the glossary")
                continue
            if feature.unit != quantity.si_unit:
                yield Problem(
                    f"{path}.unit", f"{feature.unit!r} must be the SI unit {quantity.si_unit!r}"
                )
            for number, reading in enumerate(feature.readings):
                if not quantity.low <= reading <= quantity.high or math.isnan(reading):
                    yield Problem(
                        f"{path}.readings[{number}]",
                        f"{reading:g} {quantity.si_unit} is outside {quantity.low:g} to "
                        f"{quantity.high:g} {quantity.si_unit}",
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
    story: Text = ""
