"""Every public relation has the dimension it says it has.

A relation that is free of hidden dimensional constants must follow a change of the base units:
if lengths are counted in units k times smaller and so on, the result must change by exactly the
powers of k that its own unit holds. That is tested with random factors, so a formula whose
docstring and code agree with each other but not with the unit is still caught.

Relations fitted in fixed units (kPa, rpm, 1000 K) cannot follow such a change. Where only some
base units are fixed the others are still tested (``held``); the rest are listed as ``FITTED`` with
the unit they return. A relation in none of the tables fails the test.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np
import pint
import pytest

from headwright import physics
from headwright.physics import gas
from headwright.physics.burned_gas import burned_table, charge_mass_fractions

UNITS = pint.UnitRegistry()
AXES = ("[length]", "[mass]", "[time]", "[temperature]", "[substance]")
MODULES = sorted(info.name for info in pkgutil.iter_modules(physics.__path__))


def exponents(unit: str) -> np.ndarray:
    """Powers of the base dimensions in one of our unit texts, such as ``J/(kg K)`` or ``m3``."""
    if unit == "-":
        return np.zeros(len(AXES))
    text = re.sub(r"([A-Za-z])(\d)", r"\1**\2", unit.replace(" ", "*"))
    found = UNITS.Quantity(1.0, text).dimensionality
    return np.array([float(found.get(axis, 0.0)) for axis in AXES])


@dataclass(frozen=True)
class Case:
    returns: tuple[str, ...]
    arguments: tuple[tuple[Any, str], ...]
    held: tuple[str, ...] = ()


def case(returns: str, *arguments: tuple[Any, str], held: tuple[str, ...] = ()) -> Case:
    return Case(tuple(returns.split("; ")), arguments, held)


COEFFICIENTS = (np.array(gas.gas_model({"isooctane": 1.0}).energy_coefficients[0]), "J/(kg K)")
TABLE_3 = (np.array(gas.gas_model({"isooctane": 1.0}).energy_coefficients), "J/(kg K)")
GAS = (287.0, "J/(kg K)")
ANGLE = np.linspace(0.0, 6.0, 40)
LIFT = 7e-3 * (1.0 - np.cos(ANGLE))
K = ("[temperature]",)
UPSTREAM = ((2e5, "Pa"), (350.0, "K"), GAS, (1.35, "-"))

SCALED: dict[str, Case] = {
    "bolt.bolt_stiffness": case(
        "N/m", (0.01, "m"), (58e-6, "m2"), (0.05, "m"), (0.02, "m"), (2e11, "Pa")
    ),
    "bolt.joint_constant": case("-", (1e8, "N/m"), (3e8, "N/m")),
    "bolt.load_factor": case("-", (58e-6, "m2"), (8e8, "Pa"), (3e4, "N"), (0.3, "-"), (9e3, "N")),
    "bolt.member_stiffness": case("N/m", (0.01, "m"), (0.05, "m"), (7e10, "Pa")),
    "bolt.preload_from_torque": case("N", (70.0, "N m"), (0.01, "m"), (0.2, "-")),
    "bolt.proof_preload": case("N", (58e-6, "m2"), (8e8, "Pa"), (0.75, "-")),
    "bolt.separation_factor": case("-", (3e4, "N"), (0.3, "-"), (9e3, "N")),
    "bolt.tightening_torque": case("N m", (3e4, "N"), (0.01, "m"), (0.2, "-")),
    "bolt.tightening_torque_friction": case(
        "N m", (3e4, "N"), (1.5e-3, "m"), (9e-3, "m"), (13e-3, "m"), (0.12, "-"), (0.1, "-")
    ),
    "breathing.engelman_tuned_speed": case(
        "rad/s", (5e-4, "m3"), (10.0, "-"), (1e-3, "m2"), (0.35, "m"), (347.0, "m/s")
    ),
    "breathing.helmholtz_frequency": case(
        "Hz", (1e-3, "m3"), (2e-3, "m2"), (0.3, "m"), (343.0, "m/s")
    ),
    "breathing.inlet_mach_index": case(
        "-", (0.1, "m"), (0.05, "m"), (20.0, "m/s"), (0.35, "-"), (343.0, "m/s"), (1.0, "-")
    ),
    "breathing.mean_port_velocity": case("m/s", (0.1, "m"), (1e-3, "m2"), (20.0, "m/s")),
    "breathing.quarter_wave_frequency": case("Hz", (0.3, "m"), (343.0, "m/s")),
    "breathing.speed_for_mach_index": case(
        "rad/s", (0.6, "-"), (0.1, "m"), (0.09, "m"), (0.05, "m"), (0.35, "-"), (343.0, "m/s")
    ),
    "breathing.tuned_speed": case("rad/s", (200.0, "Hz"), (3.0, "-")),
    "burn.wiebe_fraction": case("-", (0.4, "-")),
    "burn.wiebe_progress": case("-", (0.4, "-")),
    "burn.wiebe_rate": case("-", (0.4, "-")),
    "discharge.estimated_effective_area": case(
        "m2; m2", (0.008, "m"), (0.045, "m"), ("intake", "-")
    ),
    "discharge.estimated_reverse_area": case("m2; m2", (4e-4, "m2")),
    "discharge.literature_discharge": case("-; -", (0.2, "-"), ("exhaust", "-")),
    "charge_motion.dissipation": case("W", (0.02, "J"), (4e-4, "kg"), (3e-3, "m")),
    "charge_motion.jet_energy": case(
        "J/kg", (1e5, "Pa"), (1.2, "kg/m3"), (30.0, "m/s"), (1.4, "-"), (0.8e5, "Pa")
    ),
    "charge_motion.mixing_length": case("m", (0.015, "m"), (0.08, "m")),
    "charge_motion.production": case("W", (0.05, "J"), (0.02, "J"), (4e-4, "kg"), (3e-3, "m")),
    "charge_motion.squeezed_energy": case("J", (0.02, "J"), (1.2, "kg/m3"), (9.0, "kg/m3")),
    "charge_motion.turbulence_intensity": case("m/s", (0.02, "J"), (4e-4, "kg")),
    "entrainment.burning_time": case("s", (1e-3, "m"), (0.8, "m/s")),
    "entrainment.entrainment_rates": case(
        "kg/s; kg/s",
        (9.0, "kg/m3"),
        (3e-3, "m2"),
        (0.8, "m/s"),
        (9.0, "m/s"),
        (1e-5, "kg"),
        (1e-3, "s"),
        (4e-4, "s"),
        (2e-3, "s"),
    ),
    "entrainment.integral_length": case("m", (0.01, "m"), (9.0, "kg/m3"), (12.0, "kg/m3")),
    "entrainment.taylor_microscale": case("m", (2e-3, "m"), (12.0, "m/s"), (4e-6, "m2/s")),
    "entrainment.intensity_ahead": case("m/s", (6.0, "m/s"), (9.0, "kg/m3"), (12.0, "kg/m3")),
    "entrainment.turbulent_speed": case("m/s", (6.0, "m/s")),
    "finite_heat.pressure_slope": case(
        "Pa/rad", (2e6, "Pa"), (1e-4, "m3"), (2e-4, "m3/rad"), (900.0, "J/rad"), (1.3, "-")
    ),
    "flow_bench.effective_area_compressible": case(
        "m2", (0.1, "m3/s"), (7e3, "Pa"), (1e5, "Pa"), (290.0, "K"), GAS, (1.4, "-")
    ),
    "flow_bench.effective_area_incompressible": case(
        "m2", (0.1, "m3/s"), (7e3, "Pa"), (1.2, "kg/m3")
    ),
    "flow_bench.flow_at_depression": case("m3/s", (0.1, "m3/s"), (2e3, "Pa"), (7e3, "Pa")),
    "flow_bench.ideal_velocity": case("m/s", (7e3, "Pa"), (1.2, "kg/m3")),
    "flow_bench.volume_flow_compressible": case(
        "m3/s", (1e-3, "m2"), (7e3, "Pa"), (1e5, "Pa"), (290.0, "K"), GAS, (1.4, "-")
    ),
    "friction.friction_power": case("W", (1e5, "Pa"), (2e-3, "m3"), (600.0, "rad/s")),
    "friction_engine.piston_motion": case(
        "m/s; m/s2", (ANGLE, "rad"), (0.08, "m"), (0.14, "m"), (600.0, "rad/s")
    ),
    "friction_parts.bearing_power": case(
        "W", (8e-3, "Pa s"), (600.0, "rad/s"), (0.06, "m"), (0.02, "m"), (6e-5, "m")
    ),
    "friction_parts.follower_work": case(
        "J",
        (0.01 * np.sin(ANGLE / 2.0) ** 2, "m"),
        (ANGLE, "rad"),
        (400.0, "N"),
        (5e4, "N/m"),
        (1.5, "-"),
        (0.015, "m"),
        (0.08, "-"),
        (0.05, "-"),
        (0.009, "m"),
        (0.04, "m"),
        (0.1, "kg"),
        (300.0, "rad/s"),
    ),
    "friction_parts.mean_pressure_of_work": case("Pa", (30.0, "J"), (2e-3, "m3")),
    "friction_parts.reciprocating_force": case(
        "N", (4e6, "Pa"), (1e5, "Pa"), (0.09, "m"), (0.5, "kg"), (9e3, "m/s2")
    ),
    "friction_parts.ring_force": case(
        "N",
        (1e6, "Pa"),
        (5.0, "m/s"),
        (8e-3, "Pa s"),
        (0.09, "m"),
        (1e-3, "m"),
        (2e5, "Pa"),
        (0.12, "-"),
        (4.8, "-"),
        (1.0, "m/s"),
    ),
    "friction_parts.rod_side_thrust": case("N", (5e3, "N"), (1.0, "rad"), (0.08, "m"), (0.14, "m")),
    "friction_parts.skirt_force": case(
        "N",
        (900.0, "N"),
        (5.0, "m/s"),
        (8e-3, "Pa s"),
        (4e-3, "m2"),
        (2e-5, "m"),
        (0.03, "-"),
        (2.0, "m/s"),
    ),
    "friction_parts.stroke_work": case(
        "J", (ANGLE + 1.0, "N"), (np.sin(ANGLE), "m/s"), (ANGLE, "rad"), (300.0, "rad/s")
    ),
    "gas.blend_coefficients": case("J/(kg K)", TABLE_3, (0.05, "-"), (0.2, "-")),
    "gas.blend_gas_constant": case(
        "J/(kg K)", (np.array([287.0, 73.0, 290.0]), "J/(kg K)"), (0.05, "-"), (0.2, "-")
    ),
    "gas.entropy_function": case("J/(kg K)", (700.0, "K"), COEFFICIENTS, GAS, held=K),
    "gas.heat_ratio": case("-", (700.0, "K"), COEFFICIENTS, GAS, held=K),
    "gas.sound_speed": case("m/s", (700.0, "K"), COEFFICIENTS, GAS, held=K),
    "gas.specific_enthalpy": case("J/kg", (700.0, "K"), COEFFICIENTS, GAS, held=K),
    "gas.specific_heat_pressure": case("J/(kg K)", (700.0, "K"), COEFFICIENTS, GAS, held=K),
    "gas.specific_heat_volume": case("J/(kg K)", (700.0, "K"), COEFFICIENTS, held=K),
    "gas.temperature_from_energy": case("K", (5e5, "J/kg"), COEFFICIENTS, held=K),
    "gas.temperature_from_enthalpy": case("K", (5e5, "J/kg"), COEFFICIENTS, GAS, held=K),
    "gas.thermal_energy": case("J/kg", (700.0, "K"), COEFFICIENTS, held=K),
    "ideal_cycle.diesel_efficiency": case("-", (18.0, "-"), (2.0, "-")),
    "ideal_cycle.dual_efficiency": case("-", (15.0, "-"), (1.5, "-"), (1.4, "-")),
    "ideal_cycle.ideal_volumetric_efficiency": case("-", (10.0, "-"), (1.1, "-")),
    "ideal_cycle.otto_efficiency": case("-", (10.0, "-")),
    "knock.knock_onset": case("s", (ANGLE, "s"), (ANGLE / 3.0, "-")),
    "drain_flow.annulus_laminar_factor": case("-", (0.6, "-")),
    "drain_flow.flat_laminar_factor": case("-", (0.6, "-")),
    "drain_flow.friction_factor": case("-", (1500.0, "-"), (1e-3, "-"), (80.0, "-")),
    "orifice.critical_pressure_ratio": case("-", (1.4, "-")),
    "orifice.flow_function": case("-", (0.8, "-"), (1.4, "-")),
    "orifice.mass_flow": case(
        "kg/s", (1e-3, "m2"), (2e5, "Pa"), (300.0, "K"), (1.5e5, "Pa"), GAS, (1.4, "-")
    ),
    "orifice.signed_mass_flow": case(
        "kg/s", (1e-3, "m2"), (9e-4, "m2"), *UPSTREAM, (2.2e5, "Pa"), (900.0, "K"), GAS, (1.3, "-")
    ),
    "orifice.throat_mach": case("-", (0.8, "-"), (1.4, "-")),
    "orifice_plate.discharge_uncertainty": case("-", (0.1, "m"), (0.05, "m")),
    "orifice_plate.expansibility": case(
        "-", (0.1, "m"), (0.05, "m"), (1e5, "Pa"), (9e4, "Pa"), (1.4, "-")
    ),
    "cam.lift_harmonics": case("m", (LIFT, "m")),
    "cam.overlap_area": case("m rad", (LIFT, "m"), (LIFT, "m"), (0.01, "rad")),
    "cam_contact.contact_modulus": case(
        "Pa", (2e11, "Pa"), (1.6e11, "Pa"), (0.29, "-"), (0.28, "-")
    ),
    "cam_contact.face_reach": case("m", (8e-3, "m"), (11e-3, "m"), (1e-3, "m")),
    "cam_contact.flat_contact_offset": case("m", (8e-3, "m/rad")),
    "cam_contact.flat_curvature": case("m", (15e-3, "m"), (3e-3, "m"), (-8e-3, "m/rad^2")),
    "cam_contact.line_contact_pressure": case(
        "Pa", (900.0, "N"), (11e-3, "m"), (90.0, "1/m"), (1e11, "Pa")
    ),
    "cam_contact.relative_curvature": case("1/m", (9e-3, "m"), (8e-3, "m")),
    "cam_contact.roller_curvature": case(
        "m", (28e-3, "m"), (5e-3, "m/rad"), (-6e-3, "m/rad^2"), (9e-3, "m")
    ),
    "cam_contact.roller_pressure_angle": case("rad", (28e-3, "m"), (5e-3, "m/rad")),
    "cam_profiles.profile_lobe_lift": case(
        "m", ("345", "-"), (7e-3, "m"), (2.4, "rad"), (0.6, "rad")
    ),
    "cam_profiles.profile_rise": case("m", ("4567", "-"), (7e-3, "m"), (2.4, "rad"), (0.6, "rad")),
    "cam_profiles.smooth_lobe": case("m", (7e-3, "m"), (3.1, "rad"), (0.6, "rad")),
    "rocker.guide_forces": case(
        "N; N", (900.0, "N"), (1e-3, "m"), (0.1, "-"), (0.02, "m"), (0.046, "m")
    ),
    "rocker.least_tip_travel": case("m", (0.036, "m"), (0.01, "m")),
    "rocker.square_arm_angle": case("rad", (0.036, "m"), (0.01, "m"), (0.15, "rad"), (0.02, "rad")),
    "spring_fatigue.torsional_strength": case("Pa", (1.7e9, "Pa")),
    "spring_fatigue.stress_amplitude_and_mean": case("Pa; Pa", (3e8, "Pa"), (7e8, "Pa")),
    "spring_load.installed_height": case("m", (0.046, "m"), (0.007, "m"), (5e-4, "m"), (2e-3, "m")),
    "spring_surge.resonant_speeds": case("rad/s", (450.0, "Hz"), (9.0, "-")),
    "spring_surge.surge_load": case("N", (3e4, "N/m"), (1e-5, "m"), (0.01, "-")),
    "spring_surge.surge_order": case("-", (450.0, "Hz"), (600.0, "rad/s")),
    "spring.active_mass": case("kg", (0.004, "m"), (0.026, "m"), (4.5, "-"), (7850.0, "kg/m3")),
    "spring.bergstrasser_factor": case("-", (6.5, "-")),
    "spring.combined_rate": case("N/m", (3e4, "N/m"), (1e4, "N/m")),
    "spring.shear_stress": case("Pa", (800.0, "N"), (0.004, "m"), (0.026, "m"), (1.2, "-")),
    "spring.solid_length": case("m", (0.004, "m"), (6.5, "-"), (1.0, "-")),
    "spring.spring_index": case("-", (0.004, "m"), (0.026, "m")),
    "spring.spring_rate": case("N/m", (0.004, "m"), (0.026, "m"), (4.5, "-"), (79e9, "Pa")),
    "spring.surge_frequency": case("Hz", (3e4, "N/m"), (0.04, "kg")),
    "spring.wahl_factor": case("-", (6.5, "-")),
    "transport.conductivity": case("W/(m K)", (2e-5, "Pa s"), (720.0, "J/(kg K)"), GAS),
    "transport.prandtl_number": case("-", (720.0, "J/(kg K)"), GAS),
    "valve_area.curtain_area": case("m2", (0.01, "m"), (0.045, "m")),
    "valve_area.minimum_area": case(
        "m2",
        (0.006, "m"),
        (0.045, "m"),
        (0.0015, "m"),
        (0.785, "rad"),
        (0.039, "m"),
        (0.008, "m"),
    ),
    "valve_area.stage_limits": case(
        "m; m", (0.045, "m"), (0.0015, "m"), (0.785, "rad"), (0.039, "m"), (0.008, "m")
    ),
    "wall_heat.annand_coefficient": case(
        "W/(m2 K)",
        (0.1, "m"),
        (0.1, "W/(m K)"),
        (6e-5, "Pa s"),
        (6.0, "kg/m3"),
        (15.0, "m/s"),
        (0.5, "-"),
    ),
    "wall_heat.woschni_velocity": case(
        "m/s",
        (15.0, "m/s"),
        (2.28, "-"),
        (3.24e-3, "m/(s K)"),
        (5e-4, "m3"),
        (330.0, "K"),
        (1e5, "Pa"),
        (5.6e-4, "m3"),
        (4e6, "Pa"),
        (2e6, "Pa"),
    ),
}

FITTED: dict[str, str] = {
    "burn.laminar_speed": "m/s",
    "burned_gas.burned_state": ("J/kg; J/(kg K); J/kg; J/(kg K); J/(kg K2); J/(kg K)"),
    "burned_gas.burned_table": "J/kg; J/(kg K)",
    "burned_gas.charge_mass_fractions": "-",
    "burned_gas.flame_at_constant_pressure": "K",
    "burned_gas.flame_at_constant_volume": "K; Pa",
    "cam.lift_crossings": "rad",
    "cam.lobe_events": "rad",
    "composition.air_mole_fractions": "-",
    "composition.atoms_per_kg": "mol/kg",
    "composition.burned_moles": "mol per kg fuel",
    "composition.oxygen_demand": "mol O2 / kg fuel",
    "composition.stoichiometric_air_fuel_ratio": "kg/kg",
    "equilibrium.product_enthalpies": "J/mol",
    "flame_geometry.flame_areas": "m3; m2",
    "flame_geometry.flame_lookup": "m2",
    "friction.barnes_moss_pressure": "Pa",
    "friction.chen_flynn_pressure": "Pa",
    "friction.patton_pressures": "Pa",
    "friction.quadratic_pressure": "Pa",
    "friction_engine.auxiliary_pressure": "Pa",
    "friction_parts.oil_viscosity": "Pa s",
    "drain_flow.channel_flow": "m3/s",
    "drain_flow.drain_capacity": "m3/s",
    "drain_flow.emptying_time": "s",
    "drain_flow.orifice_flow": "m3/s",
    "drain_flow.passage_flow": "m3/s",
    "drain_flow.saddle_flow": "m3/s",
    "drain_flow.weir_flow": "m3/s",
    "oil_standing.capacity_margin": "-",
    "oil_standing.safe_level": "m",
    "fuel.charge_temperature": "K",
    "fuel.heating_value_liquid": "J/kg",
    "fuel.heating_value_vapour": "J/kg",
    "fuel.vaporised_fraction_limit": "-",
    "fuel.vapour_pressure": "Pa",
    "gas.frozen_mixture": "J/(kg K); J/(kg K); J/kg",
    "knock.autoignition_delay": "s",
    "knock.knock_integral": "-",
    "orifice_plate.discharge_coefficient": "-",
    "orifice_plate.plate_mass_flow": "kg/s",
    "residual.fox_residual_fraction": "-",
    "rocker.wanted_shaft_height": "m",
    "species.mean_molar_mass": "kg/mol",
    "spring_fatigue.endurance_amplitude": "Pa",
    "spring_fatigue.goodman_reserve": "-",
    "spring_fatigue.wire_strength": "Pa",
    "species.to_mass_fractions": "-",
    "transport.air_viscosity": "Pa s",
    "transport.viscosity": "Pa s",
    "wall_heat.annand_heat_flux": "W/m2",
    "wall_heat.hohenberg_coefficient": "W/(m2 K)",
    "wall_heat.woschni_coefficient": "W/(m2 K)",
    "weather.saturation_pressure": "Pa",
    "weather.standard_atmosphere_pressure": "Pa",
    "weather.vapour_pressure_from_wet_bulb": "Pa",
}
"""Unit of relations with constants in fixed units (fits, tables, molar data)."""

RECORDS = {
    "burn.laminar_fit",
    "cam.smooth_lift_table",
    "discharge.measured_flow_curve",
    "equilibrium.equilibrium",
    "finite_heat.finite_heat_cycle",
    "flame_geometry.chamber",
    "flame_geometry.disc_chamber",
    "flame_geometry.domed_chamber",
    "flame_geometry.flame_table",
    "flame_geometry.squish_chamber",
    "friction_engine.engine_friction",
    "fuel.blend",
    "fuel.fuel",
    "gas.gas_model",
    "ideal_cycle.otto_cycle",
    "power_correction.din_70020",
    "power_correction.iso_1585",
    "power_correction.sae_j1349",
    "power_correction.sae_j607",
    "oil_standing.steady_oil",
    "species.species",
    "spring_load.fit_load_line",
    "spring_load.line_from_rate",
    "species.species_names",
    "weather.moist_air",
}
"""Functions that return a record; its fields carry their units in the class's docstring."""


def public(kind: Any) -> dict[str, Any]:
    found = {}
    for name in MODULES:
        module = importlib.import_module(f"headwright.physics.{name}")
        for item in module.__all__:
            if kind(getattr(module, item)):
                found[f"{name}.{item}"] = getattr(module, item)
    return found


FUNCTIONS = public(inspect.isfunction)


def test_every_public_relation_is_listed_once() -> None:
    listed = [*SCALED, *FITTED, *RECORDS]
    assert len(listed) == len(set(listed))
    assert set(listed) == set(FUNCTIONS)


def scaled(value: Any, unit: str, factors: np.ndarray) -> Any:
    if isinstance(value, str):
        return value
    return value * float(np.prod(factors ** exponents(unit)))


def follow_a_change_of_units(function: Any, entry: Case) -> None:
    draw = np.random.default_rng(7)
    plain = function(*(value for value, _ in entry.arguments))
    for _ in range(3):
        factors = draw.uniform(0.4, 2.5, len(AXES))
        for axis in entry.held:
            factors[AXES.index(axis)] = 1.0
        changed = function(*(scaled(value, unit, factors) for value, unit in entry.arguments))
        before = plain if isinstance(plain, tuple) else (plain,)
        after = changed if isinstance(changed, tuple) else (changed,)
        assert len(before) == len(after) == len(entry.returns)
        for unit, old, new in zip(entry.returns, before, after, strict=True):
            np.testing.assert_allclose(new, scaled(old, unit, factors), rtol=1e-9)


@pytest.mark.prop
@pytest.mark.parametrize("name", sorted(SCALED))
def test_result_follows_a_change_of_units(name: str) -> None:
    follow_a_change_of_units(FUNCTIONS[name], SCALED[name])


@pytest.mark.prop
def test_a_wrong_unit_is_caught() -> None:
    """The mechanism itself: an energy returned as a speed, and a hidden dimensional constant."""
    with pytest.raises(AssertionError):
        follow_a_change_of_units(lambda speed: 0.5 * speed**2, case("m/s", (3.0, "m/s")))
    with pytest.raises(AssertionError):
        follow_a_change_of_units(lambda speed: speed + 1.4, case("m/s", (3.0, "m/s")))


@pytest.mark.parametrize("name", sorted({*SCALED, *FITTED}))
def test_docstring_names_the_unit(name: str) -> None:
    text = inspect.getdoc(FUNCTIONS[name]) or ""
    units = SCALED[name].returns if name in SCALED else FITTED[name].split("; ")
    head = text.split("Args:")[0]
    rest = text.split("Returns:")[1] if "Returns:" in text else ""
    for unit in units:
        assert f"[{unit}]" in head + rest, f"{name} does not say it returns [{unit}]"


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_docstring_has_every_argument(name: str) -> None:
    text = inspect.getdoc(FUNCTIONS[name]) or ""
    for argument in inspect.signature(FUNCTIONS[name]).parameters:
        assert re.search(rf"^\s+{argument}: ", text, re.MULTILINE), f"{name}: {argument}"


@pytest.mark.parametrize(
    ("name", "record"),
    sorted(public(lambda item: inspect.isclass(item) and is_dataclass(item)).items()),
)
def test_record_fields_have_units(name: str, record: type) -> None:
    text = inspect.getdoc(record) or ""
    for field in fields(record):
        found = re.search(
            rf"^\s+{field.name}: (.*?)(?=^\s+\w+: |\Z)", text, re.MULTILINE | re.DOTALL
        )
        assert found, f"{name}.{field.name} is not described"
        if field.type not in {"str", "bool"} and "Mapping[str, int]" not in str(field.type):
            assert "[" in found.group(1), f"{name}.{field.name} has no unit"


@pytest.mark.prop
def test_table_units_are_those_of_its_gas() -> None:
    """The burned-gas table's gas constant is a gas constant, its energy an energy per mass."""
    table = burned_table(charge_mass_fractions({"isooctane": 1.0}, 1.0))
    assert 280.0 < table[0, 0, 4] < 300.0
    assert -4e6 < table[0, 0, 0] < -1e6
