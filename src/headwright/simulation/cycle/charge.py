"""The gas of an engine: fresh charge, fuel on its way from liquid to vapour, burned gas.

The ducts carry air, burned gas and *carried fuel*. Of the fuel a share ``e`` is vapour when it
passes the throttle; the rest rides along as droplets, of no volume but with its heat capacity,

    R = e R_v,   c_j = e c_j,v + (1 - e) c_liquid (j = 0 only)

and evaporates in the cylinder after the inlet valve has shut, at the cost of its heat of
vaporisation. Energies are absolute, so that the cold of evaporation and the heat of burning
are changes of constituent at constant energy.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import InputError, QuantityError
from headwright.kernels.cylinder_layout import (
    AIR_LINE,
    BURNED_LINE,
    CARRIED_LINE,
    CONSTITUENT_COLUMNS,
    GAS_R,
    OFFSET,
    VAPOUR_LINE,
)
from headwright.physics import gas as working_gas
from headwright.physics.burn import laminar_fit, laminar_speed
from headwright.physics.burned_gas import GRID, burned_table, charge_mass_fractions
from headwright.physics.fuel import (
    Fuel,
    charge_temperature,
    heating_value_liquid,
    vaporised_fraction_limit,
)
from headwright.simulation.network import GasComponent, GasModel

__all__ = ["Charge"]

FloatArray = npt.NDArray[np.float64]

_REFERENCE_K = 298.15
_LEAST_SHARE = 0.02
_ATMOSPHERE_PA = 101_325.0


@dataclass(frozen=True, eq=False)
class Charge:
    """What the engine breathes and burns.

    Build one with :meth:`of_fuel` or, for checks against closed forms, :meth:`perfect`.

    Attributes:
        name: Of the fuel.
        network_gas: The gas as the ducts carry it.
        constituents: Energy coefficients c_0 to c_6 [J/(kg K)], gas constant [J/(kg K)] and
            absolute less thermal energy [J/kg] of air, burned gas, carried fuel and fuel
            vapour, shape (4, 9).
        products: Table of the burned gas, see :mod:`headwright.physics.burned_gas`.
        fuel_share: Fuel per mass of fresh charge [-].
        equivalence_ratio: [-].
        heating_value: Lower, of the liquid fuel [J/kg].
        octane: That the knock delay takes [-].
        laminar: Laminar speed at 298 K and 1 atm [m/s], exponents of temperature and pressure,
            share of petrol-like dilution.
        vapour_share: e, share of the fuel that is vapour in the ducts [-].
        temperature: Of the fresh charge as it enters [K].
        evaporation_heat: To turn carried fuel into vapour at 298 K [J/kg].
    """

    name: str
    network_gas: GasModel
    constituents: FloatArray
    products: FloatArray
    fuel_share: float
    equivalence_ratio: float
    heating_value: float
    octane: float
    laminar: tuple[float, float, float, float]
    vapour_share: float
    temperature: float
    evaporation_heat: float = 0.0

    @classmethod
    def of_fuel(
        cls,
        fuel: Fuel,
        *,
        equivalence_ratio: float,
        air_temperature: float,
        air_pressure: float,
        specific_humidity: float = 0.0,
        evaporated_share: float = 0.4,
        octane: float | None = None,
    ) -> Charge:
        """The charge of a fuel at a mixture strength in given weather.

        Args:
            fuel: The fuel.
            equivalence_ratio: Fuel-air ratio over its chemically correct value [-].
            air_temperature: [K].
            air_pressure: [Pa].
            specific_humidity: Water per dry air [kg/kg].
            evaporated_share: Share of the fuel that evaporates before the ducts [-], cut back
                to what the air can hold.
            octane: For the knock delay [-]; None takes the mean of research and motor octane.

        Raises:
            InputError: A share outside 0 to 1, or a mixture that does not burn.
        """
        if not 0.0 <= evaporated_share <= 1.0:
            raise InputError(f"evaporated share: {evaporated_share:g} is outside 0 to 1")
        model = working_gas.gas_model(fuel.vapour, equivalence_ratio, specific_humidity)
        fuel_per_air = 1.0 / model.air_per_fuel
        temperature = charge_temperature(
            fuel, air_temperature, air_pressure, fuel_per_air, evaporated_share
        )
        limit = vaporised_fraction_limit(fuel, temperature, air_pressure, fuel_per_air)
        share = max(min(evaporated_share, limit), _LEAST_SHARE)
        lines = np.zeros((4, CONSTITUENT_COLUMNS))
        for line, row in (
            (AIR_LINE, working_gas.AIR),
            (BURNED_LINE, working_gas.BURNED),
            (VAPOUR_LINE, working_gas.FUEL),
        ):
            lines[line, :7] = model.energy_coefficients[row]
            lines[line, GAS_R] = model.gas_constants[row]
            lines[line, OFFSET] = model.energy_offsets[row]
        lines[CARRIED_LINE] = _carried(lines[VAPOUR_LINE], fuel, share)
        fit = laminar_fit(fuel.vapour)
        constants = (fit.peak, fit.curvature, fit.ratio_at_peak, fit.petrol)

        def speed(at_temperature: float, at_pressure: float) -> float:
            return float(
                laminar_speed(at_temperature, at_pressure, equivalence_ratio, 0.0, *constants)
            )

        reference = speed(298.0, _ATMOSPHERE_PA)
        if not reference > 0.0:
            raise InputError(
                f"mixture: at an equivalence ratio of {equivalence_ratio:.2f} {fuel.name} does "
                "not burn; 0.8 to 1.4 is the range of engines"
            )
        alpha = float(np.log(speed(596.0, _ATMOSPHERE_PA) / reference) / np.log(2.0))
        beta = float(np.log(speed(298.0, 2.0 * _ATMOSPHERE_PA) / reference) / np.log(2.0))
        lines.setflags(write=False)
        return cls(
            name=fuel.name,
            network_gas=_network_gas(lines),
            constituents=lines,
            products=burned_table(
                charge_mass_fractions(fuel.vapour, equivalence_ratio, specific_humidity)
            ),
            fuel_share=model.fuel_fraction_unburned,
            equivalence_ratio=equivalence_ratio,
            heating_value=heating_value_liquid(fuel),
            octane=fuel.mean_octane if octane is None else octane,
            laminar=(reference, alpha, beta, fit.petrol),
            vapour_share=share,
            temperature=temperature,
            evaporation_heat=(1.0 - share) * fuel.heat_of_vaporisation,
        )

    @classmethod
    def perfect(
        cls,
        ratio_of_specific_heats: float = 1.4,
        gas_constant: float = 287.0,
        heat: float = 0.0,
        temperature: float = 300.0,
    ) -> Charge:
        """A perfect gas of constant specific heats whose unburned part releases ``heat``.

        The air-standard gas of the textbooks, through the same tables as any fuel.

        Args:
            ratio_of_specific_heats: gamma [-].
            gas_constant: [J/(kg K)].
            heat: Released by burning a kilogram of fresh charge [J/kg].
            temperature: Of the fresh charge [K].
        """
        if not ratio_of_specific_heats > 1.0:
            raise QuantityError(
                "ratio_of_specific_heats", str(ratio_of_specific_heats), "must be above 1"
            )
        heat_volume = gas_constant / (ratio_of_specific_heats - 1.0)
        lines = np.zeros((4, CONSTITUENT_COLUMNS))
        lines[:, 0] = heat_volume
        lines[:, GAS_R] = gas_constant
        lines[[AIR_LINE, CARRIED_LINE, VAPOUR_LINE], OFFSET] = heat
        first, step, count, _, _, columns = GRID
        table = np.zeros((count, columns, 8))
        table[:, :, 0] = heat_volume * (first + step * np.arange(count))[:, None]
        table[:, :, 1] = heat_volume * step
        table[:, :, 4] = gas_constant
        return cls(
            name="perfect gas",
            network_gas=GasModel.constant_gamma(ratio_of_specific_heats, gas_constant),
            constituents=lines,
            products=table,
            fuel_share=0.0,
            equivalence_ratio=1.0,
            heating_value=heat,
            octane=100.0,
            laminar=(0.4, 2.0, -0.2, 0.0),
            vapour_share=1.0,
            temperature=temperature,
        )


def _carried(vapour: FloatArray, fuel: Fuel, share: float) -> FloatArray:
    """Columns of the carried fuel: vapour and droplets at one temperature."""
    s = _REFERENCE_K / (_REFERENCE_K + working_gas.SHIFT_K)
    thermal = _REFERENCE_K * float(vapour[:7] @ s ** np.arange(7))
    enthalpy = thermal + vapour[OFFSET] + vapour[GAS_R] * _REFERENCE_K
    liquid = np.zeros(CONSTITUENT_COLUMNS)
    liquid[0] = fuel.liquid_heat
    liquid[OFFSET] = enthalpy - fuel.heat_of_vaporisation - fuel.liquid_heat * _REFERENCE_K
    return np.asarray(share * vapour + (1.0 - share) * liquid, dtype=np.float64)


def _network_gas(lines: FloatArray) -> GasModel:
    parts = [
        GasComponent(name, float(lines[line, GAS_R]), tuple(float(c) for c in lines[line, :7]))
        for line, name in (
            (AIR_LINE, "air"),
            (BURNED_LINE, "burned gas"),
            (CARRIED_LINE, "carried fuel"),
        )
    ]
    return GasModel(parts[0], parts[1], parts[2])
