"""Steady-flow, acoustic, orifice and vessel oracles, held to tables and independent libraries."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from . import (
    acoustics,
    exact_nozzle,
    influence,
    orifice_flow,
    steady_relations,
    sudden_openings,
    vessels,
)

pytestmark = pytest.mark.reference


# M, p/p0, rho/rho0, T/T0, A/A* as printed in NACA Report 1135 (1953), tables I and II;
# f L*/D (Darcy), p/p*, T/T* as in Keenan & Kaye, Gas Tables, and Shapiro vol. 1, App. B.
# Five decimals, gamma 1.4.
LINES = (
    (0.1, 0.99303, 0.99502, 0.99800, 5.82183, 66.92156, 10.94351, 1.19760),
    (0.2, 0.97250, 0.98028, 0.99206, 2.96352, 14.53327, 5.45545, 1.19048),
    (0.3, 0.93947, 0.95638, 0.98232, 2.03507, 5.29925, 3.61906, 1.17878),
    (0.5, 0.84302, 0.88517, 0.95238, 1.33984, 1.06906, 2.13809, 1.14286),
    (0.8, 0.65602, 0.73999, 0.88652, 1.03823, 0.07229, 1.28928, 1.06383),
    (1.0, 0.52828, 0.63394, 0.83333, 1.0, 0.0, 1.0, 1.0),
    (1.5, 0.27240, 0.39498, 0.68966, 1.17617, 0.13605, 0.60648, 0.82759),
    (2.0, 0.12780, 0.23005, 0.55556, 1.68750, 0.30500, 0.40825, 0.66667),
    (3.0, 0.02722, 0.07623, 0.35714, 4.23457, 0.52216, 0.21822, 0.42857),
)


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"M{line[0]}")
def test_isentropic_and_fanno_tables(line):
    mach, pressure, density, temperature, area, length, fanno_p, fanno_t = line
    near = {"abs": 6e-6}  # half a unit of the last printed place
    assert steady_relations.pressure_ratio(mach) == pytest.approx(pressure, **near)
    assert steady_relations.density_ratio(mach) == pytest.approx(density, **near)
    assert steady_relations.temperature_ratio(mach) == pytest.approx(temperature, **near)
    assert steady_relations.area_ratio(mach) == pytest.approx(area, **near)
    assert steady_relations.fanno_length(mach) == pytest.approx(length, **near)
    assert steady_relations.fanno_pressure(mach) == pytest.approx(fanno_p, **near)
    assert steady_relations.fanno_temperature(mach) == pytest.approx(fanno_t, **near)


@pytest.mark.parametrize(
    ("mach", "behind", "pressure", "density", "stagnation"),
    [
        # NACA Report 1135, table II, gamma 1.4
        (1.5, 0.70109, 2.45833, 1.86207, 0.92979),
        (2.0, 0.57735, 4.50000, 2.66667, 0.72087),
        (3.0, 0.47519, 10.33333, 3.85714, 0.32834),
    ],
)
def test_normal_shock_table(mach, behind, pressure, density, stagnation):
    near = {"abs": 6e-6}
    assert steady_relations.mach_behind_shock(mach) == pytest.approx(behind, **near)
    assert steady_relations.shock_pressure_ratio(mach) == pytest.approx(pressure, **near)
    assert steady_relations.shock_density_ratio(mach) == pytest.approx(density, **near)
    assert steady_relations.shock_stagnation_ratio(mach) == pytest.approx(stagnation, **near)


@pytest.mark.parametrize("gamma", [1.25, 1.33, 1.4])
def test_fanno_and_rayleigh_lines_solve_their_differential_equations(gamma):
    """Shapiro's influence coefficients integrated by scipy meet the closed forms to 1e-8."""

    def friction(_, state):
        square = state[0]
        gain = gamma * square * square * (1 + 0.5 * (gamma - 1) * square) / (1 - square)
        return [gain]

    answer = solve_ivp(friction, (0.0, 3.0), [0.3**2], rtol=1e-12, atol=1e-14, method="DOP853")
    mach = math.sqrt(answer.y[0, -1])
    assert steady_relations.fanno_mach_after(0.3, 3.0, gamma) == pytest.approx(mach, rel=1e-8)

    def heat(_, state):
        square = state[0]
        gain = (1 + gamma * square) * (1 + 0.5 * (gamma - 1) * square) / (1 - square)
        return [square * gain]  # d(M2) / d(ln T0)

    answer = solve_ivp(heat, (0.0, math.log(1.6)), [0.2**2], rtol=1e-12, atol=1e-14)
    mach = math.sqrt(answer.y[0, -1])
    assert steady_relations.rayleigh_mach_after(0.2, 1.6, gamma) == pytest.approx(mach, rel=1e-8)


def test_rayleigh_table():
    # Shapiro vol. 1, App. B, Rayleigh line, gamma 1.4 (five decimals; recomputed).
    assert steady_relations.rayleigh_stagnation_temperature(0.5) == pytest.approx(0.69136, abs=6e-6)
    assert steady_relations.rayleigh_pressure(0.5) == pytest.approx(1.77778, abs=6e-6)
    assert steady_relations.rayleigh_temperature(0.5) == pytest.approx(0.79012, abs=6e-6)


def test_shocked_parabolic_nozzle():
    # Anderson, Computational Fluid Dynamics (1995), ch. 7: A = 1 + 2.2 (x - 1.5)^2, p_e/p01 =
    # 0.6784; he prints the shock at x = 2.1 and M1 = 2.07. Recomputed digits, all kept places.
    shock = exact_nozzle.shocked_nozzle(lambda x: 1 + 2.2 * (x - 1.5) ** 2, 1.5, 3.0, 0.6784)
    assert shock.shock_place == pytest.approx(2.09933, abs=6e-6)
    assert shock.shock_area == pytest.approx(1.79023, abs=6e-6)
    assert shock.mach_before == pytest.approx(2.07001, abs=6e-6)
    assert shock.mach_after == pytest.approx(0.56589, abs=6e-6)
    assert shock.stagnation_ratio == pytest.approx(0.68817, abs=6e-6)
    assert shock.exit_mach == pytest.approx(0.14308, abs=6e-6)


def test_choked_orifice_rows():
    # Critical ratio and mass-flow factor: closed forms, recomputed; fluids as a second opinion.
    for gamma, ratio, factor in (
        (1.40, 0.528282, 0.684731),
        (1.35, 0.536851, 0.676145),
        (1.33, 0.540364, 0.672628),
        (1.30, 0.545728, 0.667262),
    ):
        assert orifice_flow.critical_ratio(gamma) == pytest.approx(ratio, abs=6e-7)
        assert orifice_flow.critical_ratio(gamma) == pytest.approx(
            fluids.P_critical_flow(1.0, gamma), rel=1e-12
        )
        flow = orifice_flow.orifice_mass_flow(1.0, 1.0, 1.0, 0.1, 1.0, gamma)
        assert flow == pytest.approx(factor, abs=6e-7)
        assert steady_relations.mass_flow_function(1.0, gamma) == pytest.approx(flow, rel=1e-12)
    # 1000 mm2 effective, 100 kPa, 300 K, air with R 287.05: recomputed.
    for pressure, flow in ((95e3, 0.1048347), (93e3, 0.1226300), (80e3, 0.1910561)):
        assert orifice_flow.orifice_mass_flow(1e-3, 1e5, 300.0, pressure) == pytest.approx(
            flow, rel=1e-6
        )


def test_sudden_enlargement():
    # fluids' Borda-Carnot for 50 to 100 mm, and the compressible balance in its slow limit.
    area = (math.pi / 4 * 0.05**2, math.pi / 4 * 0.1**2)
    loss = orifice_flow.borda_carnot(*area)
    assert loss == pytest.approx(fluids.diffuser_sharp(0.05, 0.1), rel=1e-12)
    mach = 0.02
    _, _, stagnation = orifice_flow.sudden_enlargement(mach, *area)
    # At M = 0.02 compressibility changes the coefficient by order M^2.
    dynamic = 0.5 * 1.4 * mach**2 * steady_relations.pressure_ratio(mach)
    assert (1.0 - stagnation) / dynamic == pytest.approx(loss, rel=2e-3)


def test_blowdown_closed_form():
    # 1 L, CdA 10 mm2, 500 kPa, 300 K into 100 kPa: recomputed closed form, choked throughout.
    rows = ((0.02, 0.945504, 0.984117), (0.05, 0.870001, 0.960992), (0.10, 0.758960, 0.924223))
    for elapsed, pressure, temperature in rows:
        got = vessels.choked_blowdown(1e-3, 1e-5, 300.0, elapsed)
        assert got == pytest.approx((pressure, temperature), abs=6e-7)
    # The independent integration of the two balances agrees.
    times = np.array([0.02, 0.05, 0.10])
    pressures, temperatures = vessels.two_vessels(
        (1e-3, 1e3), (5e5, 1e5), (300.0, 300.0), 1e-5, times
    )
    assert pressures[0] / 5e5 == pytest.approx([row[1] for row in rows], abs=1e-6)
    assert temperatures[0] / 300.0 == pytest.approx([row[2] for row in rows], abs=1e-6)


def test_filling_an_empty_vessel():
    # T = gamma T0: any thermodynamics text (uniform-state filling).
    assert vessels.filled_temperature(0.0, 1.0, 1.0, 300.0) == pytest.approx(420.0)


def test_end_correction_of_levine_and_schwinger():
    # The abstract gives 0.6133 a as ka -> 0, worked by hand in 1948; the integral itself comes to
    # 0.6127 when evaluated by machine, hence the width of this limit.
    modulus, correction = acoustics.unflanged_end(1e-4)
    assert correction == pytest.approx(acoustics.UNFLANGED, abs=7e-4)
    assert correction == pytest.approx(0.6127, abs=1e-4)
    assert modulus == pytest.approx(1.0, abs=1e-6)
    # Their low-frequency expansion against their integral; the expansion is good to 1 % for
    # ka up to about 0.5.
    for ka, value in ((0.1, 0.99507), (0.5, 0.89812)):
        assert acoustics.unflanged_modulus_low(ka) == pytest.approx(value, abs=1e-5)
        assert acoustics.unflanged_end(ka)[0] == pytest.approx(value, rel=0.01)


def test_pipe_resonances():
    # 1 m pipe, c 343.2 m/s: arithmetic, with and without the corrections for a 25 mm radius.
    assert acoustics.quarter_wave(1.0, 343.2) == pytest.approx(85.80, abs=5e-3)
    assert acoustics.half_wave(1.0, 343.2, 2) == pytest.approx(343.2, abs=5e-2)
    long = 1.0 + acoustics.UNFLANGED * 0.025
    assert acoustics.quarter_wave(long, 343.2) == pytest.approx(84.504, abs=1e-3)
    long = 1.0 + acoustics.FLANGED * 0.025
    assert acoustics.quarter_wave(long, 343.2) == pytest.approx(84.073, abs=1e-3)
    area = math.pi * 0.025**2
    assert acoustics.helmholtz(1e-3, 0.30, area, 343.2) == pytest.approx(139.74, abs=5e-3)
    extra = (acoustics.UNFLANGED + acoustics.FLANGED) * 0.025
    assert acoustics.helmholtz(1e-3, 0.30 + extra, area, 343.2) == pytest.approx(132.07, abs=5e-3)
    # A stepped pipe without a step, a cone without a taper, a huge vessel: the plain cases.
    assert acoustics.stepped_quarter_wave(0.4, 1.0, 0.6, 1.0, 343.2) == pytest.approx(
        85.8, rel=1e-9
    )
    cone = acoustics.cone_resonance(1.0, 0.05, 0.05001, 343.2)
    assert cone == pytest.approx(85.8, rel=1e-3)
    # A full cone (apex closed) resonates as an open-open pipe (Kinsler et al.; bassoons do it).
    assert acoustics.cone_resonance(1.0, 1e-6, 0.05, 343.2) == pytest.approx(171.6, rel=1e-3)
    # Mass added at a node of pressure... a small vessel turns the open pipe into a quarter wave.
    small = acoustics.vessel_and_pipe(1e-9, 1.0, area, 343.2)
    assert small == pytest.approx(85.8, rel=1e-4)
    big = acoustics.vessel_and_pipe(1.0, 1.0, area, 343.2)
    assert big == pytest.approx(acoustics.helmholtz(1.0, 1.0, area, 343.2), rel=1e-3)


def test_reflections():
    assert acoustics.step_reflection(1.0, 2.0) == pytest.approx(-1.0 / 3.0)
    assert acoustics.step_reflection(1.0, 4.0) == pytest.approx(-0.6)
    assert acoustics.junction_reflection([1.0, 1.0, 1.0]) == pytest.approx(-1.0 / 3.0)
    assert acoustics.junction_reflection([1.0] * 4) == pytest.approx(-0.5)
    # Two pipes at a junction are a step.
    assert acoustics.junction_reflection([1.0, 3.0]) == pytest.approx(
        acoustics.step_reflection(1.0, 3.0)
    )


@pytest.mark.parametrize("darcy", [0.02, 0.05])
def test_marched_balances_meet_the_closed_lines(darcy):
    """The marched duct flow is Fanno's without heat and isentropic without friction."""
    mach, constant = 0.3, 287.05
    temperature, pressure = 300.0, 1e5
    velocity = mach * math.sqrt(1.4 * constant * temperature)
    places = np.linspace(0.0, 1.0, 5)
    _, _, along = influence.march(
        places, (pressure, temperature, velocity), lambda _: math.pi / 4 * 0.04**2, darcy
    )
    for place, value in zip(places, along, strict=True):
        exact = steady_relations.fanno_mach_after(mach, darcy * place / 0.04)
        assert value == pytest.approx(exact, rel=1e-7)

    def cone(place: float) -> float:
        return 1e-3 * (1.0 + 0.5 * place)

    _, _, along = influence.march(places, (pressure, temperature, velocity), cone, 0.0)
    sonic = cone(0.0) / steady_relations.area_ratio(mach)
    for place, value in zip(places, along, strict=True):
        assert value == pytest.approx(
            steady_relations.mach_from_area(cone(place) / sonic), rel=1e-6
        )
    # Heat with vanishing friction: the Rayleigh line at the heating that was marched.
    _, hot, along = influence.march(
        places,
        (pressure, temperature, velocity),
        lambda _: math.pi / 4 * 0.04**2,
        1e-7,
        3e7,
    )
    total = hot * (1 + 0.2 * along**2)
    for value, heating in zip(along, total / total[0], strict=True):
        assert value == pytest.approx(steady_relations.rayleigh_mach_after(mach, heating), rel=1e-5)


def test_sudden_openings_meet_their_limits():
    """A full-size opening outward doubles nothing new: the open end; a tiny one: a wall."""
    full = sudden_openings.outflow(1e5, (1.3e5, 300.0, 0.0), 1.0, 1.0 - 1e-9)
    mouth = sudden_openings.open_end(1e5, (1.3e5, 300.0, 0.0), 300.0)
    assert full.pressure == pytest.approx(mouth.pressure, rel=1e-4)
    assert full.mass_flow_in == pytest.approx(mouth.mass_flow_in, rel=1e-4)
    # A closed end reflects a plateau moving at it: p_w/p0 = (2 X - 1)^7 (Benson ch. 6) comes
    # from the same wave function; here the acoustic limit of a small opening.
    small = sudden_openings.inflow((1.001e5, 300.0), (1e5, 300.0, 0.0), 1.0, 1e-4)
    flow = orifice_flow.orifice_mass_flow(1e-4, 1.001e5, 300.0, 1e5)
    # the back pressure it builds up takes a few thousandths of the head away
    assert small.mass_flow_in == pytest.approx(flow, rel=5e-3)
    sound = math.sqrt(1.4 * 287.05 * 300.0)
    rise = small.pressure - 1e5
    assert rise == pytest.approx(flow * sound, rel=5e-3)  # dp = rho a u, u = m / rho
    # Full-size opening outward at a critical pressure ratio: sonic plane.
    choked = sudden_openings.open_end(1e4, (5e5, 900.0, 0.0), 300.0)
    assert -choked.inward_velocity == pytest.approx(
        math.sqrt(1.4 * 287.05 * choked.temperature), rel=1e-9
    )
