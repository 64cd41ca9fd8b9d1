"""Where everything lies in the flat arrays the kernels work on.

**Field.** All ducts lie one after another in one flat array of cells, each duct with one ghost
cell at either end. The array is cut into blocks; a block holds a window of cells, row by row,

    index of a value = block * BLOCK_SIZE + row * ROW_LENGTH + FIRST + place in the window

The first and last places of a window are copies of cells owned by the neighbouring blocks (two
more copies lie in the padding beyond), so that each block is updated without looking at others.
Row length and row order are constants of the code, which lets the compiler see that rows do not
overlap and vectorise every loop.

**Work.** A block's reconstructed states and face fluxes; one work array serves all blocks, so
that it stays in the first-level cache. Rows as in the field.

**Ends, vessels.** One line of a two-dimensional array for each duct end and vessel.
"""

from __future__ import annotations

from typing import Final

# --- blocks -------------------------------------------------------------------------------
ROW_LENGTH: Final = 288
"""Values in a row of the field or the work array."""
FIRST: Final = 8
"""Index of a window's first place in its row."""
LARGEST_WINDOW: Final = 256
"""Most places in a window; windows are multiples of ``WINDOW_STEP``."""
WINDOW_STEP: Final = 16

# --- rows of the field --------------------------------------------------------------------
# Conserved, per volume.
DENSITY: Final = 0  # [kg/m3]
MOMENTUM: Final = 1  # [kg/(m2 s)]
ENERGY: Final = 2  # [J/m3]
BURNED: Final = 3  # density of burned gas [kg/m3]
VAPOUR: Final = 4  # density of fuel vapour [kg/m3]
# Derived from them.
VELOCITY: Final = 5  # [m/s]
PRESSURE: Final = 6  # [Pa]
SOUND: Final = 7  # frozen sound speed [m/s]
TEMPERATURE: Final = 8  # [K]
BURNED_FRACTION: Final = 9
VAPOUR_FRACTION: Final = 10
# Wall terms, as left by the last step.
ACCELERATION: Final = 11  # of the gas by wall friction and bends [m/s2]
PRESSURE_RATE: Final = 12  # dp/dt by friction heat and wall heat [Pa/s]
HEATING: Final = 13  # wall heat to the gas [W/m3]
# Geometry, constant.
INVERSE_LENGTH: Final = 14  # 1 / cell length [1/m]
INVERSE_VOLUME: Final = 15  # 1 / cell volume [1/m3]; 0 for ghosts and copies
FACE_AREA: Final = 16  # area of the cell's left face [m2]
COURANT_WEIGHT: Final = 17  # 1 / cell length [1/m]; 0 for ghosts and copies
INVERSE_DIAMETER: Final = 18  # 1 / hydraulic diameter [1/m]
ROUGHNESS_TERM: Final = 19  # (e / (3.7 D))^1.11
FIXED_FRICTION: Final = 20  # Darcy factor, negative: Haaland
BEND_LOSS: Final = 21  # loss coefficient per length [1/m]
WALL_TEMPERATURE: Final = 22  # [K]
WALL_HEAT: Final = 23  # factor on the wall heat; 0 is adiabatic
FACE_WEIGHT: Final = 24  # 1 / cell length at faces between two cells of a duct, else 0
WIDENING: Final = 25  # (A_right - A_left) / cell volume [1/m]
FIELD_ROWS: Final = 26
BLOCK_SIZE: Final = FIELD_ROWS * ROW_LENGTH

# --- rows of the work array ---------------------------------------------------------------
# State at the left and right face of each cell at the middle of the step.
LEFT_DENSITY: Final = 0
LEFT_VELOCITY: Final = 1
LEFT_PRESSURE: Final = 2
LEFT_BURNED: Final = 3
LEFT_VAPOUR: Final = 4
RIGHT_DENSITY: Final = 5
RIGHT_VELOCITY: Final = 6
RIGHT_PRESSURE: Final = 7
RIGHT_BURNED: Final = 8
RIGHT_VAPOUR: Final = 9
HALF_PRESSURE: Final = 10  # cell pressure at the middle of the step
# Fluxes per area through the left face of each cell.
MASS_FLUX: Final = 11
MOMENTUM_FLUX: Final = 12
ENERGY_FLUX: Final = 13
BURNED_FLUX: Final = 14
VAPOUR_FLUX: Final = 15
SIGNAL_SPEED: Final = 16  # fastest signal over cell length [1/s]
SCRATCH: Final = 17
EXPONENT: Final = 18
MANTISSA: Final = 19
WORK_ROWS: Final = 20

# --- lines of the ends array ---------------------------------------------------------------
# What each end is.
END_AREA: Final = 0  # [m2]
END_SIGN: Final = 1  # +1 at a duct's finish, -1 at its start
# State of the duct at the end face at the middle of the step; velocities out of the duct.
END_DENSITY: Final = 2
END_SPEED: Final = 3
END_PRESSURE: Final = 4
END_SOUND: Final = 5
END_BURNED: Final = 6
END_VAPOUR: Final = 7
END_GAMMA: Final = 8
END_GAS_CONSTANT: Final = 9
# What follows from it for the wave at the end, see headwright.kernels.waves.
END_BEND: Final = 28  # (gamma + 1) / (2 gamma)
END_LIMIT: Final = 29  # (gamma - 1) / (gamma + 1)
END_IMPEDANCE: Final = 30  # rho c [kg/(m2 s)]
END_INVERSE_PRESSURE: Final = 31  # [1/Pa]
# State at the face that the joint settles on.
FACE_DENSITY: Final = 10
FACE_SPEED: Final = 11
FACE_PRESSURE: Final = 12
FACE_BURNED: Final = 13
FACE_VAPOUR: Final = 14
# Fluxes per area out of the duct (momentum: along the duct).
OUT_MASS: Final = 15
OUT_MOMENTUM: Final = 16
OUT_ENERGY: Final = 17
OUT_BURNED: Final = 18
OUT_VAPOUR: Final = 19
# The ghost cell beyond the end, velocity out of the duct.
GHOST_DENSITY: Final = 20
GHOST_SPEED: Final = 21
GHOST_PRESSURE: Final = 22
GHOST_BURNED: Final = 23
GHOST_VAPOUR: Final = 24
END_OFFSET: Final = 25  # pressure above that of a junction's supply, kept between steps [Pa]
PASSED_MASS: Final = 26  # mass gone out of the duct since the start [kg]
END_REACH: Final = 27  # how far the ghost mirrors the cell in the face: 2, or 0 for a plain copy
END_LAST_SPEED: Final = 32  # face speed of the last step [m/s]
END_EARLIER_SPEED: Final = 33  # face speed of the step before that [m/s]
END_COLUMNS: Final = 34

# Whole numbers of each end.
END_CELL: Final = 0  # field index of the density of the cell at the end
END_NEXT: Final = 1  # field index of the density of the next cell inwards
END_GHOST: Final = 2  # field index of the density of the ghost cell
END_GHOST_COPY: Final = 3  # field index of a copy of the ghost in another block, or -1
END_BLOCK: Final = 4  # block of the cell
END_FACE: Final = 5  # place of the end face in a row of the work array
END_INTEGERS: Final = 6

# --- lines of the vessels array -------------------------------------------------------------
VESSEL_MASS: Final = 0  # [kg]
VESSEL_ENERGY: Final = 1  # internal energy [J]
VESSEL_BURNED_MASS: Final = 2  # [kg]
VESSEL_VAPOUR_MASS: Final = 3  # [kg]
VESSEL_VOLUME: Final = 4  # [m3]
# State the joints see.
VESSEL_PRESSURE: Final = 5
VESSEL_TEMPERATURE: Final = 6
VESSEL_ENTHALPY: Final = 7  # specific [J/kg]
VESSEL_GAMMA: Final = 8
VESSEL_GAS_CONSTANT: Final = 9
VESSEL_BURNED: Final = 10
VESSEL_VAPOUR: Final = 11
# Flows into the vessel in this step.
INTO_MASS: Final = 12  # [kg/s]
INTO_ENERGY: Final = 13  # [W]
INTO_BURNED: Final = 14  # [kg/s]
INTO_VAPOUR: Final = 15  # [kg/s]
# All of the last step's rates of change (flows, heat and work), to look half a step ahead.
RATE_MASS: Final = 16
RATE_ENERGY: Final = 17
RATE_BURNED: Final = 18
RATE_VAPOUR: Final = 19
VESSEL_CONDUCTANCE: Final = 20  # [W/K]
VESSEL_WALL_TEMPERATURE: Final = 21  # [K]
VESSEL_IS_ENDLESS: Final = 22  # 1 for a reservoir, whose state no flow changes
VESSEL_OPENING: Final = 23  # sum of what opens into it, weighted as in longest_vessel_step [m2]
VESSEL_COLUMNS: Final = 24

# Kinds of vessels.
RESERVOIR: Final = 0  # its state never changes
VOLUME: Final = 1  # advanced here
FOREIGN: Final = 2  # advanced by the caller between the joints and the next step

# --- joints --------------------------------------------------------------------------------
# Kinds.
CLOSED: Final = 0
TRANSMISSIVE: Final = 1
PRESCRIBED_STATE: Final = 2
PRESCRIBED_VELOCITY: Final = 3
PRESCRIBED_PRESSURE: Final = 4
MOUTH: Final = 5
ORIFICE: Final = 6
THROTTLE: Final = 7
AREA_CHANGE: Final = 8
JUNCTION: Final = 9
VENT: Final = 10

# Whole numbers of each joint.
JOINT_KIND: Final = 0
JOINT_FIRST: Final = 1  # position of its first end in the list of joint ends
JOINT_COUNT: Final = 2  # number of ends
JOINT_VESSEL: Final = 3
JOINT_OTHER_VESSEL: Final = 4
JOINT_SCHEDULE: Final = 5
JOINT_OTHER_SCHEDULE: Final = 6
JOINT_COSINES: Final = 7  # position of its first cosine, or -1
JOINT_INTEGERS: Final = 8

# Numbers of each joint.
JOINT_INFLOW_LOSS: Final = 0
JOINT_OUTFLOW_LOSS: Final = 1
JOINT_MEMORY: Final = 2  # a junction's last pressure [Pa]
JOINT_EARLIER: Final = 3  # its pressure one step before that [Pa]
JOINT_COLUMNS: Final = 4

# --- schedules -----------------------------------------------------------------------------
SCHEDULE_FIRST: Final = 0
SCHEDULE_COUNT: Final = 1
SCHEDULE_HINT: Final = 2
SCHEDULE_INTEGERS: Final = 3
SCHEDULE_PERIOD: Final = 0  # 0: none
SCHEDULE_RATE: Final = 1
SCHEDULE_OFFSET: Final = 2
SCHEDULE_COLUMNS: Final = 3

# --- the gas -------------------------------------------------------------------------------
# One line for each component and one for the viscosity; columns 0-6 are c_j, 7 is R.
GAS_FRESH: Final = 0
GAS_BURNED: Final = 1  # stored as the difference to fresh
GAS_VAPOUR: Final = 2  # stored as the difference to fresh
GAS_OTHER: Final = 3
GAS_LINES: Final = 4
GAS_CONSTANT: Final = 7
GAS_COLUMNS: Final = 8
# Columns of the line GAS_OTHER.
GAS_VISCOSITY: Final = 0  # C in mu = C T sqrt(T) / (T + S)
GAS_SUTHERLAND: Final = 1  # S [K]
GAS_IS_CONSTANT: Final = 2  # 1: constant gamma and no walls; the plain sweep serves
GAS_GAMMA: Final = 3
SHIFT_K: Final = 1000.0

# --- status codes --------------------------------------------------------------------------
DONE: Final = 0
BAD_CELL: Final = 1  # density or pressure not positive in a cell
BAD_VESSEL: Final = 2
BAD_JOINT: Final = 3  # no solution at a joint
TOO_FAST: Final = 4  # Courant number above one
