"""Quantities to test the parser and formatter on, whatever the glossary says today."""

from __future__ import annotations

import math

from headwright.quantities.quantity import Quantity

_DEG = math.pi / 180.0
_INCH = 0.0254

_ROWS = (
    Quantity("bore", "B", "length", "in", 3, "mm", 2, 0.0254, 0.1524, "Bore."),
    Quantity("valve_head", "D", "length", "in", 3, "mm", 2, 0.0127, 0.0635, "Head diameter."),
    Quantity("gasket", "t", "length", "in", 3, "mm", 2, 0.0001, 0.005, "Thickness."),
    Quantity("deck_height", "h", "length", "in", 3, "mm", 2, -0.005, 0.005, "Deck."),
    Quantity("pipe", "L", "length", "in", 1, "mm", 0, 0.0, 5.0, "Pipe length."),
    Quantity("chamber", "V", "volume", "cc", 1, "cc", 1, 5e-6, 150e-6, "Chamber volume."),
    Quantity("swept", "V", "volume", "in3", 2, "cc", 1, 50e-6, 1e-3, "Swept volume."),
    Quantity("depression", "dp", "pressure", "inH2O", 1, "kPa", 2, 0.0, 20e3, "Depression."),
    Quantity("boost", "p", "pressure", "psi", 2, "bar", 3, 0.0, 4e5, "Boost."),
    Quantity("strength", "s", "pressure", "psi", 0, "MPa", 1, 0.0, 3e9, "Strength."),
    Quantity("flow", "Q", "volume_flow", "cfm", 1, "l/s", 1, 0.0, 0.5, "Flow."),
    Quantity("spring_load", "F", "force", "lbf", 1, "N", 0, 0.0, 5000.0, "Load."),
    Quantity("spring_rate", "k", "stiffness", "lbf/in", 0, "N/mm", 1, 1e3, 2e5, "Rate."),
    Quantity("compression", "r", "ratio", ":1", 2, ":1", 2, 5.0, 20.0, "Compression ratio."),
    Quantity("research", "RON", "octane", "RON", 1, "RON", 1, 60.0, 130.0, "Research octane."),
    Quantity("motor", "MON", "octane", "MON", 1, "MON", 1, 60.0, 130.0, "Motor octane."),
    Quantity("centre", "a", "angle", "deg", 1, "deg", 1, 90 * _DEG, 130 * _DEG, "Lobe centre."),
    Quantity("advance", "a", "angle", "deg", 1, "deg", 1, -20 * _DEG, 60 * _DEG, "Advance."),
    Quantity("tightening", "T", "torque", "lbf ft", 1, "N m", 1, 0.0, 300.0, "Torque."),
    Quantity("speed", "n", "rotational_speed", "rpm", 0, "rpm", 0, 0.0, 1500.0, "Speed."),
    Quantity("brake_power", "P", "power", "hp", 1, "kW", 1, 0.0, 1e6, "Power."),
    Quantity("coolant", "T", "temperature", "°F", 0, "°C", 1, 230.0, 450.0, "Coolant."),
    Quantity("rise", "dT", "temperature_difference", "°F", 0, "°C", 1, -50.0, 200.0, "Rise."),
    Quantity("valve_mass", "m", "mass", "g", 1, "g", 1, 0.01, 1.0, "Valve mass."),
    Quantity("rod_mass", "m", "mass", "lb", 3, "kg", 3, 0.1, 3.0, "Rod mass."),
    Quantity("dwell", "t", "time", "s", 2, "s", 2, 0.0, 1e5, "Time."),
    Quantity("humidity", "phi", "fraction", "%", 1, "%", 1, 0.0, 1.0, "Humidity."),
    Quantity("efficiency", "e", "fraction", "", 3, "", 3, 0.0, 1.5, "Efficiency."),
    Quantity("cylinders", "z", "count", "", 0, "", 0, 1.0, 16.0, "Cylinders."),
    Quantity("mach", "M", "number", "", 3, "", 3, 0.0, 2.0, "Mach index."),
    Quantity("cost", "C", "money", "", 2, "", 2, 0.0, 1e6, "Cost."),
    Quantity("velocity", "v", "velocity", "ft/min", 0, "m/s", 2, 0.0, 60.0, "Speed."),
    Quantity("fuel_density", "rho", "density", "lb/ft3", 2, "kg/m3", 0, 500.0, 1500.0, "Fuel."),
    Quantity("heating", "H", "specific_energy", "BTU/lb", 0, "MJ/kg", 2, 1e7, 6e7, "Heating."),
    Quantity("port_area", "A", "area", "in2", 3, "cm2", 2, 1e-5, 1e-2, "Port area."),
    Quantity("rocker_inertia", "J", "inertia", "lb in2", 3, "kg mm2", 1, 1e-7, 1e-2, "Inertia."),
    Quantity("pitch", "p", "per_length", "tpi", 1, "tpi", 1, 100.0, 4000.0, "Thread pitch."),
)

SAMPLES = {row.name: row for row in _ROWS}
