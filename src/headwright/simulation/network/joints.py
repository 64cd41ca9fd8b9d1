"""What the ends of ducts are joined to, and the vessels between them.

Every duct end belongs to exactly one joint. Joints are solved at the middle of each time step
from the state arriving at each end; a joint's flows of mass, energy, burned gas and vapour
balance to round-off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from headwright.errors import QuantityError
from headwright.simulation.network.ducts import DuctEnd, GasState
from headwright.simulation.network.schedule import Schedule

__all__ = [
    "FLANGED_END",
    "NO_END_CORRECTION",
    "UNFLANGED_END",
    "AreaChange",
    "ClosedEnd",
    "Joint",
    "Junction",
    "Mouth",
    "Orifice",
    "PrescribedPressure",
    "PrescribedState",
    "PrescribedVelocity",
    "Reservoir",
    "Throttle",
    "TransmissiveEnd",
    "Vent",
    "Vessel",
    "Volume",
]

NO_END_CORRECTION = 0.0
"""The mouth reflects at its plane."""

UNFLANGED_END = 0.6133
"""End correction of a thin-walled unflanged round pipe, in radii.

H. Levine and J. Schwinger, "On the Radiation of Sound from an Unflanged Circular Pipe", Phys.
Rev. 73 (1948) 383, low-frequency limit.
"""

FLANGED_END = 0.8217
"""End correction of a round pipe in an infinite wall, in radii, low-frequency limit.

Y. Nomura, I. Yamamura and S. Inawashiro, "On the Acoustic Radiation from a Flanged Circular
Pipe", J. Phys. Soc. Japan 15 (1960) 510 (from memory).
"""


@dataclass(frozen=True, slots=True)
class ClosedEnd:
    """A rigid wall across a duct end."""

    end: DuctEnd


@dataclass(frozen=True, slots=True)
class TransmissiveEnd:
    """An end that lets waves out without reflection, as if the duct went on without end.

    What lies beyond is gas in the state the end cell has at the start.
    """

    end: DuctEnd


@dataclass(frozen=True, slots=True)
class PrescribedState:
    """A fixed state beyond the end, met through the Riemann problem of the scheme.

    For supersonic inflow, far fields and shock tubes. ``state.velocity`` is positive from the
    duct's start to its finish.
    """

    end: DuctEnd
    state: GasState


@dataclass(frozen=True, slots=True)
class PrescribedVelocity:
    """A given velocity at the end, as from a piston face with gas passing through it.

    Args:
        end: The duct end.
        velocity: Velocity *into* the duct [m/s], or a table of time.
        inflow: Temperature and composition of the gas that enters (its pressure and velocity
            are not used).
    """

    end: DuctEnd
    velocity: Schedule
    inflow: GasState


@dataclass(frozen=True, slots=True)
class PrescribedPressure:
    """A given static pressure at the end plane, whichever way the gas flows.

    Args:
        end: The duct end.
        pressure: Static pressure [Pa], or a table of time.
        inflow: Total temperature and composition of gas that enters (its pressure and velocity
            are not used).
    """

    end: DuctEnd
    pressure: Schedule
    inflow: GasState


@dataclass(frozen=True, slots=True)
class Mouth:
    """A duct end opening, at its full area, into a vessel: an open end.

    Outflow leaves at the vessel's pressure plus the outflow loss (none: the jet's velocity
    head is lost in the vessel). Inflow starts from the vessel's total state, less the inflow
    loss. A reservoir makes it an open end to the weather.

    Args:
        end: The duct end.
        vessel: Name of the reservoir or volume it opens into.
        end_correction: Extra acoustic length in radii of the mouth: ``UNFLANGED_END``,
            ``FLANGED_END`` or any other; added to the computed duct at constant area.
        inflow_loss: Total pressure lost on entry, in velocity heads in the mouth. A sharp
            entrance is about 0.5, a good bell 0.03 (I. E. Idelchik, *Handbook of Hydraulic
            Resistance*, ch. 3).
        outflow_loss: Static pressure in the mouth above the vessel's, in velocity heads.
    """

    end: DuctEnd
    vessel: str
    end_correction: float = NO_END_CORRECTION
    inflow_loss: float = 0.0
    outflow_loss: float = 0.0

    def __post_init__(self) -> None:
        """Refuse impossible figures."""
        for name in ("end_correction", "inflow_loss", "outflow_loss"):
            value = getattr(self, name)
            if not 0.0 <= value <= 100.0:
                raise QuantityError(
                    f"mouth of duct {self.end.duct!r}: {name}", str(value), "must be 0 to 100"
                )


@dataclass(frozen=True, slots=True)
class Orifice:
    """A restriction between a duct end and a vessel: a valve.

    The gas expands without loss from the total state upstream to the effective area, where it
    may choke; the velocity head of the jet is lost downstream. Into the duct, the jet leaves
    at the pressure the duct end takes; out of it, at the vessel's.

    Args:
        end: The duct end.
        vessel: Name of the reservoir or volume.
        effective_area: Effective area (discharge coefficient times area) [m2] for flow from
            the vessel into the duct; constant or a table of time. 0 is closed.
        reverse_effective_area: The same for flow from the duct into the vessel; None: equal.
    """

    end: DuctEnd
    vessel: str
    effective_area: Schedule
    reverse_effective_area: Schedule | None = None


@dataclass(frozen=True, slots=True)
class Throttle:
    """A restriction between two duct ends, such as a throttle plate.

    As an :class:`Orifice`, with the total state of the upstream duct as supply.

    Args:
        first: One duct end.
        second: The other.
        effective_area: Effective area [m2], constant or a table of time.
    """

    first: DuctEnd
    second: DuctEnd
    effective_area: Schedule


@dataclass(frozen=True, slots=True)
class AreaChange:
    """Two duct ends of different (or equal) area joined directly.

    Total enthalpy is kept. A sudden enlargement follows the momentum balance with the upstream
    pressure on the step (Borda and Carnot); a contraction loses ``contraction_loss`` velocity
    heads of the narrow side.

    Args:
        first: One duct end.
        second: The other.
        contraction_loss: K of the contraction in heads of the narrow side; None: 0.5 (1 -
            A_narrow / A_wide), the usual fit for a sharp edge (F. M. White, *Fluid
            Mechanics*, minor losses; from memory).
        lossless: True replaces both losses by isentropic flow.
    """

    first: DuctEnd
    second: DuctEnd
    contraction_loss: float | None = None
    lossless: bool = False


@dataclass(frozen=True, slots=True)
class Junction:
    """Three or more duct ends meeting at a point without volume.

    Without angles all ends take one static pressure (the constant-pressure model). With angles
    the pressure of each end carrying flow away follows the momentum the supplying ends bring
    along its axis,

        p_j + rho u_j^2 = p_supply + rho u_j sum_i w_i u_i cos[3/4 (pi - theta_ij)]

    where w_i is supply end i's share of the inflow and theta_ij the angle between the two
    axes: the control-volume model of M. D. Bassett, D. E. Winterbone and R. J. Pearson,
    "Calculation of steady flow pressure loss coefficients for pipe junctions", Proc. Inst.
    Mech. Eng. C 215 (2001) 861, in its form for any number of pipes.

    Args:
        ends: The duct ends.
        angles: Direction [rad], in one plane, in which each duct leaves the junction, one for
            each end; None for the constant-pressure model. A straight run with a side branch
            square to it is ``(0, pi, pi / 2)``.
    """

    ends: tuple[DuctEnd, ...]
    angles: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        """Refuse a junction that is none."""
        if len(self.ends) < 2:
            raise QuantityError("junction ends", str(len(self.ends)), "give two or more duct ends")
        if self.angles is not None and len(self.angles) != len(self.ends):
            raise QuantityError(
                "junction angles", str(len(self.angles)), f"give {len(self.ends)}, one for each end"
            )


@dataclass(frozen=True, slots=True)
class Vent:
    """A restriction directly between two vessels, without a duct.

    Args:
        first: Name of one reservoir or volume.
        second: Name of the other.
        effective_area: Effective area [m2], constant or a table of time.
    """

    first: str
    second: str
    effective_area: Schedule


Joint = (
    ClosedEnd
    | TransmissiveEnd
    | PrescribedState
    | PrescribedVelocity
    | PrescribedPressure
    | Mouth
    | Orifice
    | Throttle
    | AreaChange
    | Junction
    | Vent
)


@dataclass(frozen=True, slots=True)
class Reservoir:
    """A vessel so large that its state never changes: the weather outside.

    Args:
        name: Unique among the vessels.
        state: Its total pressure and temperature, and composition (velocity is not used).
    """

    name: str
    state: GasState


@dataclass(frozen=True, slots=True)
class Volume:
    """A vessel with uniform contents: a plenum, a silencer chamber, a tank.

    Mass, energy and both carried fractions are balanced; kinetic energy of the gas that enters
    becomes internal energy. A volume that changes with time does work p dV on its surroundings.

    Args:
        name: Unique among the vessels.
        volume: Size [m3], constant or a table of time.
        state: Contents at the start (velocity is not used).
        wall_temperature: Wall temperature [K], or None for an adiabatic vessel.
        heat_conductance: Heat flow to the contents per kelvin of difference to the wall [W/K].
    """

    name: str
    volume: Schedule
    state: GasState
    wall_temperature: float | None = None
    heat_conductance: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a vessel without size."""
        if isinstance(self.volume, int | float) and not (
            self.volume > 0.0 and math.isfinite(self.volume)
        ):
            raise QuantityError(f"volume {self.name!r}", str(self.volume), "must be above 0 m3")


Vessel = Reservoir | Volume
