"""A valve train as masses, springs, dashpots and one-sided contacts, marched through one cam cycle.

For every mass  m x'' = sum of the forces of its links. A link's force is  F = k d + c d'  of its
closing d; a one-sided link pushes and never pulls, F = max(0, k d + c d') where d > 0 and nothing
where it is open. The rocker turns lift along the pushrod q into lift at its tip
g(q) = integral of the ratio, and passes the tip's force back times g'(q), so that no work is lost
in it. A helical spring is a chain of coil masses; coils that meet add a stiff one-sided link, and
its ends push on retainer and seat without pulling.

The scheme is the position form of the Störmer-Verlet method (drift, kick, drift): forces are taken
at the middle of the step, with the velocity there predicted from the last acceleration. It is of
second order, symplectic where there is no damping, and needs one set of forces a step. All links
are of like stiffness, so the step that resolves the stiffest is also the one the contacts need,
and an implicit scheme would gain nothing.

Source of the scheme: E. Hairer, C. Lubich and G. Wanner, *Geometric Numerical Integration*, ch. I
(from memory).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.valve_train_layout import (
    BOUNCE_HEIGHT,
    BOUNCE_SHARE,
    BROKE_DOWN,
    CAM,
    CLASH_DAMPING,
    CLASH_STIFFNESS,
    COILS,
    CUP,
    DONE,
    DRAG,
    ELEMENT_DAMPING,
    ELEMENT_STIFFNESS,
    ELEMENT_TRAVEL,
    FIRST,
    FOOT,
    GREATEST_CAM_FORCE,
    GREATEST_CLASH,
    GREATEST_GAP,
    GREATEST_SEAT_FORCE,
    HEAD,
    LASH,
    LEAST_AT,
    LEAST_FORCE,
    LEAST_LINK,
    PARTED_AT,
    PARTED_LINK,
    PARTED_SHARE,
    PUSHROD,
    R_ACCELERATION,
    R_CAM_FORCE,
    R_CLASH,
    R_LEAST_FORCE,
    R_LIFT,
    R_SEAT_FORCE,
    R_SPRING_FORCE,
    R_TAPPET_GAP,
    R_TIP_FORCE,
    R_VELOCITY,
    RATIO,
    RETAINER,
    ROCKER,
    SEAT,
    SEAT_LOAD,
    SEATED_AT,
    SEATING_VELOCITY,
    SPRINGS,
    STEM,
    TAPPET,
    TIP,
    TOTAL_SEAT_LOAD,
    WEIGHT,
)

__all__ = ["forces_of_train", "march_train"]

FloatArray = npt.NDArray[np.float64]


@inlined
def _pushes(closing: float, closing_speed: float, stiffness: float, damping: float) -> float:
    """Force of a one-sided link [N]."""
    if closing <= 0.0:
        return 0.0
    return max(0.0, stiffness * closing + damping * closing_speed)


@inlined
def _spring_forces(
    x: FloatArray,
    v: FloatArray,
    a: FloatArray,
    spring: FloatArray,
    total: FloatArray,
) -> float:
    """Add the forces on one spring's coils to ``a``; return the greatest force of coils that met.

    The force of the top element on the retainer is added to ``total[SPRINGS]``.
    """
    coils = int(spring[COILS])
    first = int(spring[FIRST])
    stiffness = spring[ELEMENT_STIFFNESS]
    damping = spring[ELEMENT_DAMPING]
    load = spring[SEAT_LOAD]
    travel = spring[ELEMENT_TRAVEL]
    clash = 0.0
    above_x, above_v = x[RETAINER], v[RETAINER]
    coming = 0.0
    for element in range(coils + 1):
        last = element == coils
        at = first + element
        below_x = 0.0 if last else x[at]
        below_v = 0.0 if last else v[at]
        closing = above_x - below_x
        speed = above_v - below_v
        force = load + stiffness * closing + damping * speed
        if closing > travel:
            met = _pushes(closing - travel, speed, spring[CLASH_STIFFNESS], spring[CLASH_DAMPING])
            clash = max(clash, met)
            force += met
        if element == 0 or last:
            force = max(force, 0.0)
        if element == 0:
            total[SPRINGS] += force
        else:
            a[at - 1] = coming - force
        coming = force
        above_x, above_v = below_x, below_v
    return clash


@inlined
def forces_of_train(
    cam_lift: float,
    cam_speed: float,
    x: FloatArray,
    v: FloatArray,
    a: FloatArray,
    force: FloatArray,
    mass: FloatArray,
    stiffness: FloatArray,
    damping: FloatArray,
    springs: FloatArray,
    train: FloatArray,
) -> float:
    """Fill the link forces and the accelerations of a state.

    Args:
        cam_lift: [m].
        cam_speed: its rate of change [m/s].
        x: coordinates [m], shape (masses,).
        v: velocities [m/s].
        a: accelerations, filled [m/s2].
        force: of the links and the springs together, filled [N], shape (FORCES,).
        mass: [kg], shape (masses,).
        stiffness: of the links [N/m], shape (LINKS,).
        damping: of the links [N s/m].
        springs: shape (springs, SPRING_FIGURES).
        train: figures of the whole train.

    Returns:
        The greatest force of coils that have met [N].
    """
    q = x[ROCKER]
    r0, r1, r2, r3 = train[RATIO], train[RATIO + 1], train[RATIO + 2], train[RATIO + 3]
    ratio = r0 + q * (r1 + q * (r2 + q * r3))
    tip_lift = q * (r0 + q * (r1 / 2.0 + q * (r2 / 3.0 + q * r3 / 4.0)))
    force[CAM] = _pushes(cam_lift - x[TAPPET], cam_speed - v[TAPPET], stiffness[CAM], damping[CAM])
    force[FOOT] = _pushes(
        x[TAPPET] - x[PUSHROD], v[TAPPET] - v[PUSHROD], stiffness[FOOT], damping[FOOT]
    )
    force[CUP] = _pushes(x[PUSHROD] - q, v[PUSHROD] - v[ROCKER], stiffness[CUP], damping[CUP])
    force[TIP] = _pushes(
        tip_lift - train[LASH] - x[RETAINER],
        ratio * v[ROCKER] - v[RETAINER],
        stiffness[TIP],
        damping[TIP],
    )
    held = train[TOTAL_SEAT_LOAD]
    force[STEM] = (
        held + stiffness[STEM] * (x[HEAD] - x[RETAINER]) + damping[STEM] * (v[HEAD] - v[RETAINER])
    )
    seat = held - stiffness[SEAT] * x[HEAD]
    force[SEAT] = max(0.0, seat - damping[SEAT] * v[HEAD]) if seat > 0.0 else 0.0
    force[SPRINGS] = 0.0
    clash = 0.0
    for number in range(springs.shape[0]):
        clash = max(clash, _spring_forces(x, v, a, springs[number], force))
    drag = train[DRAG]
    a[TAPPET] = force[CAM] - force[FOOT] - mass[TAPPET] * (train[WEIGHT] + drag * v[TAPPET])
    a[PUSHROD] = force[FOOT] - force[CUP] - mass[PUSHROD] * (train[WEIGHT] + drag * v[PUSHROD])
    a[ROCKER] = force[CUP] - ratio * force[TIP] - mass[ROCKER] * drag * v[ROCKER]
    a[RETAINER] = force[TIP] + force[STEM] - force[SPRINGS]
    a[HEAD] = force[SEAT] - force[STEM]
    for number in range(x.shape[0]):
        a[number] /= mass[number]
    return clash


@compiled
def march_train(
    speed: float,
    steps: int,
    per_sample: int,
    window_start: float,
    window_end: float,
    returning: float,
    opened: float,
    cam: FloatArray,
    x: FloatArray,
    v: FloatArray,
    a: FloatArray,
    w: FloatArray,
    force: FloatArray,
    mass: FloatArray,
    stiffness: FloatArray,
    damping: FloatArray,
    springs: FloatArray,
    train: FloatArray,
    records: FloatArray,
    sums: FloatArray,
) -> int:
    """March a train through one whole cam cycle (two turns of the crank).

    Args:
        speed: of the crank [rad/s].
        steps: in the cycle, a multiple of ``per_sample``.
        per_sample: steps between samples.
        window_start: share of the cycle from which contact is watched.
        window_end: share of the cycle to which contact is watched.
        returning: share of the cycle from which the valve is on its way back.
        opened: lift that counts as off the seat when touching it again [m].
        cam: coefficients of the cam's cubic spline, one row to each of its equal intervals over the
            cycle: lift, first, second and third derivative by share of the interval [m].
        x: coordinates at the start, advanced in place [m].
        v: velocities, advanced in place [m/s].
        a: accelerations of the last step, advanced in place [m/s2].
        w: scratch for velocities at the middle of a step, shape (masses,).
        force: scratch, shape (FORCES,).
        mass: as in :func:`forces_of_train`, as are the next four.
        stiffness: see there.
        damping: see there.
        springs: see there.
        train: see there.
        records: filled, shape (samples, RECORDS).
        sums: filled, shape (SUMS,).

    Returns:
        DONE or BROKE_DOWN.
    """
    whole = 4.0 * math.pi
    h = whole / speed / steps
    half = 0.5 * h
    intervals = cam.shape[0]
    slope_scale = intervals * speed / whole
    count = x.shape[0]
    seat_gap = train[TOTAL_SEAT_LOAD] / stiffness[SEAT]
    for number in range(sums.shape[0]):
        sums[number] = 0.0
    sums[SEATED_AT] = -1.0
    sums[PARTED_AT] = -1.0
    sums[LEAST_FORCE] = math.inf
    least = math.inf
    clashed = 0.0
    sample = 0
    was_off = False
    for step in range(steps):
        share = (step + 0.5) / steps
        place = share * intervals
        row = min(int(place), intervals - 1)
        u = place - row
        c1, c2, c3 = cam[row, 1], cam[row, 2], cam[row, 3]
        lift = cam[row, 0] + u * (c1 + u * (c2 + u * c3))
        cam_speed = (c1 + u * (2.0 * c2 + u * 3.0 * c3)) * slope_scale
        for number in range(count):
            x[number] += half * v[number]
            w[number] = v[number] + half * a[number]
        clash = forces_of_train(
            lift, cam_speed, x, w, a, force, mass, stiffness, damping, springs, train
        )
        # --- what the state at the middle of the step tells
        weakest = CAM
        for link in (FOOT, CUP, TIP):
            if force[link] < force[weakest]:
                weakest = link
        if window_start <= share < window_end:
            if force[weakest] < sums[LEAST_FORCE]:
                sums[LEAST_FORCE] = force[weakest]
                sums[LEAST_LINK] = weakest
                sums[LEAST_AT] = share
            if force[weakest] <= 0.0:
                sums[PARTED_SHARE] += 1.0
                if sums[PARTED_AT] < 0.0:
                    sums[PARTED_AT] = share
                    sums[PARTED_LINK] = weakest
        least = min(least, force[weakest])
        clashed = max(clashed, clash)
        sums[GREATEST_CLASH] = max(sums[GREATEST_CLASH], clash)
        sums[GREATEST_CAM_FORCE] = max(sums[GREATEST_CAM_FORCE], force[CAM])
        gap = max(0.0, x[TAPPET] - lift)
        sums[GREATEST_GAP] = max(sums[GREATEST_GAP], gap)
        off = x[HEAD] - seat_gap
        if share >= returning:
            if sums[SEATED_AT] < 0.0:
                if off > opened:
                    was_off = True
                elif off <= 0.0 and was_off:
                    sums[SEATED_AT] = share
                    sums[SEATING_VELOCITY] = -w[HEAD]
            else:
                sums[GREATEST_SEAT_FORCE] = max(sums[GREATEST_SEAT_FORCE], force[SEAT])
                if off > 0.0:
                    sums[BOUNCE_HEIGHT] = max(sums[BOUNCE_HEIGHT], off)
                    sums[BOUNCE_SHARE] += 1.0
        if step % per_sample == per_sample // 2:
            line = records[sample]
            line[R_CAM_FORCE] = force[CAM]
            line[R_TIP_FORCE] = force[TIP]
            line[R_SPRING_FORCE] = force[SPRINGS]
            line[R_SEAT_FORCE] = force[SEAT]
            line[R_LIFT] = max(0.0, off)
            line[R_VELOCITY] = w[HEAD]
            line[R_ACCELERATION] = a[HEAD]
            line[R_TAPPET_GAP] = gap
            line[R_LEAST_FORCE] = least
            line[R_CLASH] = clashed
            least = math.inf
            clashed = 0.0
            sample += 1
        for number in range(count):
            v[number] += h * a[number]
            x[number] += half * v[number]
        if not math.isfinite(x[HEAD] + x[TAPPET]):
            return BROKE_DOWN
    sums[PARTED_SHARE] /= steps
    sums[BOUNCE_SHARE] /= steps
    return DONE
