"""What a run of a network gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.simulation.network.ducts import DuctEnd

__all__ = [
    "ConservedTotals",
    "DuctProfile",
    "FlowHistory",
    "FlowProbe",
    "Probe",
    "ProbeHistory",
    "RunResult",
    "VesselContents",
    "VesselHistory",
    "VesselProbe",
]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Probe:
    """A place in a duct to be recorded.

    Args:
        name: Key of the history in the result.
        duct: Name of the duct.
        distance: Distance from its start [m]; values are interpolated between cell centres.
    """

    name: str
    duct: str
    distance: float


@dataclass(frozen=True, slots=True)
class FlowProbe:
    """Flow through a duct end to be recorded."""

    name: str
    end: DuctEnd


@dataclass(frozen=True, slots=True)
class VesselProbe:
    """Contents of a vessel to be recorded."""

    name: str
    vessel: str


@dataclass(frozen=True, slots=True)
class ProbeHistory:
    """Gas at one place of a duct over time; every array has shape (samples,).

    Attributes:
        time: [s].
        pressure: [Pa].
        velocity: [m/s], positive from start to finish.
        density: [kg/m3].
        temperature: [K].
        mach: Velocity over sound speed, signed.
        burned_fraction: Mass fraction of burned gas.
        vapour_fraction: Mass fraction of fuel vapour.
    """

    time: FloatArray
    pressure: FloatArray
    velocity: FloatArray
    density: FloatArray
    temperature: FloatArray
    mach: FloatArray
    burned_fraction: FloatArray
    vapour_fraction: FloatArray


@dataclass(frozen=True, slots=True)
class FlowHistory:
    """Flow through a duct end over time, as used by the balances; shape (samples,).

    Attributes:
        time: [s].
        mass_flow: [kg/s], positive from the duct's start to its finish.
        enthalpy_flow: Flow of total enthalpy [W], same sign.
        passed_mass: Mass that went through since the start of the run [kg], same sign.
    """

    time: FloatArray
    mass_flow: FloatArray
    enthalpy_flow: FloatArray
    passed_mass: FloatArray


@dataclass(frozen=True, slots=True)
class VesselHistory:
    """Contents of a vessel over time; shape (samples,).

    Attributes:
        time: [s].
        pressure: [Pa].
        temperature: [K].
        mass: [kg].
        volume: [m3].
        burned_fraction: Mass fraction of burned gas.
        vapour_fraction: Mass fraction of fuel vapour.
    """

    time: FloatArray
    pressure: FloatArray
    temperature: FloatArray
    mass: FloatArray
    volume: FloatArray
    burned_fraction: FloatArray
    vapour_fraction: FloatArray


@dataclass(frozen=True, slots=True)
class DuctProfile:
    """Gas along one duct at the end of a run; every array has shape (cells,).

    Attributes:
        distance: Cell centres from the start [m] (cells of an end correction lie outside the
            duct's own length).
        area: Cross-section area [m2] (cell average).
        pressure: [Pa].
        velocity: [m/s].
        density: [kg/m3] (cell average).
        temperature: [K].
        mach: Velocity over sound speed, signed.
        burned_fraction: Mass fraction of burned gas.
        vapour_fraction: Mass fraction of fuel vapour.
        face_mass_flow: Mass flow through the faces between cells and at both ends, as the
            balances used it in the last step [kg/s], shape (cells + 1,).
    """

    distance: FloatArray
    area: FloatArray
    pressure: FloatArray
    velocity: FloatArray
    density: FloatArray
    temperature: FloatArray
    mach: FloatArray
    burned_fraction: FloatArray
    vapour_fraction: FloatArray
    face_mass_flow: FloatArray

    @property
    def mass_flow(self) -> FloatArray:
        """Mass flow [kg/s] in each cell: the mean of that through its two faces.

        In smooth flow this is rho u A; inside a shock, where a cell average of rho u is not a
        flow, it still is what passes.
        """
        mean: FloatArray = 0.5 * (self.face_mass_flow[:-1] + self.face_mass_flow[1:])
        return mean


@dataclass(frozen=True, slots=True)
class ConservedTotals:
    """Sums over all ducts and volumes (reservoirs excluded).

    Attributes:
        mass: [kg].
        energy: Internal and kinetic energy [J], internal energy counted from 0 K.
        burned_mass: [kg].
        vapour_mass: [kg].
    """

    mass: float
    energy: float
    burned_mass: float
    vapour_mass: float


@dataclass(frozen=True, slots=True)
class VesselContents:
    """What a vessel holds at the end of a run.

    Attributes:
        mass: [kg].
        energy: Internal energy, counted from 0 K [J].
        burned_mass: [kg].
        vapour_mass: [kg].
        volume: [m3].
        pressure: [Pa].
        temperature: [K].
    """

    mass: float
    energy: float
    burned_mass: float
    vapour_mass: float
    volume: float
    pressure: float
    temperature: float


@dataclass(frozen=True, slots=True)
class RunResult:
    """A finished run.

    Attributes:
        time: Time reached [s].
        steps: Number of time steps taken.
        cell_updates: Number of cell updates done (steps times cells in ducts).
        largest_courant: Largest Courant number met in any cell or at any face, over all steps:
            time step times the fastest signal over the cell length.
        profiles: Final state along each duct, by its name.
        probes: Histories of the duct probes, by name.
        flows: Histories of the flow probes, by name.
        vessels: Histories of the vessel probes, by name.
        contents: What each vessel holds at the end, by its name.
        totals_before: Sums at the start.
        totals_after: Sums at the end.
    """

    time: float
    steps: int
    cell_updates: int
    largest_courant: float
    profiles: Mapping[str, DuctProfile]
    probes: Mapping[str, ProbeHistory]
    flows: Mapping[str, FlowHistory]
    vessels: Mapping[str, VesselHistory]
    contents: Mapping[str, VesselContents]
    totals_before: ConservedTotals
    totals_after: ConservedTotals
