"""Units: lengths, areas, volumes, angles, masses, times, speeds."""

from __future__ import annotations

import math

from headwright.quantities.dimension import Dimension, Unit
from headwright.quantities.factors import DEGREE, FOOT, GRAVITY, MILE, POUND, pairs, ratio

__all__ = ["SPACE"]

SPACE = (
    Dimension(
        "length",
        "a length",
        "m",
        "_m",
        (
            Unit("in", 127.0, 5000.0, spellings=('"', "''", "inch", "inches", "ins")),
            Unit("mm", 1.0, 1000.0, spellings=("millimetre", "millimetres", "millimeters")),
            Unit("thou", 127.0, 5e6, spellings=("thous", "thousandths")),
            Unit("cm", 1.0, 100.0, spellings=("centimetre", "centimetres")),
            Unit("m", spellings=("metre", "metres", "meter", "meters")),
            Unit("ft", 381.0, 1250.0, spellings=("'", "foot", "feet")),
            Unit("um", 1.0, 1e6, spellings=("micron", "microns", "µm"), common=False),
            Unit("uin", 127.0, 5e9, spellings=("microinch", "microinches", "µin"), common=False),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "angle",
        "an angle",
        "rad",
        "_rad",
        (
            Unit("deg", math.pi, 180.0, spellings=("°", "degree", "degrees", "degs")),
            Unit("rad", spellings=("radian", "radians")),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "area",
        "an area",
        "m2",
        "_m2",
        (
            Unit("in2", 16129.0, 25e6, spellings=("sq in", "sq inch", "sq inches", '"2', "sq ins")),
            Unit("mm2", 1.0, 1e6, spellings=("sq mm",)),
            Unit("cm2", 1.0, 1e4, spellings=("sq cm",)),
            Unit("m2", spellings=("sq m",)),
            Unit("ft2", *ratio(FOOT**2), spellings=("sq ft",), common=False),
        ),
    ),
    Dimension(
        "volume",
        "a volume",
        "m3",
        "_m3",
        (
            Unit("cc", 1.0, 1e6, spellings=("ccs",)),
            Unit("cm3", 1.0, 1e6, spellings=("cu cm", "ccm")),
            Unit("in3", 2048383.0, 125e9, spellings=("cu in", "ci", "cid", "cu inch", "cu inches")),
            Unit("ml", 1.0, 1e6, spellings=("mL", "millilitre", "millilitres")),
            Unit("mm3", 1.0, 1e9, spellings=("cu mm",)),
            Unit("l", 1.0, 1000.0, spellings=("L", "litre", "litres", "liter", "liters", "lt")),
            Unit("m3", spellings=("cu m",)),
            Unit("ft3", *ratio(FOOT**3), spellings=("cu ft",), common=False),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "mass",
        "a mass",
        "kg",
        "_kg",
        (
            Unit("g", 1.0, 1000.0, spellings=("gm", "gms", "gram", "grams", "gramme", "grammes")),
            Unit("kg", spellings=("kgs", "kilo", "kilos", "kilogram", "kilograms")),
            Unit("lb", *ratio(POUND), spellings=("lbs", "lbm", "pound", "pounds", "#")),
            Unit("oz", *ratio(POUND / 16), spellings=("ounce", "ounces")),
            Unit("grain", *ratio(POUND / 7000), spellings=("grains", "gr"), common=False),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "time",
        "a time",
        "s",
        "_s",
        (
            Unit("s", spellings=("sec", "secs", "second", "seconds")),
            Unit("ms", 1.0, 1000.0, spellings=("msec", "millisecond", "milliseconds")),
            Unit("min", 60.0, spellings=("mins", "minute", "minutes")),
            Unit("h", 3600.0, spellings=("hr", "hrs", "hour", "hours")),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "frequency",
        "a frequency",
        "Hz",
        "_Hz",
        (
            Unit("Hz", spellings=("/s", "1/s", "cycles/s")),
            Unit("kHz", 1000.0),
            Unit("/min", 1.0, 60.0, spellings=("1/min", "cpm", "cycles/min")),
        ),
    ),
    Dimension(
        "rotational_speed",
        "a rotational speed",
        "rad/s",
        "_rad_s",
        (
            Unit("rpm", math.pi, 30.0, spellings=("rev/min", "revs/min", "r/min", "revs")),
            Unit("rad/s", spellings=("rad/sec",)),
            Unit("rev/s", 2.0 * math.pi, spellings=("rps", "revs/s")),
        ),
    ),
    Dimension(
        "velocity",
        "a speed",
        "m/s",
        "_m_s",
        (
            Unit("m/s", spellings=("m/sec",)),
            Unit("ft/s", 381.0, 1250.0, spellings=("ft/sec", "fps")),
            Unit("ft/min", 381.0, 75000.0, spellings=("fpm",)),
            Unit("km/h", 1.0, 3.6, spellings=("kph", "kmh", "km/hr")),
            Unit("mph", *ratio(MILE / 3600), spellings=("mi/h", "miles/h")),
            Unit("kn", 1852.0, 3600.0, spellings=("knot", "knots", "kt", "kts")),
            Unit("mm/s", 1.0, 1000.0, common=False),
            Unit("in/s", 127.0, 5000.0, spellings=("in/sec",), common=False),
        ),
    ),
    Dimension(
        "acceleration",
        "an acceleration",
        "m/s2",
        "_m_s2",
        (
            Unit("m/s2"),
            Unit("ft/s2", *ratio(FOOT)),
            Unit("g", *ratio(GRAVITY), spellings=("gee", "gees")),
        ),
    ),
    Dimension(
        "per_length",
        "a count per length",
        "1/m",
        "_per_m",
        (
            Unit("tpi", 5000.0, 127.0, spellings=("TPI", "/in", "1/in", "threads/in")),
            Unit("1/mm", 1000.0, spellings=("/mm",)),
            Unit("1/m", spellings=("/m",)),
        ),
    ),
    Dimension(
        "lift_rate",
        "a lift per angle",
        "m/rad",
        "_m_per_rad",
        (
            Unit("in/deg", 4.572, math.pi, spellings=pairs(("in", '"'), "/", DEGREE)),
            Unit("thou/deg", 0.004572, math.pi, spellings=("thou/°", "thou/degree")),
            Unit("mm/deg", 0.18, math.pi, spellings=("mm/°", "mm/degree")),
            Unit("mm/rad", 1.0, 1000.0),
            Unit("m/rad"),
        ),
    ),
    Dimension(
        "lift_acceleration",
        "a lift per angle squared",
        "m/rad2",
        "_m_per_rad2",
        (
            Unit("in/deg2", 822.96, math.pi**2, spellings=("in/°2",)),
            Unit("thou/deg2", 0.82296, math.pi**2, spellings=("thou/°2",)),
            Unit("mm/deg2", 32.4, math.pi**2, spellings=("mm/°2",)),
            Unit("mm/rad2", 1.0, 1000.0),
            Unit("m/rad2"),
        ),
    ),
)
