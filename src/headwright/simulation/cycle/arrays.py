"""An engine case as the arrays its kernels work on."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from headwright.kernels import cylinder_layout as cl
from headwright.kernels import layout as at
from headwright.kernels import march as clockwork
from headwright.simulation.cycle.case import CYCLE, Cylinder, EngineCase
from headwright.simulation.network.arrays import NetworkArrays, build_arrays
from headwright.simulation.network.joint_lines import JointLines

__all__ = ["EngineArrays", "build_engine_arrays", "copy_for_run"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_HEAT_MODELS = {"none": cl.ADIABATIC, "woschni": cl.WOSCHNI, "hohenberg": cl.HOHENBERG}
_BURN_MODELS = {"none": cl.MOTORED, "wiebe": cl.WIEBE, "flame": cl.ENTRAINMENT}


@dataclass(frozen=True, slots=True, eq=False)
class EngineArrays:
    """Everything the engine march needs; changed by the run.

    Attributes:
        network: Arrays of the gas dynamics.
        first_vessel: Line of the first cylinder in the vessels array.
        states: Of the cylinders, shape (cylinders, STATE).
        figures: Of the cylinders, shape (cylinders, FIGURES).
        engine: Figures of the engine, shape (ENGINE_FIGURES,).
        constituents: See :class:`~headwright.simulation.cycle.charge.Charge`.
        products: The same.
        depths: Piston depths of the flame tables, shape (cylinders, d).
        areas: Flame tables one after another, shape (cylinders * d, b, 4).
        valves: Whole numbers of the valves, shape (2 * cylinders, VALVE_INTEGERS).
        valve_sums: Their sums, shape (2 * cylinders, VALVE_SUMS).
        history: By cylinder and whole degree, shape (cylinders, 721, HISTORY_COLUMNS).
        account: Sums of the whole engine, shape (ACCOUNT,).
        clock: Of the march.
        counts: Of the march.
    """

    network: NetworkArrays
    first_vessel: int
    states: FloatArray
    figures: FloatArray
    engine: FloatArray
    constituents: FloatArray
    products: FloatArray
    depths: FloatArray
    areas: FloatArray
    valves: IntArray
    valve_sums: FloatArray
    history: FloatArray
    account: FloatArray
    clock: FloatArray
    counts: IntArray


def build_engine_arrays(case: EngineCase) -> EngineArrays:
    """Lay an engine out for the kernels, at rest, crank at angle 0."""
    network = build_arrays(case.network)
    count = len(case.cylinders)
    first = network.vessels_by_name[case.cylinders[0].name]
    network.vessel_kinds[first : first + count, 0] = at.FOREIGN
    engine = _engine_figures(case)
    figures = np.stack([_figures(cylinder, place) for place, cylinder in enumerate(case.cylinders)])
    depths, areas = _flame_tables(case.cylinders)
    valves = np.full((2 * count, cl.VALVE_INTEGERS), -1, dtype=np.int64)
    for place, cylinder in enumerate(case.cylinders):
        for side, valve in enumerate((cylinder.intake, cylinder.exhaust)):
            line = valves[2 * place + side]
            line[cl.VALVE_CYLINDER] = place
            line[cl.VALVE_SIDE] = side
            if not isinstance(valve.port, str):
                line[cl.VALVE_END] = network.ends_by_name[valve.port]
    arrays = EngineArrays(
        network=network,
        first_vessel=first,
        states=np.zeros((count, cl.STATE)),
        figures=figures,
        engine=engine,
        constituents=np.ascontiguousarray(case.charge.constituents),
        products=np.ascontiguousarray(case.charge.products),
        depths=depths,
        areas=areas,
        valves=valves,
        valve_sums=np.zeros((2 * count, cl.VALVE_SUMS)),
        history=np.zeros((count, cl.HISTORY_MARKS, cl.HISTORY_COLUMNS)),
        account=np.zeros(cl.ACCOUNT),
        clock=np.zeros(clockwork.CLOCK_SIZE),
        counts=np.zeros(clockwork.COUNTS_SIZE, dtype=np.int64),
    )
    _fill_cylinders(case, arrays)
    return arrays


def _engine_figures(case: EngineCase) -> FloatArray:
    burn, walls, charge = case.combustion, case.wall_heat, case.charge
    engine = np.zeros(cl.ENGINE_FIGURES)
    engine[cl.HEAD_WALL] = walls.head_temperature
    engine[cl.CROWN_WALL] = walls.crown_temperature
    engine[cl.LINER_WALL] = walls.liner_temperature
    engine[cl.HEAT_MODEL] = _HEAT_MODELS[walls.model]
    engine[cl.HEAT_FACTOR] = walls.factor
    engine[cl.BURN_MODEL] = _BURN_MODELS[burn.model]
    engine[cl.WIEBE_DELAY] = burn.wiebe_delay
    engine[cl.WIEBE_DURATION] = burn.wiebe_duration
    engine[cl.WIEBE_A] = burn.wiebe_completeness
    engine[cl.WIEBE_M] = burn.wiebe_form
    engine[cl.BURNABLE] = burn.burnable_share
    (
        engine[cl.LAMINAR_REFERENCE],
        engine[cl.LAMINAR_ALPHA],
        engine[cl.LAMINAR_BETA],
        engine[cl.LAMINAR_PETROL],
    ) = charge.laminar
    engine[cl.TURBULENT_FACTOR] = burn.turbulence_factor
    engine[cl.LENGTH_FACTOR] = burn.length_factor
    engine[cl.DELAY_FACTOR] = 0.01768 * (charge.octane / 100.0) ** 3.402
    engine[cl.TRANSFER] = burn.transfer_factor
    engine[cl.EVAPORATION] = burn.evaporation_angle if charge.vapour_share < 1.0 else 0.0
    engine[cl.WALL_EVAPORATION] = burn.wall_evaporation * charge.evaporation_heat
    engine[cl.SEED_RADIUS] = burn.seed_radius
    engine[cl.FRESH_FUEL] = charge.fuel_share
    return engine


def _figures(cylinder: Cylinder, place: int) -> FloatArray:
    motion = cylinder.motion
    line = np.zeros(cl.FIGURES)
    line[cl.PHASE] = -cylinder.firing_angle % CYCLE
    line[cl.PISTON_SECTION] = cylinder.section
    line[cl.CLEARANCE] = cylinder.clearance_volume
    line[cl.THROW] = motion.crank_radius
    line[cl.ROD] = motion.rod_length
    line[cl.PIN_OFFSET] = motion.pin_offset
    line[cl.TOP_HEIGHT] = motion.top_pin_height
    line[cl.TOP_THROW] = motion.top_throw_angle
    line[cl.BORE] = cylinder.bore
    line[cl.HEAD_AREA] = cylinder.head_area
    line[cl.CROWN_AREA] = cylinder.crown_area
    line[cl.SHUTS] = cylinder.intake.span()[1]
    line[cl.OPENS] = cylinder.exhaust.span()[0]
    line[cl.SPARK] = -100.0
    line[cl.JET] = cylinder.section / float(cylinder.intake.forward.max())
    line[cl.LARGEST_LIFT] = cylinder.intake.largest_lift
    line[cl.FLAME_FIRST] = -1.0
    line[cl.SWEPT] = cylinder.swept_volume
    if cylinder.flame is not None:
        line[cl.CROWN_DEPTH] = cylinder.flame.depths[0]
        line[cl.LINER_GAP] = cylinder.flame.depths[0]
        line[cl.FLAME_FIRST] = place
    return line


def _flame_tables(cylinders: tuple[Cylinder, ...]) -> tuple[FloatArray, FloatArray]:
    tables = [cylinder.flame for cylinder in cylinders]
    known = next((table for table in tables if table is not None), None)
    if known is None:
        return np.zeros((1, 2)), np.zeros((2, 2, 4))
    used = [known if table is None else table for table in tables]
    return (
        np.stack([table.depths for table in used]),
        np.ascontiguousarray(np.concatenate([table.areas for table in used])),
    )


def _fill_cylinders(case: EngineCase, arrays: EngineArrays) -> None:
    """Fresh charge at the outside pressure in every cylinder, at its volume at crank angle 0."""
    gas = case.charge.network_gas
    fuel = case.charge.fuel_share
    temperature = case.charge.temperature
    constant = gas.mixture_gas_constant(0.0, fuel)
    for place, cylinder in enumerate(case.cylinders):
        angle = arrays.figures[place, cl.PHASE]
        volume = cylinder.clearance_volume + cylinder.section * float(
            cylinder.motion.position(angle)
        )
        mass = case.air.pressure * volume / (constant * temperature)
        vessel = arrays.network.vessels[arrays.first_vessel + place]
        vessel[at.VESSEL_MASS] = mass
        vessel[at.VESSEL_ENERGY] = mass * gas.internal_energy(temperature, 0.0, fuel)
        vessel[at.VESSEL_BURNED_MASS] = 0.0
        vessel[at.VESSEL_VAPOUR_MASS] = mass * fuel
        vessel[at.VESSEL_VOLUME] = volume


def copy_for_run(arrays: EngineArrays, crank_speed: float, stroke: float) -> EngineArrays:
    """A copy that a run may change, set to a crank speed [rad/s].

    Args:
        arrays: What to copy; constant parts are shared.
        crank_speed: [rad/s].
        stroke: Mean of the cylinders [m].
    """
    old = arrays.network
    joints: JointLines = replace(
        old.joints,
        numbers=old.joints.numbers.copy(),
        schedule_places=old.joints.schedule_places.copy(),
        schedule_numbers=old.joints.schedule_numbers.copy(),
    )
    by_angle = np.abs(joints.schedule_numbers[:, at.SCHEDULE_PERIOD] - CYCLE) < 1e-9
    joints.schedule_numbers[by_angle, at.SCHEDULE_RATE] = crank_speed
    network = replace(
        old,
        field=_aligned_copy(old.field),
        work=_aligned_copy(old.work),
        ends=old.ends.copy(),
        joints=joints,
        vessels=old.vessels.copy(),
    )
    engine = arrays.engine.copy()
    engine[cl.CRANK_SPEED] = crank_speed
    engine[cl.PISTON_SPEED] = stroke * crank_speed / math.pi
    return replace(
        arrays,
        network=network,
        states=arrays.states.copy(),
        figures=arrays.figures.copy(),
        engine=engine,
        valve_sums=np.zeros_like(arrays.valve_sums),
        history=arrays.history.copy(),
        account=np.zeros(cl.ACCOUNT),
        clock=np.zeros_like(arrays.clock),
        counts=np.zeros_like(arrays.counts),
    )


def _aligned_copy(values: FloatArray) -> FloatArray:
    """A copy whose first element starts a cache line."""
    whole = np.empty(values.size + 8)
    skip = (-whole.ctypes.data // 8) % 8
    part = whole[skip : skip + values.size]
    part[:] = values
    return part
