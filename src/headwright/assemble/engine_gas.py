"""Air, fuel, mixture and ignition of an engine from its records."""

from __future__ import annotations

from dataclasses import replace

from headwright.assemble.engine_notes import Notes
from headwright.assemble.trial import Trial
from headwright.errors import InputError, Problem
from headwright.physics import fuel as fuels
from headwright.physics.weather import moist_air
from headwright.records import Fuel
from headwright.simulation.cycle import Air, Charge, Ignition

__all__ = ["air_of", "charge_of", "ignition_of", "known_fuel"]

EVAPORATED_SHARE = (0.4, 0.2)
"""Share of the fuel that is vapour before the inlet valve, and its standard uncertainty. Common
practice for carburetted petrol, no source; alcohols are cut back to what the air can hold."""


def air_of(trial: Trial, notes: Notes) -> Air:
    """The weather of the build, or 20 °C, 1013 mbar and half-saturated air."""
    build, weather = trial.build, trial.build.weather
    at = f"build {build.tag}: weather."
    why = "usual weather stands in"
    temperature = notes.figure(
        weather.temperature if weather else None,
        293.15,
        5.0,
        "air_temperature",
        at + "temperature",
        "air temperature",
        why,
    )
    pressure = notes.figure(
        weather.pressure if weather else None,
        101_325.0,
        1_000.0,
        "barometer",
        at + "pressure",
        "air pressure",
        why,
    )
    humidity = notes.figure(
        weather.humidity if weather else None,
        0.5,
        0.2,
        "relative_humidity",
        at + "humidity",
        "relative humidity",
        why,
    )
    try:
        air = moist_air(pressure, temperature, humidity)
    except InputError as error:
        notes.problems.append(Problem(at.rstrip("."), str(error)))
        return Air()
    return Air(pressure, temperature, air.specific_humidity, air.gas_constant)


def known_fuel(record: Fuel) -> fuels.Fuel:
    """The fuel that stands for a record: a surrogate by sort, octane and alcohol.

    Octane numbers and heat of vaporisation of the record are kept where given; heating value
    and air need are the surrogate's, so that mass, energy and products agree.
    """
    ethanol = record.ethanol_fraction.value if record.ethanol_fraction else 0.0
    methanol = record.methanol_fraction.value if record.methanol_fraction else 0.0
    octane = record.research_octane.value if record.research_octane else 0.0
    if record.sort == "methanol" and ethanol == 0.0:
        methanol = methanol or 1.0
    if record.sort == "ethanol" and methanol == 0.0:
        ethanol = ethanol or 1.0
    petrol = max(1.0 - ethanol - methanol, 0.0)
    base = "pump petrol 95"
    if record.sort == "racing_petrol" or octane >= 100.0:
        base = "racing petrol 102"
    elif octane >= 97.0:
        base = "pump petrol 98"
    parts = {
        fuels.fuel(name): share
        for name, share in ((base, petrol), ("ethanol", ethanol), ("methanol", methanol))
        if share > 0.0
    }
    if len(parts) == 1:
        made = next(iter(parts))
    else:
        total = sum(parts.values())
        made = fuels.blend(record.tag, {item: share / total for item, share in parts.items()})
    research, motor, heat = record.research_octane, record.motor_octane, record.vaporisation_heat
    return replace(
        made,
        name=record.tag,
        research_octane=research.value if research else made.research_octane,
        motor_octane=motor.value if motor else made.motor_octane,
        heat_of_vaporisation=heat.value if heat else made.heat_of_vaporisation,
    )


def charge_of(trial: Trial, air: Air, notes: Notes) -> Charge | None:
    """Fuel and mixture of the build as the gas of the cycle."""
    record = trial.bundle.fuel
    path = f"build {trial.build.tag}: fuel"
    if record is None:
        used = fuels.fuel("pump petrol 95")
        notes.stand_in(
            95.0, 2.0, "research_octane", path, "fuel", "no fuel named: pump petrol of 95 RON"
        )
        mixture = None
    else:
        used = known_fuel(record)
        path = f"fuel {record.tag}: mixture"
        mixture = record.mixture
        notes.sources["fuel"] = f"{record.tag}, with the composition of a surrogate"
    ratio = notes.figure(
        mixture,
        0.88,
        0.03,
        "lambda_ratio",
        path,
        "mixture (lambda)",
        "a usual full-load mixture stands in: common practice, no source",
    )
    share, spread = EVAPORATED_SHARE
    notes.stand_in(
        share,
        spread,
        "volume_fraction",
        f"build {trial.build.tag}: breathing",
        "share of the fuel evaporated before the inlet valve",
        "no record holds it; common practice for carburettors, no source",
    )
    try:
        return Charge.of_fuel(
            used,
            equivalence_ratio=1.0 / ratio,
            air_temperature=air.temperature,
            air_pressure=air.pressure,
            specific_humidity=air.specific_humidity,
            evaporated_share=share,
        )
    except InputError as error:
        notes.problems.append(Problem(path, str(error)))
        return None


def ignition_of(trial: Trial, notes: Notes) -> Ignition:
    """The ignition curve of the build; without one the best is searched."""
    points = trial.build.ignition
    if not points:
        notes.sources["ignition"] = "no curve: best torque within the knock limit is searched"
        return Ignition()
    notes.sources["ignition"] = "the build's ignition curve"
    return Ignition(
        tuple(point.speed.value for point in points),
        tuple(point.advance.value for point in points),
    )
