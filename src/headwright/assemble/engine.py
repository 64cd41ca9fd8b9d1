"""An engine case from the records of a trial: nothing is wired by hand."""

from __future__ import annotations

from typing import Literal

from headwright.assemble.engine_cylinders import cylinder_shapes, firing_angles
from headwright.assemble.engine_friction import friction_of
from headwright.assemble.engine_gas import air_of, charge_of, ignition_of
from headwright.assemble.engine_notes import Notes
from headwright.assemble.engine_pipes import Cells, pipe_work
from headwright.assemble.engine_ports import port_shapes
from headwright.assemble.engine_valves import head_diameter, lift_curve, port_flow, valve_opening
from headwright.assemble.trial import Trial
from headwright.simulation.cycle import (
    Charge,
    Combustion,
    Cylinder,
    EngineCase,
    WallHeat,
)

__all__ = ["Cells", "engine_case"]


def _no_charge() -> Charge:
    """Stands in until the problem that was noted is raised."""
    return Charge.perfect()


def engine_case(
    trial: Trial,
    *,
    cells: Cells | None = None,
    combustion: Combustion | None = None,
    wall_heat: WallHeat | None = None,
    search_ignition: bool = False,
) -> EngineCase:
    """Put an engine together from a build and its casting.

    Figures the records do not hold are assumed where a usual one can stand in; each is listed
    as a fact in ``case.assumptions`` with where it would stand and why the stand-in was taken.
    ``case.sources`` says what flow, lift, fuel and ignition rest on.

    Args:
        trial: The build on its casting.
        cells: Lengths of the duct cells.
        combustion: Another model of burning than the entrainment flame.
        wall_heat: Another model of wall heat than Woschni's.
        search_ignition: Search the best ignition even if the build has a curve.

    Raises:
        RecordError: With everything that is missing or contradicts itself, each with its path.
    """
    notes = Notes()
    air = air_of(trial, notes)
    charge = charge_of(trial, air, notes) or _no_charge()
    firing = firing_angles(trial, notes)
    shapes = cylinder_shapes(trial, notes)
    sides: tuple[Literal["intake"], Literal["exhaust"]] = ("intake", "exhaust")
    lifts = {side: lift_curve(trial, side, notes) for side in sides}
    flows = {side: port_flow(trial, side, notes) for side in sides}
    for cylinder in trial.cylinders:
        for side in sides:
            head_diameter(trial, cylinder, side, notes)
    if trial.bundle.breathing is None:
        notes.missing(f"build {trial.build.tag}: breathing", "breathing (pipes, throttles)")
    notes.settle()
    ports = port_shapes(trial, notes)
    work = pipe_work(trial, ports, air, charge, cells or Cells(), notes)
    notes.settle()
    cylinders = tuple(
        Cylinder(
            name=f"cylinder {shape.facts.number}",
            motion=shape.motion,
            bore=shape.bore,
            clearance_volume=shape.clearance,
            firing_angle=firing[shape.facts.number],
            intake=valve_opening(
                trial,
                shape.facts,
                "intake",
                lifts["intake"],
                flows["intake"],
                work.valve_ends["intake", shape.facts.number],
                notes,
            ),
            exhaust=valve_opening(
                trial,
                shape.facts,
                "exhaust",
                lifts["exhaust"],
                flows["exhaust"],
                work.valve_ends["exhaust", shape.facts.number],
                notes,
            ),
            head_area=shape.head_area,
            crown_area=shape.crown_area,
            flame=shape.flame,
        )
        for shape in shapes
    )
    friction = friction_of(trial, {side: lifts[side] for side in sides}, notes)
    ignition = ignition_of(trial, notes)
    if search_ignition:
        ignition = type(ignition)()
    notes.settle()
    return EngineCase(
        name=f"build {trial.build.tag} on {trial.casting.tag}",
        cylinders=cylinders,
        charge=charge,
        air=air,
        ducts=tuple(work.ducts),
        joints=tuple(work.joints),
        vessels=tuple(work.vessels),
        combustion=combustion or Combustion(),
        ignition=ignition,
        wall_heat=wall_heat or WallHeat(),
        friction=friction,
        assumptions=tuple(notes.assumptions),
        sources=dict(notes.sources),
    )
