"""Units: heat, fuel, flow; and the plain numbers."""

from __future__ import annotations

from headwright.quantities.dimension import Dimension, Unit
from headwright.quantities.factors import (
    BTU,
    FOOT,
    HORSEPOWER,
    HOUR,
    INCH,
    MIN,
    POUND,
    pairs,
    ratio,
)

__all__ = ["FLUIDS"]

_BLANK = Unit("")


def _plain(name: str, noun: str, *, whole: bool = False) -> Dimension:
    return Dimension(name, noun, "", "", (_BLANK,), whole=whole)


FLUIDS = (
    Dimension(
        "specific_energy",
        "a specific energy",
        "J/kg",
        "_J_per_kg",
        (
            Unit("MJ/kg", 1e6, match_case=True),
            Unit("kJ/kg", 1000.0, spellings=("J/g",)),
            Unit("J/kg"),
            Unit("BTU/lb", *ratio(BTU / POUND)),
        ),
    ),
    Dimension(
        "specific_heat",
        "a specific heat",
        "J/(kg K)",
        "_J_per_kg_K",
        (
            Unit("J/(kg K)", spellings=("J/kg/K", "J/kg K", "J/kgK")),
            Unit("kJ/(kg K)", 1000.0, spellings=("kJ/kg/K", "kJ/kg K", "kJ/kgK")),
        ),
    ),
    Dimension(
        "specific_fuel",
        "a specific fuel consumption",
        "kg/J",
        "_kg_per_J",
        (
            Unit("g/kWh", 1.0, 3.6e9, spellings=("g/kW h", "g/kW/h")),
            Unit(
                "lb/(hp h)",
                *ratio(POUND / (HORSEPOWER * 3600)),
                spellings=("lb/hp h", "lb/hp hr", "lb/hp/h", "lb/hp/hr", "lb/bhp hr", "lb/bhp h"),
            ),
            Unit("kg/J"),
        ),
    ),
    Dimension(
        "temperature",
        "a temperature",
        "K",
        "_K",
        (
            Unit("°C", shift=273.15, spellings=("C", "degC", "deg C", "° C", "degrees C")),
            Unit(
                "°F",
                5.0,
                9.0,
                459.67,
                spellings=("F", "degF", "deg F", "° F", "degrees F", "fahrenheit"),
            ),
            Unit("K", spellings=("kelvin",)),
        ),
    ),
    Dimension(
        "temperature_difference",
        "a temperature difference",
        "K",
        "_K",
        (
            Unit("°C", spellings=("C", "degC", "deg C", "° C", "degrees C")),
            Unit("°F", 5.0, 9.0, spellings=("F", "degF", "deg F", "° F", "degrees F")),
            Unit("K", spellings=("kelvin",)),
        ),
    ),
    Dimension(
        "thermal_expansion",
        "a coefficient of thermal expansion",
        "1/K",
        "_per_K",
        (
            Unit("1/K", spellings=("/K",)),
            Unit("um/(m K)", 1.0, 1e6, spellings=("um/m K", "um/m/K", "ppm/K", "ppm/°C")),
            Unit("uin/(in °F)", 9.0, 5e6, spellings=("uin/in °F", "uin/in/°F", "ppm/°F")),
        ),
    ),
    Dimension(
        "thermal_conductivity",
        "a thermal conductivity",
        "W/(m K)",
        "_W_per_m_K",
        (Unit("W/(m K)", spellings=("W/m/K", "W/m K", "W/mK")),),
    ),
    Dimension(
        "heat_transfer_coefficient",
        "a heat transfer coefficient",
        "W/(m2 K)",
        "_W_per_m2_K",
        (Unit("W/(m2 K)", spellings=("W/m2/K", "W/m2 K", "W/m2K")),),
    ),
    Dimension(
        "volume_flow",
        "a volume flow",
        "m3/s",
        "_m3_s",
        (
            Unit("cfm", *ratio(FOOT**3 / 60), spellings=pairs(("ft3", "cu ft"), "/", MIN)),
            Unit("l/s", 1.0, 1000.0, spellings=("L/s", "lps", "l/sec")),
            Unit("l/min", 1.0, 60e3, spellings=("L/min", "lpm", "litres/min")),
            Unit("m3/h", 1.0, 3600.0, spellings=("m3/hr",)),
            Unit("m3/s", spellings=("m3/sec",)),
            Unit("m3/min", 1.0, 60.0, common=False),
            Unit("cc/min", 1.0, 60e6, spellings=("cm3/min", "ml/min")),
            Unit("cc/s", 1.0, 1e6, spellings=("cm3/s", "ml/s"), common=False),
        ),
    ),
    Dimension(
        "mass_flow",
        "a mass flow",
        "kg/s",
        "_kg_s",
        (
            Unit("kg/h", 1.0, 3600.0, spellings=("kg/hr",)),
            Unit("lb/h", *ratio(POUND / 3600), spellings=pairs(("lb", "lbs", "lbm"), "/", HOUR)),
            Unit("lb/min", *ratio(POUND / 60), spellings=pairs(("lbs", "lbm"), "/", MIN)),
            Unit("g/s", 1.0, 1000.0, spellings=("g/sec",)),
            Unit("kg/s", spellings=("kg/sec",)),
        ),
    ),
    Dimension(
        "density",
        "a density",
        "kg/m3",
        "_kg_per_m3",
        (
            Unit("kg/m3"),
            Unit("g/cm3", 1000.0, spellings=("g/cc", "g/ml", "kg/l", "kg/L")),
            Unit("lb/ft3", *ratio(POUND / FOOT**3), spellings=("lb/cu ft", "lbm/ft3")),
            Unit("lb/in3", *ratio(POUND / INCH**3), spellings=("lb/cu in", "lbm/in3")),
        ),
    ),
    Dimension(
        "viscosity",
        "a dynamic viscosity",
        "Pa s",
        "_Pa_s",
        (
            Unit("mPa s", 1.0, 1000.0, spellings=("mPas",), match_case=True),
            Unit("cP", 1.0, 1000.0, spellings=("cp", "centipoise")),
            Unit("Pa s", spellings=("Pas",)),
        ),
    ),
    Dimension(
        "kinematic_viscosity",
        "a kinematic viscosity",
        "m2/s",
        "_m2_s",
        (
            Unit("cSt", 1.0, 1e6, spellings=("centistoke", "centistokes")),
            Unit("mm2/s", 1.0, 1e6),
            Unit("m2/s"),
        ),
    ),
    Dimension(
        "ratio",
        "a ratio",
        "",
        "",
        (Unit(":1", spellings=(": 1", "to 1", ":1.0", "to one", "/1")), _BLANK),
    ),
    Dimension(
        "fraction",
        "a fraction",
        "",
        "",
        (
            Unit("%", 1.0, 100.0, spellings=("percent", "per cent", "pct")),
            _BLANK,
        ),
    ),
    Dimension(
        "octane",
        "an octane number",
        "",
        "",
        (
            Unit("RON", spellings=("ron", "research")),
            Unit("MON", spellings=("mon", "motor")),
            Unit("AKI", spellings=("aki", "(R+M)/2", "PON")),
            _BLANK,
        ),
        scales_differ=True,
    ),
    _plain("count", "a whole number", whole=True),
    _plain("number", "a plain number"),
    _plain("money", "a plain sum in the shop's currency"),
)
