"""The inlet Mach index and nothing else rules the filling of an engine without pipes.

C. F. Taylor, *The Internal-Combustion Engine in Theory and Practice*, vol. 1, ch. 6 (from memory);
J. C. Livengood, A. R. Rogowski and C. F. Taylor, *The Volumetric Efficiency of Four-Stroke
Engines*, SAE 1952 (title from memory, abstract read: the index gathers the effects of piston
speed, inlet valve capacity, cylinder design and size).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.physics.breathing import inlet_mach_index
from headwright.simulation.cycle import EngineCase, run_speed

from .singles import single

INDICES = np.array([0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.2, 1.6, 2.0])


def speed_at(case: EngineCase, index: float) -> float:
    """Crank speed [rad/s] of a Mach index, with the mean area over the valve-open period."""
    cylinder = case.cylinders[0]
    valve = cylinder.intake
    opens, shuts = valve.span()
    angles = np.linspace(opens, shuts, 501)
    mean = float(np.mean(np.interp(angles, valve.angles, valve.forward)))
    sound = math.sqrt(1.4 * case.air.gas_constant * case.air.temperature)
    piston_speed = index * mean * sound / cylinder.section
    head = 0.5 * cylinder.bore
    coefficient = mean / (math.pi / 4.0 * head**2)
    again = inlet_mach_index(cylinder.bore, head, piston_speed, coefficient, sound)
    assert again == pytest.approx(index)
    return math.pi * piston_speed / cylinder.motion.stroke


def filling(case: EngineCase, index: float) -> float:
    speed = speed_at(case, index)
    return run_speed(case, speed, largest_turn=0.004, tolerance=2e-4).volumetric_efficiency


@pytest.mark.reference
def test_filling_is_level_to_an_index_of_a_half_and_falls_beyond() -> None:
    """Level within 4 % from 0.2 to 0.5, 5 % lost between 0.5 and 0.65, then falling all the way.
    Never more than a valve choked all the time can pass, 0.5787 A / (pi Z) with the open angle A
    (closed form, g = 1.4), and at least three quarters of it from 0.8 up."""
    case = single(exhaust_opens=120.0, exhaust_closes=380.0, bore=0.1, stroke=0.1)
    found = np.array([filling(case, float(index)) for index in INDICES])
    level = float(np.mean(found[INDICES < 0.45]))
    flat = found[INDICES <= 0.5]
    assert np.max(np.abs(flat / level - 1.0)) < 0.04
    knee = float(np.interp(-0.95 * level, -found[2:], INDICES[2:]))
    assert 0.5 < knee < 0.65
    falling = found[INDICES >= 0.5]
    assert np.all(np.diff(falling) < 0.0)
    assert found[INDICES == 1.0][0] < 0.8 * level
    choked = 0.5787 * math.radians(250.0) / (math.pi * INDICES)
    shares = found / choked
    assert np.all(shares < 1.0)
    assert np.all(shares[INDICES >= 0.8] > 0.75)


@pytest.mark.reference
@pytest.mark.parametrize("index", [0.3, 0.7, 1.1])
def test_engines_of_one_index_fill_alike(index: float) -> None:
    """Size, stroke, valve area, speed and gas do not matter by themselves (dimensional analysis of
    the quasi-steady cylinder; Livengood, Rogowski and Taylor). 0.1 %: time step and settling."""
    first = filling(single(), index)
    for other in (
        single(bore=0.127, stroke=0.1778),
        single(bore=0.09, stroke=0.06),
        single(intake_area=5e-4, exhaust_area=5e-4),
        single(gas_constant=259.8, temperature=420.0),
    ):
        assert filling(other, index) == pytest.approx(first, rel=1e-3)


@pytest.mark.reference
def test_geometrically_similar_engines_fill_alike_at_one_piston_speed() -> None:
    """Bore 2.5, 4 and 6 inches, everything else in proportion, inlet pipes too (the similar
    engines of the Massachusetts Institute of Technology; sizes from memory): one curve against
    mean piston speed. Only the friction of the pipe changes with size: 0.6 %."""
    for piston_speed in (6.0, 12.0):
        found = []
        for inches in (2.5, 4.0, 6.0):
            bore = 0.0254 * inches
            case = single(
                7.0 * bore,
                pipe_diameter=0.45 * bore,
                cell=0.25 * bore,
                bore=bore,
                stroke=1.2 * bore,
                intake_area=0.14 * bore**2,
                exhaust_area=0.14 * bore**2,
            )
            speed = math.pi * piston_speed / (1.2 * bore)
            found.append(run_speed(case, speed, tolerance=2e-4, most_cycles=60))
        assert all(one.converged for one in found)
        values = [one.volumetric_efficiency for one in found]
        assert (max(values) - min(values)) / values[1] < 0.006, (piston_speed, values)
