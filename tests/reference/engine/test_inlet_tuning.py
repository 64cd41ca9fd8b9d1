"""A plain inlet pipe tunes a single cylinder where acoustics says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.physics.breathing import engelman_tuned_speed
from headwright.simulation.cycle import run_speed

from .singles import (
    RPM,
    SOUND_SPEED,
    effective_length,
    fillings,
    order_speed,
    shut_frequency,
    single,
    top_of,
)

ORDERS = (5, 6, 8)


@pytest.mark.reference
def test_pipe_rings_as_a_quarter_wave_while_the_valve_is_shut() -> None:
    """a / (4 (L + 0.61 r)) with the end correction of Levine and Schwinger (1948). Frequency from
    the crossings of the pressure beside the shut valve; 0.5 % for their finding between whole
    degrees and for the mean flow."""
    pipe, rpm = 1.0, 1500.0
    result = run_speed(single(pipe), rpm * RPM)
    trace = result.traces([("pipe", 0.99 * pipe)]).ducts[0]
    angle = np.degrees(trace.angle)
    angle = np.where(angle > 595.0, angle - 720.0, angle)
    order = np.argsort(angle)
    shut = (angle[order] > -120.0) & (angle[order] < 335.0)
    angle, excess = angle[order][shut], trace.pressure[order][shut] - 1e5
    places = np.flatnonzero(excess[:-1] * excess[1:] < 0.0)
    step = angle[places + 1] - angle[places]
    crossings = angle[places] - excess[places] * step / (excess[places + 1] - excess[places])
    assert crossings.size >= 8
    period = 2.0 * float(np.mean(np.diff(crossings))) / 360.0 * 60.0 / rpm
    assert 1.0 / period == pytest.approx(shut_frequency(pipe), rel=5e-3)


@pytest.mark.reference
def test_tuned_speeds_follow_the_orders_of_the_quarter_wave() -> None:
    """Best filling where the column of air makes a whole number k of oscillations a cycle.

    The plain relation is N = 30 a / (L k) (15 a / (L q), q = k / 2 oscillations a revolution; P. M.
    Morse, R. H. Boden and H. Schecter, J. Appl. Phys. 9, 1938, from memory). While the valve is
    open the cylinder hangs on the pipe and slows the oscillation, which
    :func:`singles.order_speed` allows for: 4 % of it, and no more than 8 % below the plain
    relation and never above it by more than 1 %. Neighbouring orders are 12 to 20 % apart, and
    half-way between two of them the engine fills worse. Orders 5 to 8, where the wave left from
    the last cycle does it alone; below, the ram of the same stroke counts too."""
    tuned: dict[tuple[float, int], float] = {}
    for pipe in (0.7, 1.4):
        case = single(pipe, cell=0.025)
        for order in ORDERS:
            wanted = order_speed(pipe, order, case)
            speeds = wanted * order / np.linspace(order + 0.42, order - 0.42, 8)
            found = fillings(case, speeds)
            best, filling = top_of(speeds, found)
            plain = 30.0 * SOUND_SPEED / (effective_length(pipe) * order)
            assert best == pytest.approx(wanted, rel=0.04), (pipe, order)
            assert 0.92 < best / plain < 1.01, (pipe, order)
            assert filling > found[0] + 0.01
            tuned[pipe, order] = best
    for order in ORDERS:
        ratio = tuned[0.7, order] / tuned[1.4, order]
        lengths = effective_length(1.4) / effective_length(0.7)
        assert ratio == pytest.approx(lengths, rel=0.04)


@pytest.mark.reference
def test_short_pipe_tunes_as_a_resonator_with_the_cylinder() -> None:
    """At the low end of pipe volume the cylinder sets the pitch: the middle of the hump (where the
    gain over no pipe is above half its largest) goes with 1 / sqrt(L) and not with 1 / L: from 0.25
    to 0.5 m by 1.40 and not by 1.96, within 6 %; and lies where Engelman's formula puts it (ASME
    73-WA/DGP-2, 1973, from memory) within 15 %, which knows no valve timing."""
    coarse = np.arange(2000.0, 9500.0, 500.0)
    without = fillings(single(), coarse)
    middle = {}
    for pipe in (0.25, 0.5):
        case = single(pipe)
        cylinder = case.cylinders[0]
        formula = RPM**-1 * float(
            engelman_tuned_speed(
                cylinder.swept_volume,
                cylinder.compression_ratio,
                math.pi / 4.0 * 0.036**2,
                effective_length(pipe),
                SOUND_SPEED,
            )
        )
        speeds = formula * np.geomspace(0.62, 1.38, 14)
        gain = fillings(case, speeds) - np.interp(speeds, coarse, without)
        high = np.where(gain > 0.5 * gain.max(), gain, 0.0)
        assert high[0] == high[-1] == 0.0
        middle[pipe] = math.exp(float(np.average(np.log(speeds), weights=high)))
        assert middle[pipe] == pytest.approx(formula, rel=0.15)
    lengths = effective_length(0.5) / effective_length(0.25)
    assert middle[0.25] / middle[0.5] == pytest.approx(math.sqrt(lengths), rel=0.06)
