"""Where everything lies in the arrays of the cylinder kernels.

The *cylinder angle* is the crank angle after the cylinder's own firing top dead centre, 0 to
4 pi. Between intake closing and exhaust opening the cylinder is *shut* and advanced in closed
zones; otherwise it is *open* and its contents stand in its line of the vessels array.

Energies of a shut cylinder are absolute (elements at 298.15 K as zero), those of an open one
thermal (zero at 0 K), as in the ducts.
"""

from __future__ import annotations

from typing import Final

# --- figures of each cylinder, constant during a run ---------------------------------------
PHASE: Final = 0  # cylinder angle at crank angle 0 [rad]
PISTON_SECTION: Final = 1  # pi/4 bore^2 [m2]
CLEARANCE: Final = 2  # volume at top dead centre [m3]
THROW: Final = 3  # [m]
ROD: Final = 4  # [m]
PIN_OFFSET: Final = 5  # [m]
TOP_HEIGHT: Final = 6  # pin above the crank at top dead centre [m]
TOP_THROW: Final = 7  # throw angle at top dead centre [rad]
BORE: Final = 8  # [m]
HEAD_AREA: Final = 9  # wetted [m2]
CROWN_AREA: Final = 10  # wetted [m2]
LINER_GAP: Final = 11  # height of liner wetted at top dead centre [m]
SHUTS: Final = 12  # cylinder angle at which it is shut [rad]
OPENS: Final = 13  # cylinder angle at which it opens [rad]
SPARK: Final = 14  # ignition before top dead centre [rad]; below -10: none
JET: Final = 15  # piston section over largest effective area of the inlet [-]
LARGEST_LIFT: Final = 16  # of the inlet valve [m]
CROWN_DEPTH: Final = 17  # of the crown below the flame table's deck at top dead centre [m]
FLAME_FIRST: Final = 18  # first row of its flame table, or -1
SWEPT: Final = 19  # [m3]
FIGURES: Final = 20

# --- figures of the engine -----------------------------------------------------------------
CRANK_SPEED: Final = 0  # [rad/s]
PISTON_SPEED: Final = 1  # mean [m/s]
HEAD_WALL: Final = 2  # [K]
CROWN_WALL: Final = 3
LINER_WALL: Final = 4
HEAT_MODEL: Final = 5  # 0 adiabatic, 1 Woschni, 2 Hohenberg
HEAT_FACTOR: Final = 6
BURN_MODEL: Final = 7  # 0 none, 1 Wiebe, 2 entrainment
WIEBE_DELAY: Final = 8  # [rad]
WIEBE_DURATION: Final = 9  # [rad]
WIEBE_A: Final = 10
WIEBE_M: Final = 11
BURNABLE: Final = 12  # share of the charge that burns
LAMINAR_REFERENCE: Final = 13  # at 298 K, 1 atm, undiluted [m/s]
LAMINAR_ALPHA: Final = 14
LAMINAR_BETA: Final = 15
LAMINAR_PETROL: Final = 16
TURBULENT_FACTOR: Final = 17  # entrainment speed over turbulence intensity
LENGTH_FACTOR: Final = 18  # of the large eddies over the mean depth of the chamber at ignition
DELAY_FACTOR: Final = 19  # of self-ignition: 0.01768 (ON / 100)^3.402 [s atm^1.7]
TRANSFER: Final = 20  # c_beta of the passing of mean motion into turbulence
EVAPORATION: Final = 21  # crank angle over which the carried liquid evaporates [rad]
SEED_RADIUS: Final = 22  # of the flame at ignition [m]
FRESH_FUEL: Final = 23  # fuel per mass of fresh charge
WALL_EVAPORATION: Final = 24  # heat walls give to evaporate the carried liquid [J/kg fuel]
ENGINE_FIGURES: Final = 25

# Models.
ADIABATIC: Final = 0
WOSCHNI: Final = 1
HOHENBERG: Final = 2
MOTORED: Final = 0
WIEBE: Final = 1
ENTRAINMENT: Final = 2

# --- constituents: lines and columns ---------------------------------------------------------
AIR_LINE: Final = 0
BURNED_LINE: Final = 1
CARRIED_LINE: Final = 2  # fuel as the ducts carry it, part of it still liquid
VAPOUR_LINE: Final = 3  # fuel, all of it vapour
GAS_R: Final = 7
OFFSET: Final = 8  # absolute less thermal internal energy [J/kg]
CONSTITUENT_COLUMNS: Final = 9

# --- state of each cylinder ------------------------------------------------------------------
MODE: Final = 0
UNBURNED_MASS: Final = 1  # [kg]
BURNED_MASS: Final = 2  # [kg], of the burned zone
UNBURNED_ENERGY: Final = 3  # absolute [J]
BURNED_ENERGY: Final = 4  # absolute [J]
UNBURNED_TEMPERATURE: Final = 5  # [K]
BURNED_TEMPERATURE: Final = 6  # [K]
PRESSURE: Final = 7  # [Pa]
VOLUME: Final = 8  # [m3]
UNBURNED_VOLUME: Final = 9
BURNED_VOLUME: Final = 10
PRESSURE_RATE: Final = 11  # [Pa/s]
UNBURNED_RATE: Final = 12  # [K/s]
BURNED_RATE: Final = 13  # [K/s]
BURNING_RATE: Final = 14  # [kg/s]
WITHIN: Final = 15  # entrained, not yet burned [kg]
WITHIN_RATE: Final = 16  # [kg/s]
CORE_TEMPERATURE: Final = 17  # of the end gas away from walls [K]
SINCE_SPARK: Final = 18  # [s]
KNOCK: Final = 19  # integral of dt / delay
MIX: Final = 20  # nine columns: unburned mixture's coefficients, gas constant, offset
AIR_SHARE: Final = 29  # of the unburned mixture
FUEL_SHARE: Final = 30
RESIDUAL_SHARE: Final = 31
DILUTION: Final = 32  # factor of residual gas on the laminar speed
MEAN_MOTION: Final = 33  # kinetic energy of the mean motion of the charge [J]
SHUT_PRESSURE: Final = 34
SHUT_TEMPERATURE: Final = 35
SHUT_VOLUME: Final = 36
TOTAL_MASS: Final = 37
# Sums and marks of the running cycle.
WORK: Final = 38  # of compression and expansion strokes [J]
PUMPING: Final = 39  # of exhaust and intake strokes [J]
HEAT: Final = 40  # to the walls [J]
NET_ENERGY: Final = 41  # absolute enthalpy in less out [J]
NET_MASS: Final = 42  # [kg]
PEAK_PRESSURE: Final = 43
PEAK_ANGLE: Final = 44  # after firing top dead centre [rad]
TRAPPED_MASS: Final = 45
TRAPPED_RESIDUAL: Final = 46
TRAPPED_FUEL: Final = 47
BURNED_10: Final = 48  # cylinder angle, -2 pi to 2 pi [rad]
BURNED_50: Final = 49
BURNED_90: Final = 50
KNOCK_END: Final = 51
HEAT_SHUT: Final = 52  # while shut [J]
OPENING_TEMPERATURE: Final = 53  # at exhaust opening [K]
LAST_ANGLE: Final = 54
CORE_ACTIVE: Final = 55
SPARK_DENSITY: Final = 56  # of the unburned gas at ignition [kg/m3]
# Of the last shut part that was finished.
FINISHED_10: Final = 57
FINISHED_50: Final = 58
FINISHED_90: Final = 59
FINISHED_KNOCK: Final = 60
SPARK_EDDY: Final = 61  # size of the large eddies at ignition [m]
DEVELOPMENT: Final = 62  # turnover time of a large eddy at ignition [s]
SPARK_INTENSITY: Final = 63  # turbulence intensity at ignition [m/s]
TURBULENCE: Final = 64  # kinetic energy of the turbulence of the charge [J]
SHUT_MOTION: Final = 65  # kinetic energy of the mean motion at inlet closing [J/kg]
SHUT_TURBULENCE: Final = 66  # of the turbulence there [J/kg]
STATE: Final = 67

# Modes.
OPEN: Final = 0
COMPRESSION: Final = 1
BURNING: Final = 2

# --- valves: whole numbers and sums ----------------------------------------------------------
VALVE_END: Final = 0
VALVE_CYLINDER: Final = 1
VALVE_SIDE: Final = 2  # 0 intake, 1 exhaust
VALVE_INTEGERS: Final = 3

FORWARD_MASS: Final = 0  # the way the engine flows [kg]
REVERSE_MASS: Final = 1
NET_AIR: Final = 2  # forward less reverse [kg]
NET_FUEL: Final = 3
NET_BURNED: Final = 4
NET_ENTHALPY: Final = 5  # absolute, into the cylinder [J]
TOP_SPEED: Final = 6  # at the port's end by the valve [m/s]
TOP_MACH: Final = 7
FLOWING_TIME: Final = 8  # [s]
SPEED_SUM: Final = 9  # integral of speed over flowing time [m]
VALVE_SUMS: Final = 10

# --- sums of the whole engine, for its energy account -------------------------------------------
ACCOUNT_MASS: Final = 0  # from the open air less to it [kg]
ACCOUNT_ENTHALPY: Final = 1  # absolute, from the open air less to it [J]
ACCOUNT_DUCT_WALLS: Final = 2  # heat to the walls of the ducts [J]
ACCOUNT_VESSEL_WALLS: Final = 3  # heat to the walls of plenums and silencers [J]
ACCOUNT: Final = 4

# --- history of each cylinder by whole degree of cylinder angle -------------------------------
HISTORY_MARKS: Final = 721
H_PRESSURE: Final = 0
H_TEMPERATURE: Final = 1
H_MASS: Final = 2
H_BURNED: Final = 3  # mass share in the burned zone while shut, of burned gas while open
H_VOLUME: Final = 4
HISTORY_COLUMNS: Final = 5

BAD_CYLINDER: Final = 5
"""Status code of the engine march: a cylinder's state became impossible."""
