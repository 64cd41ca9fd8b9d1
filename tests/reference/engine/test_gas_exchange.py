"""Breathing of whole engines against closed forms and published behaviour."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.physics.breathing import engelman_tuned_speed, inlet_mach_index
from headwright.physics.ideal_cycle import ideal_volumetric_efficiency
from headwright.physics.orifice import mass_flow
from headwright.simulation.cycle import Charge, Combustion, EngineCase, run_speed

from .engines import (
    BORE,
    STROKE,
    air_standard,
    humped_opening,
    piped_engine,
    plain_engine,
)

RPM = math.pi / 30.0
MARKING = Combustion(
    model="wiebe", burnable_share=1.0, seed_radius=1e-4, wiebe_duration=math.radians(40.0)
)
"""Burns without heat where the charge releases none: marks what stays behind as residual."""


def efficiency(case: EngineCase, turn: float) -> float:
    return run_speed(case, 150.0 * RPM, largest_turn=turn, tolerance=1e-4).volumetric_efficiency


@pytest.mark.reference
@pytest.mark.parametrize(("ratio", "exhaust"), [(8.0, 1.0), (10.0, 0.7), (10.0, 1.0), (12.0, 0.8)])
def test_ideal_volumetric_efficiency(ratio: float, exhaust: float) -> None:
    """r/(r-1) - (pe/pi + g - 1) / (g (r-1)) (Heywood, eq. 6.2, derived again from the energy
    balance), at exhaust pressures up to inlet pressure: above it still air keeps what blows back,
    which the formula takes in again. Wide valves, slow crank; the valves take a degree to open and
    shut and cost a little pressure: 0.25 %."""
    case = plain_engine(ratio, air_standard(1.4, 0.0), MARKING, exhaust_pressure=exhaust * 1e5)
    ideal = float(ideal_volumetric_efficiency(ratio, exhaust))
    assert efficiency(case, 2e-4) == pytest.approx(ideal, abs=2.5e-3)


@pytest.mark.reference
def test_motored_engine_without_losses_gives_no_net_work() -> None:
    """Pressures alike on both sides, wide valves, no heat: some thousandth of the pressure is
    left, what the valves cost at this speed, and nothing of compression and expansion."""
    case = plain_engine(10.0, Charge.perfect(1.4))
    result = run_speed(case, 150.0 * RPM, largest_turn=2e-4)
    assert 0.0 < -result.indicated_pressure < 0.002 * 1e5
    assert abs(result.gross_pressure) < 1e-5 * 1e5


@pytest.mark.reference
def test_small_throttle_passes_its_choked_flow() -> None:
    """Behind a throttle too small for the engine the air flow is that of the choked orifice."""
    charge = Charge.perfect(1.4, 287.0, 0.0, 300.0)
    area = 0.25e-4
    case = piped_engine(
        2, charge, Combustion(model="none"), plenum=2e-3, throttle_area=area, runner=0.2
    )
    result = run_speed(case, 5000.0 * RPM, most_cycles=60, tolerance=2e-4)
    choked = float(mass_flow(area, 1e5, 300.0, 0.3e5, 287.0, 1.4))
    assert result.air_flow == pytest.approx(choked, rel=0.01)


@pytest.mark.reference
def test_inlet_mach_index_governs_volumetric_efficiency() -> None:
    """C. F. Taylor, *The Internal-Combustion Engine in Theory and Practice*, vol. 1, ch. 6, and
    Livengood and Stanitz, NACA TN 915: level up to an index of about 0.5, then falling. The shape
    only (values were read from memory): at 1.0 some 0.65 to 0.9 of the level."""
    charge = Charge.perfect(1.4, 287.0, 0.0, 300.0)
    angles = np.radians(np.linspace(340.0, 590.0, 251))
    valve = humped_opening("intake", "inlet", 340.0, 590.0, 9.0e-4)
    mean = float(np.mean(np.interp(angles, valve.angles, valve.forward)))
    head = 0.045
    sound = math.sqrt(1.4 * 287.0 * 300.0)
    found = {}
    for index in (0.25, 0.5, 1.0, 1.3):
        speed = index * mean * sound / (math.pi / 4.0 * BORE**2) * math.pi / STROKE
        flow = mean / (math.pi / 4.0 * head**2)
        again = inlet_mach_index(BORE, head, STROKE * speed / math.pi, flow, sound)
        assert again == pytest.approx(index)
        case = plain_engine(10.0, charge, MARKING, exhaust_closes=375.0, exhaust_opens=130.0)
        case = _with_intake(case)
        found[index] = run_speed(case, speed, largest_turn=0.004).volumetric_efficiency
    level = found[0.25]
    assert found[0.5] == pytest.approx(level, rel=0.08)
    assert 0.65 < found[1.0] / level < 0.92
    assert found[1.3] < found[1.0]


def _with_intake(case: EngineCase) -> EngineCase:
    from dataclasses import replace

    intake = humped_opening("intake", "inlet", 340.0, 590.0, 9.0e-4)
    exhaust = humped_opening("exhaust", "outlet", 120.0, 380.0, 9.0e-4)
    cylinder = replace(case.cylinders[0], intake=intake, exhaust=exhaust)
    return replace(case, cylinders=(cylinder,))


@pytest.mark.reference
def test_longer_inlet_pipe_tunes_lower() -> None:
    """Engelman's tuned intake (ASME 73-WA/DGP-2, 1973, from memory): pipe and half-swept cylinder
    as a resonator, so that the best speed goes with 1 / sqrt(length). The ratio of speeds within
    8 % (they are found to 125 rpm in 3000); the speeds themselves within 25 %, since the formula
    knows no valve timing."""
    charge = Charge.perfect(1.4, 287.0, 0.0, 300.0)
    best = {}
    for length, low in ((0.5, 2750.0), (1.0, 1750.0)):
        case = piped_engine(
            1, charge, MARKING, runner=length, primary=0.08, cell=0.02, intake_area=9e-4
        )
        results = []
        last = None
        for rpm in np.arange(low, low + 2100.0, 250.0)[::-1]:
            last = run_speed(case, rpm * RPM, last)
            results.append(last)
        best[length] = max(results, key=lambda one: one.volumetric_efficiency).speed
        cylinder = case.cylinders[0]
        formula = engelman_tuned_speed(
            cylinder.swept_volume,
            cylinder.compression_ratio,
            math.pi / 4.0 * 0.036**2,
            length + 0.011,
            347.2,
        )
        assert best[length] == pytest.approx(float(formula), rel=0.25)
    wanted = math.sqrt(0.511 / 1.011)
    assert best[1.0] / best[0.5] == pytest.approx(wanted, rel=0.08)
