"""The rocker chamber's floor as oil sees it, and how the engine's oil is used."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from headwright.records.base import Name, Part, Text
from headwright.records.measured import Figure, In, Measured

__all__ = ["FloorCompartment", "FloorPoint", "FloorSaddle", "OilUse"]


class FloorPoint(Part):
    """One corner of a compartment of the rocker chamber's floor."""

    x: Annotated[Measured, In("face_position")]
    y: Annotated[Measured, In("face_position")]


class FloorCompartment(Part):
    """A part of the rocker chamber's floor that holds oil of its own.

    Either four sides along and across, or an outline of corners. Heights of a compartment count
    from its own floor; ``floor`` says how far that lies above the lowest of them.
    """

    name: Name
    x_low: Annotated[Figure, In("face_position")] = None
    x_high: Annotated[Figure, In("face_position")] = None
    y_low: Annotated[Figure, In("face_position")] = None
    y_high: Annotated[Figure, In("face_position")] = None
    outline: Annotated[tuple[FloorPoint, ...], Field(max_length=200)] = ()
    floor: Annotated[Figure, In("oil_height")] = None
    filled: Annotated[Figure, In("floor_filled")] = None
    safe_height: Annotated[Figure, In("oil_height")] = None
    wall_height: Annotated[Figure, In("oil_height")] = None
    note: Text = ""


class FloorSaddle(Part):
    """The lowest place between two compartments, where oil runs from one to the other."""

    first: Name
    second: Name
    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    width: Annotated[Figure, In("port_width")] = None
    runs: Literal["along", "across"] = "across"
    height: Annotated[Figure, In("oil_height")] = None
    note: Text = ""


class OilUse(Part):
    """The oil of a build, and how the engine lies: running, cornering, parked.

    A roll lowers the side of positive y, a pitch the end of positive x; a side acceleration is
    positive where it throws the oil towards positive y.
    """

    viscosity_40: Annotated[Figure, In("oil_kinematic_viscosity")] = None
    viscosity_100: Annotated[Figure, In("oil_kinematic_viscosity")] = None
    density: Annotated[Figure, In("oil_density")] = None
    temperature: Annotated[Figure, In("oil_temperature")] = None
    installed_roll: Annotated[Figure, In("engine_tilt")] = None
    installed_pitch: Annotated[Figure, In("engine_tilt")] = None
    side_acceleration: Annotated[Figure, In("side_acceleration", intended=True)] = None
    parked_roll: Annotated[Figure, In("engine_tilt")] = None
    parked_pitch: Annotated[Figure, In("engine_tilt")] = None
    note: Text = ""
