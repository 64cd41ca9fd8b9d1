"""Where everything lies in the arrays of the valve-train kernel.

The masses, from cam to seat: tappet, pushrod and rocker (their coordinate is the lift along the
pushrod, away from the cam), retainer and valve head (lift away from the seat); then the coils of
each spring from the retainer down. Coordinates are zero on the cam's base circle with the valve
seated and its springs at seat load.
"""

from __future__ import annotations

from typing import Final

# --- masses --------------------------------------------------------------------------------
TAPPET: Final = 0
PUSHROD: Final = 1
ROCKER: Final = 2  # inertia over pushrod arm squared
RETAINER: Final = 3  # with collets, upper stem and the springs' end coils
HEAD: Final = 4  # of the valve, with the lower stem
FIRST_COIL: Final = 5

# --- links: stiffness and damping of each, and their forces ---------------------------------
CAM: Final = 0  # cam and tappet, one-sided
FOOT: Final = 1  # tappet and pushrod, one-sided
CUP: Final = 2  # pushrod and rocker, one-sided
TIP: Final = 3  # rocker and stem, one-sided with lash
STEM: Final = 4  # retainer and head, both ways
SEAT: Final = 5  # head and seat, one-sided
LINKS: Final = 6
SPRINGS: Final = 6  # all springs on the retainer; only in the row of forces
FORCES: Final = 7

# --- figures of each spring ------------------------------------------------------------------
COILS: Final = 0  # number of coil masses
FIRST: Final = 1  # place of its first coil among the masses
ELEMENT_STIFFNESS: Final = 2  # between neighbouring coil masses [N/m]
ELEMENT_DAMPING: Final = 3  # [N s/m]
SEAT_LOAD: Final = 4  # [N]
ELEMENT_TRAVEL: Final = 5  # closing from seated at which an element's coils meet [m]
CLASH_STIFFNESS: Final = 6  # of coils that have met [N/m]
CLASH_DAMPING: Final = 7  # [N s/m]
SPRING_FIGURES: Final = 8

# --- figures of the whole train ----------------------------------------------------------------
LASH: Final = 0  # at the valve [m]
TOTAL_SEAT_LOAD: Final = 1  # [N]
WEIGHT: Final = 2  # standard gravity along the pushrod [m/s2]
DRAG: Final = 3  # rate at which tappet, pushrod and rocker lose loose motion [1/s]
RATIO: Final = 4  # rocker ratio as a polynomial in pushrod lift: four coefficients [-, 1/m, ...]
TRAIN_FIGURES: Final = 8

# --- what is recorded at each sample ------------------------------------------------------------
R_CAM_FORCE: Final = 0  # [N]
R_TIP_FORCE: Final = 1
R_SPRING_FORCE: Final = 2
R_SEAT_FORCE: Final = 3
R_LIFT: Final = 4  # of the head off its seat [m]
R_VELOCITY: Final = 5  # of the head [m/s]
R_ACCELERATION: Final = 6  # [m/s2]
R_TAPPET_GAP: Final = 7  # between cam and tappet [m]
R_LEAST_FORCE: Final = 8  # least of cam, foot, cup and tip forces since the last sample [N]
R_CLASH: Final = 9  # greatest force of coils that have met, since the last sample [N]
RECORDS: Final = 10

# --- what is summed up over a cycle --------------------------------------------------------------
SEATED_AT: Final = 0  # share of the cycle at which the head first comes back to its seat; -1 never
SEATING_VELOCITY: Final = 1  # then [m/s], positive towards the seat
BOUNCE_HEIGHT: Final = 2  # greatest lift after that [m]
BOUNCE_SHARE: Final = 3  # share of the cycle spent off the seat after that
LEAST_FORCE: Final = 4  # least force of cam, foot, cup or tip within the window [N]
LEAST_LINK: Final = 5  # which
LEAST_AT: Final = 6  # share of the cycle
PARTED_SHARE: Final = 7  # share of the cycle without contact somewhere, within the window
PARTED_AT: Final = 8  # share of the cycle of the first parting within the window; -1 none
PARTED_LINK: Final = 9  # which
GREATEST_GAP: Final = 10  # between cam and tappet [m]
GREATEST_CAM_FORCE: Final = 11  # [N]
GREATEST_CLASH: Final = 12  # [N]
GREATEST_SEAT_FORCE: Final = 13  # after first coming back [N]
SUMS: Final = 14

DONE: Final = 0
BROKE_DOWN: Final = 1  # a state is no longer a number
