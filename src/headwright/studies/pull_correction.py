"""A power pull brought to a standard's air, so that pulls of different days can be compared."""

from __future__ import annotations

from dataclasses import dataclass

from headwright.errors import InputError
from headwright.physics.power_correction import STANDARDS, Correction
from headwright.physics.weather import moist_air
from headwright.records import PowerPull
from headwright.records.measured import Provenance

__all__ = ["PullPoint", "StandardisedPull", "standardise_pull"]

_ORDER: tuple[Provenance, ...] = ("measured", "maker", "estimated", "assumed")


@dataclass(frozen=True, slots=True)
class PullPoint:
    """One speed of a pull (SI): as recorded, and brought to the standard.

    ``torque_corrected`` and ``power_corrected`` are None where the pull cannot be brought there.
    """

    speed: float
    torque: float
    power: float
    torque_corrected: float | None
    power_corrected: float | None
    derived: bool
    provenance: Provenance


@dataclass(frozen=True, slots=True)
class StandardisedPull:
    """A pull, the factor that brings it to a standard, and what has to be said about it.

    Attributes:
        pull: the record.
        standard: asked for; ``none`` leaves the figures as they are recorded.
        correction: the standard's factor for the day's air, None where none applies.
        recorded_correction: the factor taken out first where the record is corrected already.
        points: by rising speed.
        notes: what stands in the way, and what limits apply.
    """

    pull: PowerPull
    standard: str
    correction: Correction | None
    recorded_correction: Correction | None
    points: tuple[PullPoint, ...]
    notes: tuple[str, ...]

    @property
    def factor(self) -> float | None:
        """What the recorded figures are multiplied by [-]; None where they cannot be."""
        if self.standard in {"none", self.pull.correction}:
            return 1.0
        if self.correction is None:
            return None
        if self.recorded_correction is not None:
            return self.correction.factor / self.recorded_correction.factor
        return self.correction.factor if self.pull.correction == "none" else None


def standardise_pull(pull: PowerPull, standard: str = "none") -> StandardisedPull:
    """Bring a pull to a standard's air.

    Figures recorded as they were read are multiplied by the standard's factor for the day's air;
    figures recorded as corrected are first divided by the factor they hold. The factor goes on
    torque and power alike, as the standards have it for full load without a correction for
    friction.

    Args:
        pull: the record.
        standard: ``none`` or one of :data:`headwright.physics.power_correction.STANDARDS`.

    Raises:
        InputError: no such standard.

    Sources: :mod:`headwright.physics.power_correction`.
    """
    if standard != "none" and standard not in STANDARDS:
        raise InputError(f"standard: {standard[:40]!r} is none of: none, {', '.join(STANDARDS)}")
    notes: list[str] = []
    correction = _factor(pull, standard, notes)
    recorded = None
    if standard not in {"none", pull.correction} and pull.correction != "none":
        recorded = _factor(pull, pull.correction, notes)
    bare = StandardisedPull(pull, standard, correction, recorded, (), ())
    factor = bare.factor
    notes += [
        f"{pull.tag}: {one.standard} {one.note}"
        for one in (correction, recorded)
        if one is not None and not one.within_limits
    ]
    if pull.measured_at != "crankshaft":
        notes.append(
            f"{pull.tag}: measured at the {pull.measured_at.replace('_', ' ')}, so what the drive "
            "takes is not in it"
        )
    points = []
    for row in sorted(pull.rows, key=lambda row: row.speed.value):
        speed = row.speed.value
        figures = [figure for figure in (row.torque, row.power) if figure is not None]
        torque = row.torque.value if row.torque else row.power.value / speed if row.power else 0.0
        power = row.power.value if row.power else torque * speed
        points.append(
            PullPoint(
                speed=speed,
                torque=torque,
                power=power,
                torque_corrected=None if factor is None else torque * factor,
                power_corrected=None if factor is None else power * factor,
                derived=len(figures) == 1,
                provenance=max((figure.provenance for figure in figures), key=_ORDER.index),
            )
        )
    return StandardisedPull(pull, standard, correction, recorded, tuple(points), tuple(notes))


def _factor(pull: PowerPull, standard: str, notes: list[str]) -> Correction | None:
    """Return the standard's factor for the day's air; say what is missing where there is none."""
    if standard == "none":
        return None
    weather = pull.weather
    pressure = weather.pressure if weather else None
    temperature = weather.temperature if weather else None
    if weather is None or pressure is None or temperature is None:
        lacking = [
            words
            for words, figure in (("barometer", pressure), ("air temperature", temperature))
            if figure is None
        ]
        message = (
            f"{pull.tag}: no {' and no '.join(lacking)} recorded, so {standard} cannot be told"
        )
        if message not in notes:
            notes.append(message)
        return None
    humidity = weather.humidity
    if humidity is None and standard != "DIN 70020":
        notes.append(f"{pull.tag}: no humidity recorded; 50 % stands in for {standard}")
    air = moist_air(pressure.value, temperature.value, humidity.value if humidity else 0.5)
    return STANDARDS[standard](air)
