"""Units: pressures, forces, stiffnesses, torques, power and energy, inertias."""

from __future__ import annotations

import math

from headwright.constants import STANDARD_ATMOSPHERE_PA
from headwright.quantities.dimension import Dimension, Unit
from headwright.quantities.factors import (
    BTU,
    FOOT,
    FT,
    GRAVITY,
    HORSEPOWER,
    IN,
    INCH,
    LB,
    LBF,
    MERCURY,
    POUND,
    PSI,
    WATER,
    pairs,
    ratio,
)

__all__ = ["MECHANICS"]

MECHANICS = (
    Dimension(
        "pressure",
        "a pressure",
        "Pa",
        "_Pa",
        (
            Unit(
                "psi",
                *ratio(PSI),
                spellings=(*pairs(("lb", "lbs", "lbf"), "/", ("in2", "sq in")),),
            ),
            Unit("bar", 1e5),
            Unit("kPa", 1000.0),
            Unit(
                "inH2O",
                *ratio(INCH * WATER),
                spellings=(
                    '"H2O',
                    '" H2O',
                    *pairs((*IN, '"'), " ", ("H2O", "water", "of water", "of H2O", "wc", "wg")),
                    "inches H20",
                    "inH20",
                    '"H20',
                    '" H20',
                    "in H20",
                    '"wc',
                    '"wg',
                    "inwc",
                    "inwg",
                ),
            ),
            Unit(
                "inHg",
                *ratio(INCH * MERCURY),
                spellings=(
                    '"Hg',
                    *pairs((*IN, '"'), " ", ("Hg", "mercury", "of mercury", "of Hg")),
                ),
            ),
            Unit("mbar", 100.0, spellings=("millibar", "millibars", "hPa")),
            Unit("MPa", 1e6, spellings=("MPA", "N/mm2"), match_case=True),
            Unit("GPa", 1e9),
            Unit("Pa", spellings=("N/m2", "pascal", "pascals")),
            Unit("atm", STANDARD_ATMOSPHERE_PA, spellings=("atmosphere", "atmospheres")),
            Unit("mmHg", *ratio(MERCURY / 1000), spellings=("mm Hg", "mm of mercury")),
            Unit("mmH2O", *ratio(WATER / 1000), spellings=("mm H2O", "mm of water"), common=False),
            Unit("ksi", *ratio(1000 * PSI), common=False),
        ),
    ),
    Dimension(
        "force",
        "a force",
        "N",
        "_N",
        (
            Unit("lbf", *ratio(LBF), spellings=("lb", "lbs", "pound", "pounds", "#")),
            Unit("N", spellings=("newton", "newtons")),
            Unit("kN", 1000.0),
            Unit("kgf", *ratio(GRAVITY), spellings=("kp",)),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "stiffness",
        "a stiffness",
        "N/m",
        "_N_per_m",
        (
            Unit("lbf/in", *ratio(LBF / INCH), spellings=pairs(LB, "/", (*IN, '"'))),
            Unit("N/mm", 1000.0),
            Unit("N/m"),
            Unit("kN/m", 1000.0, common=False),
            Unit("kgf/mm", *ratio(1000 * GRAVITY), common=False),
        ),
    ),
    Dimension(
        "damping",
        "a damping coefficient",
        "N s/m",
        "_N_s_per_m",
        (Unit("N s/m", spellings=("Ns/m",)), Unit("lbf s/in", *ratio(LBF / INCH))),
    ),
    Dimension(
        "torque",
        "a torque",
        "N m",
        "_N_m",
        (
            Unit(
                "lbf ft",
                *ratio(LBF * FOOT),
                spellings=(*pairs(LB, " ", FT), *pairs(FT, " ", LB), "lbft", "ftlb"),
            ),
            Unit("N m", spellings=("Nm", "newton metre", "newton metres")),
            Unit(
                "lbf in",
                *ratio(LBF * INCH),
                spellings=(*pairs(LB, " ", IN), *pairs(IN, " ", LB), "inlb"),
            ),
            Unit("kgf m", *ratio(GRAVITY), spellings=("kgfm",), common=False),
        ),
    ),
    Dimension(
        "torsional_stiffness",
        "a torsional stiffness",
        "N m/rad",
        "_N_m_per_rad",
        (
            Unit("N m/rad", spellings=("Nm/rad",)),
            Unit("N m/deg", 180.0, math.pi, spellings=("Nm/deg",)),
            Unit(
                "lbf ft/deg",
                float(LBF * FOOT * 180),
                math.pi,
                spellings=("lb ft/deg", "ft lb/deg"),
            ),
        ),
    ),
    Dimension(
        "power",
        "a power",
        "W",
        "_W",
        (
            Unit("hp", *ratio(HORSEPOWER), spellings=("bhp", "horsepower")),
            Unit("kW", 1000.0),
            Unit("W", spellings=("watt", "watts")),
            Unit("PS", *ratio(75 * GRAVITY)),
        ),
    ),
    Dimension(
        "energy",
        "an energy",
        "J",
        "_J",
        (
            Unit("J", spellings=("joule", "joules")),
            Unit("kJ", 1000.0),
            Unit("MJ", 1e6, match_case=True),
            Unit("BTU", *ratio(BTU), spellings=("Btu",)),
            Unit("kWh", 3.6e6, common=False),
        ),
    ),
    Dimension(
        "linear_density",
        "a mass per length",
        "kg/m",
        "_kg_per_m",
        (
            Unit("g/mm"),
            Unit("kg/m"),
            Unit("g/in", 5.0, 127.0),
            Unit("lb/in", *ratio(POUND / INCH)),
        ),
    ),
    Dimension(
        "inertia",
        "a moment of inertia",
        "kg m2",
        "_kg_m2",
        (
            Unit("kg m2", spellings=("kgm2",)),
            Unit("kg cm2", 1.0, 1e4, spellings=("kgcm2",)),
            Unit("g cm2", 1.0, 1e7, spellings=("gcm2",)),
            Unit("kg mm2", 1.0, 1e6, spellings=("kgmm2",)),
            Unit("g mm2", 1.0, 1e9, spellings=("gmm2",)),
            Unit("lb in2", *ratio(POUND * INCH**2), spellings=("lbm in2", "lb sq in")),
            Unit(
                "lb ft2",
                *ratio(POUND * FOOT**2),
                spellings=("lbm ft2", "lb sq ft"),
                common=False,
            ),
        ),
    ),
    Dimension(
        "unbalance",
        "a mass moment",
        "kg m",
        "_kg_m",
        (
            Unit("g mm", 1.0, 1e6, spellings=("gmm",)),
            Unit("g cm", 1.0, 1e5, spellings=("gcm",)),
            Unit("oz in", *ratio(POUND * INCH / 16), spellings=("in oz", "ozin")),
            Unit("kg m"),
        ),
    ),
)
