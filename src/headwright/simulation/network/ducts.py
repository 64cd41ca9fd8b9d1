"""Ducts of a network: where they are wide and narrow, what their walls do, what fills them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError
from headwright.simulation.network.area_curve import monotone_cubic

__all__ = [
    "Bend",
    "Duct",
    "DuctEnd",
    "FixedFriction",
    "GasProfile",
    "GasState",
    "RoughWall",
    "Station",
    "finish_of",
    "start_of",
]

FloatArray = npt.NDArray[np.float64]

_MIN_CELLS = 3


@dataclass(frozen=True, slots=True)
class GasState:
    """State of the gas at rest or in motion.

    Args:
        pressure: Static pressure [Pa].
        temperature: Static temperature [K].
        velocity: Velocity [m/s], positive from the start of a duct to its finish.
        burned_fraction: Mass fraction of burned gas, 0 to 1.
        vapour_fraction: Mass fraction of fuel vapour, 0 to 1.
    """

    pressure: float
    temperature: float
    velocity: float = 0.0
    burned_fraction: float = 0.0
    vapour_fraction: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an impossible state."""
        for name in ("pressure", "temperature"):
            value = getattr(self, name)
            if not (value > 0.0 and math.isfinite(value)):
                raise QuantityError(name, str(value), "must be above 0")
        if not math.isfinite(self.velocity):
            raise QuantityError("velocity", str(self.velocity), "must be a number [m/s]")
        total = self.burned_fraction + self.vapour_fraction
        if min(self.burned_fraction, self.vapour_fraction) < 0.0 or total > 1.0 + 1e-12:
            raise QuantityError(
                "burned_fraction",
                f"{self.burned_fraction} with vapour {self.vapour_fraction}",
                "mass fractions must lie between 0 and 1 and sum to 1 at most",
            )

    @classmethod
    def from_density(
        cls,
        pressure: float,
        density: float,
        gas_constant: float,
        velocity: float = 0.0,
        burned_fraction: float = 0.0,
        vapour_fraction: float = 0.0,
    ) -> GasState:
        """The state with a given density [kg/m3]: T = p / (rho R)."""
        if not density > 0.0:
            raise QuantityError("density", str(density), "must be above 0 kg/m3")
        temperature = pressure / (density * gas_constant)
        return cls(pressure, temperature, velocity, burned_fraction, vapour_fraction)


@dataclass(frozen=True, slots=True)
class GasProfile:
    """States along a duct, one entry for each cell (cell averages), all of shape (cells,).

    Args:
        pressure: [Pa].
        temperature: [K].
        velocity: [m/s].
        burned_fraction: Mass fraction of burned gas, or None for 0 throughout.
        vapour_fraction: Mass fraction of fuel vapour, or None for 0 throughout.
    """

    pressure: FloatArray
    temperature: FloatArray
    velocity: FloatArray
    burned_fraction: FloatArray | None = None
    vapour_fraction: FloatArray | None = None


InitialState = GasState | Callable[[FloatArray], GasProfile]
"""A uniform state, or a function of the cell centres' distance [m] from the start."""


@dataclass(frozen=True, slots=True)
class Station:
    """One measured place along a duct.

    Args:
        distance: Distance from the start of the duct [m].
        area: Cross-section area [m2].
    """

    distance: float
    area: float

    @classmethod
    def round(cls, distance: float, diameter: float) -> Station:
        """A circular section of a given diameter [m]."""
        return cls(distance, 0.25 * math.pi * diameter * diameter)


@dataclass(frozen=True, slots=True)
class RoughWall:
    """Wall friction after Haaland.

    1 / sqrt(f) = -1.8 log10[(e / (3.7 D))^1.11 + 6.9 / Re]   (turbulent, Re > 4000)
    f = 64 / Re                                               (laminar, Re < 2300)

    and a straight line between in Re; f is the Darcy friction factor, wall force per volume
    f rho u |u| / (2 D). Source: S. E. Haaland, "Simple and Explicit Formulas for the Friction
    Factor in Turbulent Pipe Flow", J. Fluids Eng. 105 (1983) 89.

    Args:
        roughness: Equivalent sand roughness e [m]; 0 is smooth.
    """

    roughness: float


@dataclass(frozen=True, slots=True)
class FixedFriction:
    """Wall friction with a constant Darcy friction factor (four times Fanning's)."""

    darcy_factor: float


@dataclass(frozen=True, slots=True)
class Bend:
    """A loss spread evenly over part of a duct, such as a bend.

    The total pressure lost is ``loss_coefficient * rho u |u| / 2``.

    Args:
        start: Distance from the start of the duct where it begins [m].
        finish: Distance where it ends [m].
        loss_coefficient: K, in velocity heads of the local flow.
    """

    start: float
    finish: float
    loss_coefficient: float


@dataclass(frozen=True, slots=True)
class Duct:
    """A duct whose cross-section varies along it, cut into equal cells.

    Between stations the *equivalent diameter* follows a monotone cubic (see
    :func:`~headwright.simulation.network.area_curve.monotone_cubic`); with two stations the
    duct is an exact cone.

    Args:
        name: Unique in the network.
        stations: Two or more, by increasing distance, the first at 0; the last one's distance
            is the length.
        cells: Number of cells, at least 3.
        initial: What fills the duct at the start.
        wall: Wall friction, or None for a frictionless wall (then no wall heat either).
        wall_temperature: Wall temperature [K], or None for an adiabatic wall. Heat transfer
            follows the Reynolds analogy, Stanton number = f / 8.
        bends: Losses along the duct.
    """

    name: str
    stations: tuple[Station, ...]
    cells: int
    initial: InitialState
    wall: RoughWall | FixedFriction | None = None
    wall_temperature: float | None = None
    bends: tuple[Bend, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a duct that cannot be cut into cells."""
        where = f"duct {self.name!r}: "
        if len(self.stations) < 2:
            raise QuantityError(where + "stations", str(len(self.stations)), "give two or more")
        distances = [station.distance for station in self.stations]
        if distances[0] != 0.0 or any(
            not second > first for first, second in itertools.pairwise(distances)
        ):
            raise QuantityError(
                where + "stations", str(distances), "must start at 0 m and increase strictly"
            )
        for station in self.stations:
            if not (station.area > 0.0 and math.isfinite(station.area)):
                raise QuantityError(where + "area", str(station.area), "must be above 0 m2")
        if self.cells < _MIN_CELLS:
            raise QuantityError(
                where + "cells", str(self.cells), f"needs at least {_MIN_CELLS}; use shorter cells"
            )
        if isinstance(self.wall, RoughWall) and not self.wall.roughness >= 0.0:
            raise QuantityError(where + "roughness", str(self.wall.roughness), "must be >= 0 m")
        if isinstance(self.wall, FixedFriction) and not self.wall.darcy_factor >= 0.0:
            raise QuantityError(where + "darcy_factor", str(self.wall.darcy_factor), "must be >= 0")
        if self.wall_temperature is not None:
            if not self.wall_temperature > 0.0:
                raise QuantityError(
                    where + "wall_temperature", str(self.wall_temperature), "must be above 0 K"
                )
            if self.wall is None:
                raise QuantityError(
                    where + "wall_temperature",
                    str(self.wall_temperature),
                    "needs a wall with friction, on which heat transfer is based",
                )
        for bend in self.bends:
            if not 0.0 <= bend.start < bend.finish <= distances[-1] * (1.0 + 1e-9):
                raise QuantityError(
                    where + "bend",
                    f"{bend.start}..{bend.finish}",
                    f"must lie within the duct, 0 to {distances[-1]} m",
                )
            if not bend.loss_coefficient >= 0.0:
                raise QuantityError(
                    where + "loss_coefficient", str(bend.loss_coefficient), "must be >= 0"
                )

    @classmethod
    def straight(
        cls,
        name: str,
        length: float,
        diameter: float,
        cells: int,
        initial: InitialState,
        wall: RoughWall | FixedFriction | None = None,
        wall_temperature: float | None = None,
        bends: tuple[Bend, ...] = (),
    ) -> Duct:
        """A round duct of constant diameter [m] and given length [m]."""
        return cls.tapered(
            name, length, diameter, diameter, cells, initial, wall, wall_temperature, bends
        )

    @classmethod
    def tapered(
        cls,
        name: str,
        length: float,
        start_diameter: float,
        finish_diameter: float,
        cells: int,
        initial: InitialState,
        wall: RoughWall | FixedFriction | None = None,
        wall_temperature: float | None = None,
        bends: tuple[Bend, ...] = (),
    ) -> Duct:
        """A straight cone from one diameter [m] to another over a length [m]."""
        if not length > 0.0:
            raise QuantityError(f"duct {name!r}: length", str(length), "must be above 0 m")
        stations = (Station.round(0.0, start_diameter), Station.round(length, finish_diameter))
        return cls(name, stations, cells, initial, wall, wall_temperature, bends)

    @property
    def length(self) -> float:
        """Length [m]."""
        return self.stations[-1].distance

    @property
    def cell_length(self) -> float:
        """Length of one cell [m]."""
        return self.length / self.cells

    def areas(self, distances: FloatArray) -> FloatArray:
        """Cross-section area [m2] at distances from the start [m]."""
        at = np.array([station.distance for station in self.stations])
        diameters = np.sqrt(np.array([station.area for station in self.stations]) * (4.0 / math.pi))
        inside = np.clip(distances, 0.0, self.length)
        width = monotone_cubic(at, diameters, inside)
        return np.asarray(0.25 * math.pi * width * width, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class DuctEnd:
    """One end of a duct, by the duct's name."""

    duct: str
    side: Literal["start", "finish"]


def start_of(duct: str) -> DuctEnd:
    """The start (distance 0) of the duct of that name."""
    return DuctEnd(duct, "start")


def finish_of(duct: str) -> DuctEnd:
    """The finish (distance = length) of the duct of that name."""
    return DuctEnd(duct, "finish")
