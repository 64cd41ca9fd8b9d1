"""The valve train against closed forms and an independent integration."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from headwright.kernels import valve_train_layout as at
from headwright.kernels.valve_train import march_train
from headwright.physics.spring import surge_frequency
from headwright.simulation.valve_train import CoilSpring, ValveTrainCase, first_speed, run_train
from headwright.simulation.valve_train.arrays import TrainArrays, lay_out

from .rigs import EFFECTIVE_MASS, RIG_LOAD, RIG_RATE, harmonic_cam, one_mass, whole_train

FloatArray = npt.NDArray[np.float64]
RPM = math.pi / 30.0
SAMPLES = 720
pytestmark = pytest.mark.reference


def march(
    laid: TrainArrays,
    speed: float,
    per_sample: int,
    x: FloatArray,
    v: FloatArray,
    *,
    cam: FloatArray | None = None,
    cycles: int = 1,
) -> FloatArray:
    """Advance a state in place through whole cycles; return the records of the last."""
    records, sums = np.zeros((SAMPLES, at.RECORDS)), np.zeros(at.SUMS)
    a, w, force = np.zeros_like(x), np.zeros_like(x), np.zeros(at.FORCES)
    for _ in range(cycles):
        status = march_train(
            speed, SAMPLES * per_sample, per_sample, 0.0, 1.0, 0.5, 5e-5,
            laid.cam if cam is None else cam,
            x, v, a, w, force,
            laid.mass, laid.stiffness, laid.damping, laid.springs, laid.train,
            records, sums,
        )  # fmt: skip
        assert status == at.DONE
    return records


class OtherTrain:
    """The same equations written anew from the case, for ``solve_ivp``."""

    def __init__(self, case: ValveTrainCase, speed: float) -> None:
        self.case, self.speed = case, speed
        closed = np.append(case.cam_lift, case.cam_lift[0])
        angle = np.linspace(0.0, 4.0 * np.pi, closed.size)
        self.cam = CubicSpline(angle, closed, bc_type="periodic")
        self.ratio = np.polynomial.Polynomial(case.ratio)
        self.lift = self.ratio.integ()
        self.coil = [spring.mass / (spring.coils + 1) for spring in case.springs]
        self.masses = [
            case.tappet_mass,
            case.pushrod_mass,
            case.rocker_mass,
            case.retainer_mass + 0.5 * sum(self.coil),
            case.head_mass,
        ]
        self.count = 5 + sum(spring.coils for spring in case.springs)

    @staticmethod
    def contact(k: float, c: float, closing: float, rate: float) -> float:
        return max(0.0, k * closing + c * rate) if closing > 0.0 else 0.0

    def dashpot(self, k: float, m: float, n: float = math.inf, ratio: float | None = None) -> float:
        together = m if math.isinf(n) else m * n / (m + n)
        z = self.case.damping_ratio if ratio is None else ratio
        return 2.0 * z * math.sqrt(k * together)

    def __call__(self, time: float, state: FloatArray) -> FloatArray:
        case, (x, v) = self.case, np.split(state, 2)
        tappet, pushrod, rocker, retainer, head = range(5)
        turned = self.speed * time
        ratio = float(self.ratio(x[rocker]))
        m = case
        half = 2.0 * m.pushrod_stiffness
        at_cam = self.contact(
            m.cam_stiffness,
            self.dashpot(m.cam_stiffness, m.tappet_mass),
            float(self.cam(turned)) - x[tappet],
            float(self.cam(turned, 1)) * self.speed - v[tappet],
        )
        at_foot = self.contact(
            half,
            self.dashpot(half, m.tappet_mass, m.pushrod_mass),
            x[tappet] - x[pushrod],
            v[tappet] - v[pushrod],
        )
        at_cup = self.contact(
            half,
            self.dashpot(half, m.pushrod_mass, m.rocker_mass),
            x[pushrod] - x[rocker],
            v[pushrod] - v[rocker],
        )
        at_tip = self.contact(
            m.rocker_stiffness,
            self.dashpot(m.rocker_stiffness, m.rocker_mass / m.ratio[0] ** 2, m.retainer_mass),
            float(self.lift(x[rocker])) - m.lash - x[retainer],
            ratio * v[rocker] - v[retainer],
        )
        preload = sum(spring.seat_load for spring in m.springs)
        stem = (
            preload
            + m.stem_stiffness * (x[head] - x[retainer])
            + self.dashpot(m.stem_stiffness, m.retainer_mass, m.head_mass) * (v[head] - v[retainer])
        )
        on_seat = preload / m.seat_stiffness - x[head]
        at_seat = self.contact(
            m.seat_stiffness,
            self.dashpot(m.seat_stiffness, m.head_mass, ratio=m.seat_damping_ratio),
            on_seat,
            -v[head],
        )
        force = np.zeros(self.count)
        force[tappet] = at_cam - at_foot - m.tappet_mass * (m.weight + m.drag * v[tappet])
        force[pushrod] = at_foot - at_cup - m.pushrod_mass * (m.weight + m.drag * v[pushrod])
        force[rocker] = at_cup - ratio * at_tip - m.rocker_mass * m.drag * v[rocker]
        force[retainer] = at_tip + stem
        force[head] = at_seat - stem
        masses = np.array(self.masses + [0.0] * (self.count - 5))
        first = 5
        for spring, coil in zip(m.springs, self.coil, strict=True):
            parts = spring.coils + 1
            k = spring.rate * parts
            c = k * spring.damping_ratio / (math.pi * surge_frequency(spring.rate, spring.mass))
            places = slice(first, first + spring.coils)
            masses[places] = coil
            xs = np.concatenate([[x[retainer]], x[places], [0.0]])
            vs = np.concatenate([[v[retainer]], v[places], [0.0]])
            shut, rate = -np.diff(xs), -np.diff(vs)
            pushes = spring.seat_load + k * shut + c * rate
            over = shut - spring.travel_to_bind / parts
            met = 10.0 * k * over + 2.0 * 0.2 * math.sqrt(10.0 * k * 0.5 * coil) * rate
            pushes += np.where(over > 0.0, np.maximum(met, 0.0), 0.0)
            pushes[[0, -1]] = np.maximum(pushes[[0, -1]], 0.0)
            force[retainer] -= pushes[0]
            force[places] += pushes[:-1] - pushes[1:]
            first += spring.coils
        return np.concatenate([v, force / masses])


@pytest.mark.parametrize("rpm", [5000.0, 8500.0])
def test_a_cycle_against_scipy(rpm: float) -> None:
    """One cycle from rest, holding and floating, with lash, clash, seat and varying ratio.

    DOP853 at 1e-9 on equations written anew. Impacts of loose parts amplify small differences, so
    lift is held to 3 micrometres and forces to 2 % of their peak up to the first loss of contact
    (5000 rpm: all along the lift); beyond it lift agrees within 20 micrometres.
    """
    case = whole_train(
        springs=(
            CoilSpring("outer", 31.35e3, 0.040, 250.0, 10.2e-3, coils=3),
            CoilSpring("inner", 14.5e3, 0.018, 110.0, 12e-3, coils=2),
        )
    )
    speed = rpm * RPM
    other = OtherTrain(case, speed)
    period = 4.0 * math.pi / speed
    ours = run_train(case, speed, most_cycles=1, step=0.02)
    times = (ours.traces.angles + 2.0 * math.pi) / speed
    theirs = solve_ivp(
        other, (0.0, period), np.zeros(2 * other.count), method="DOP853",
        t_eval=times, rtol=1e-8, atol=1e-11, max_step=period / 3000.0,
    )  # fmt: skip
    assert theirs.success
    seat = case.seat_load / case.seat_stiffness
    lift = np.maximum(theirs.y[4] - seat, 0.0)
    held = np.abs(ours.traces.angles) < 2.3
    worst = np.abs(lift - ours.traces.lift)[held].max()
    assert ours.parted == (rpm > 8000.0)
    assert ours.clash_force > 0.0
    assert worst < (20e-6 if ours.parted else 3e-6)
    forces = np.array(
        [
            OtherTrain.contact(
                case.cam_stiffness,
                other.dashpot(case.cam_stiffness, case.tappet_mass),
                float(other.cam(speed * time)) - y[0],
                float(other.cam(speed * time, 1)) * speed - y[other.count],
            )
            for time, y in zip(times, theirs.y.T, strict=True)
        ]
    )
    until = ours.parted_at if ours.parted_at is not None else 2.3
    before = held & (ours.traces.angles < until)
    off = np.abs(forces - ours.traces.cam_force)[before].max()
    assert off < 0.02 * ours.greatest_cam_force


def test_second_order_in_the_step() -> None:
    """A train held open by a standing cam, swinging with every contact shut: error by step."""
    settling = lay_out(whole_train(damping_ratio=0.9, drag=2000.0))
    laid = lay_out(whole_train(damping_ratio=0.05, drag=0.0))
    flat = np.zeros((4, 4))
    flat[:, 0] = 5e-3
    rest = np.full(laid.mass.size, 5e-3)
    rest[at.RETAINER :] *= 1.4
    rest[at.FIRST_COIL :] *= np.tile(1.0 - np.arange(1, 7) / 7.0, 2)
    march(settling, 4.0 * math.pi / 0.05, 40, rest, np.zeros_like(rest), cam=flat, cycles=8)
    away = np.zeros_like(rest)
    away[: at.HEAD + 1] = 1e-6 * np.array([-0.5, -1.0, -1.5, -2.0, -2.5])
    away[at.FIRST_COIL :] = 1e-5 * np.sin(np.arange(1, 13))
    ends = []
    for per_sample in (1, 2, 4, 32):
        x, v = rest + away, np.zeros_like(rest)
        rows = march(laid, 4.0 * math.pi / 2e-3, per_sample, x, v, cam=flat)
        assert rows[:, at.R_LEAST_FORCE].min() > 0.0
        ends.append(x)
    errors = [float(np.abs(end - ends[-1]).max()) for end in ends[:-1]]
    slopes = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert (slopes > 1.8).all(), (errors, slopes)


def surge_of(coils: int) -> float:
    """Lowest frequency of a spring between seat and seated retainer [Hz], by running it."""
    spring = CoilSpring("one", 32084.2, 0.036259, 300.0, 0.02, damping_ratio=0.0, coils=coils)
    case = one_mass(harmonic_cam(1e-3), springs=(spring,), stem_stiffness=3e8)
    laid = lay_out(case)
    x, v = np.zeros(laid.mass.size), np.zeros(laid.mass.size)
    x[at.FIRST_COIL :] = 1e-4 * np.sin(np.arange(1, coils + 1) * math.pi / (coils + 1))
    period = 0.05
    per_sample = math.ceil(period / SAMPLES * laid.fastest / 0.2)
    cam = np.full((4, 4), 0.0)
    cam[:, 0] = -1e-3
    rows = march(laid, 4.0 * math.pi / period, per_sample, x, v, cam=cam)
    force = rows[:, at.R_SPRING_FORCE] - 300.0
    rising = np.flatnonzero((force[:-1] < 0.0) & (force[1:] >= 0.0))
    exact = rising - force[rising] / (force[rising + 1] - force[rising])
    return float((exact.size - 1) / ((exact[-1] - exact[0]) * period / SAMPLES))


def test_surge_of_the_chain_of_coils() -> None:
    """A spring of 4.0 x 26.0 mm, 4.5 coils: 470.335 Hz between plates.

    Wahl, *Mechanical Springs*: f = sqrt(k/m)/2, recomputed. A chain of n coil masses has
    (n+1)/pi sqrt(k/m) sin(pi/(2n+2)), low by pi^2/(24 (n+1)^2): 0.8 % at six coils. The plates
    of the rig give a little: within 1e-3 of the chain's own.
    """
    whole = float(surge_frequency(32084.2, 0.036259))
    assert whole == pytest.approx(470.335, rel=1e-5)
    errors = []
    for coils in (2, 5, 11):
        found = surge_of(coils)
        parts = coils + 1
        chain = 2.0 * whole * parts / math.pi * math.sin(math.pi / (2 * parts))
        assert found == pytest.approx(chain, rel=1e-3)
        errors.append(1.0 - found / whole)
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.1)


def test_the_train_leaves_an_eccentric_where_spring_equals_inertia() -> None:
    """One mass on s = A (1 + cos wt): contact is lost at the nose at w^2 = F(2A) / (m A).

    Closed form; the rig's links give by 1e-5 m and ring by a few parts in a thousand.
    """
    amplitude = 4e-3
    case = one_mass(harmonic_cam(amplitude))
    mass = EFFECTIVE_MASS + 1e-5 / 3.0
    expected = 2.0 * math.sqrt((RIG_LOAD + RIG_RATE * 2.0 * amplitude) / (mass * amplitude))
    found = first_speed(lambda speed: run_train(case, speed).parted, 0.8 * expected, 1.3 * expected)
    assert found == pytest.approx(expected, rel=0.005)
    just = run_train(case, 1.01 * expected)
    assert just.parted
    assert just.parted_at is not None
    assert abs(just.parted_at) < 0.5


def test_free_flight_after_parting() -> None:
    """Between losing and finding the cam one mass swings on its spring: x'' = -(F0 + k x)/m.

    Within a thousandth of the lift: what was bent before parting rings on in flight.
    """
    amplitude = 4e-3
    case = one_mass(harmonic_cam(amplitude))
    speed = 2300.0
    result = run_train(case, speed, most_cycles=3)
    traces = result.traces
    flying = np.flatnonzero((traces.cam_force == 0.0) & (np.abs(traces.angles) < 3.0))
    flights = np.split(flying, np.flatnonzero(np.diff(flying) > 1) + 1)
    flight = max(flights, key=len)[5:-5]
    assert flight.size > 100
    time = (traces.angles[flight] - traces.angles[flight[0]]) / speed
    mass = EFFECTIVE_MASS + 1e-5 / 3.0
    swing = math.sqrt(RIG_RATE / mass)
    rest = -RIG_LOAD / RIG_RATE
    # the launch: height and speed fitted, the rest follows
    cosine, sine = np.cos(swing * time), np.sin(swing * time)
    lift = traces.lift[flight]
    launch, *_ = np.linalg.lstsq(np.stack([cosine, sine], 1), lift - rest, rcond=None)
    assert np.abs(launch[0] * cosine + launch[1] * sine + rest - lift).max() < 1e-3 * lift.max()
    assert traces.velocity[flight[0]] == pytest.approx(launch[1] * swing, rel=0.03)


def test_a_mass_on_a_spring() -> None:
    """The train held open by a standing cam of known give swings at sqrt(k/m), damped at ratio z.

    Closed form of one mass; the other links are a thousand times stiffer.
    """
    give = 3e5
    case = one_mass(harmonic_cam(1e-3), cam_stiffness=give, damping_ratio=0.05)
    laid = lay_out(case)
    laid.damping[at.CAM] = 2.0 * 0.02 * math.sqrt((give + RIG_RATE) * EFFECTIVE_MASS)
    cam = np.zeros((4, 4))
    cam[:, 0] = 3e-3
    balance = (give * 3e-3 - RIG_LOAD) / (give + RIG_RATE)
    x, v = np.full(laid.mass.size, balance + 1e-4), np.zeros(laid.mass.size)
    x[at.FIRST_COIL] = 0.5 * (balance + 1e-4)
    period = 0.04
    per_sample = math.ceil(period / SAMPLES * laid.fastest / 0.1)
    rows = march(laid, 4.0 * math.pi / period, per_sample, x, v, cam=cam)
    around = rows[:, at.R_LIFT] - (balance - RIG_LOAD / 3e8)
    rising = np.flatnonzero((around[:-1] < 0.0) & (around[1:] >= 0.0))
    exact = rising - around[rising] / (around[rising + 1] - around[rising])
    found = (exact.size - 1) / ((exact[-1] - exact[0]) * period / SAMPLES)
    natural = math.sqrt((give + RIG_RATE) / (EFFECTIVE_MASS + 1e-5 / 3.0)) / (2.0 * math.pi)
    assert found == pytest.approx(natural * math.sqrt(1.0 - 0.02**2), rel=2e-3)
    tops = [around[i] for i in range(1, 719) if around[i - 1] < around[i] >= around[i + 1]]
    tops = [top for top in tops if top > 0.0]
    decay = math.log(tops[0] / tops[5]) / 5.0
    assert decay == pytest.approx(2.0 * math.pi * 0.02, rel=0.05)


@pytest.mark.parametrize("ratio", [0.05, 0.2, 0.4])
def test_bounce_off_the_seat(ratio: float) -> None:
    """Velocity given back by a spring and dashpot that push but do not pull.

    Schwager and Pöschel, "Coefficient of restitution and linear-dashpot model revisited",
    Granular Matter 9 (2007): e = exp(-(b/w)(pi - atan(2 b w/(w^2 - b^2)))), b = z w0. The valve is
    nearly one mass: 2 %.
    """
    case = one_mass(
        harmonic_cam(1e-3),
        head_mass=0.0999,
        retainer_mass=1e-4,
        stem_stiffness=1e9,
        seat_stiffness=1e6,
        seat_damping_ratio=ratio,
        springs=(CoilSpring("faint", 1e-3, 1e-8, 1e-3, 0.05, coils=1),),
    )
    laid = lay_out(case)
    x, v = np.zeros(laid.mass.size), np.zeros(laid.mass.size)
    x[at.RETAINER :] = 5e-4
    v[at.RETAINER :] = -1.0
    x[at.FIRST_COIL], v[at.FIRST_COIL] = 2.5e-4, -0.5
    cam = np.zeros((4, 4))
    cam[:, 0] = -1e-3
    laid.train[at.LASH] = 1.0
    period = 4e-3
    per_sample = math.ceil(period / SAMPLES * laid.fastest / 0.1)
    rows = march(laid, 4.0 * math.pi / period, per_sample, x, v, cam=cam)
    back = rows[:, at.R_VELOCITY].max()
    b, w = ratio, math.sqrt(1.0 - ratio**2)
    expected = math.exp(-b / w * (math.pi - math.atan2(2.0 * b * w, w * w - b * b)))
    assert back == pytest.approx(expected, rel=0.02)


def energy(case: ValveTrainCase, laid: TrainArrays, x: FloatArray, v: FloatArray) -> float:
    """Kinetic energy, weight, links, springs; the cam stands at zero lift."""
    stiffness = laid.stiffness
    ratio = np.polynomial.Polynomial(case.ratio).integ()
    gaps = [
        max(0.0, -x[0]),
        max(0.0, x[0] - x[1]),
        max(0.0, x[1] - x[2]),
        max(0.0, float(ratio(x[2])) - case.lash - x[3]),
    ]
    total = 0.5 * float(laid.mass @ v**2)
    total += sum(0.5 * k * gap**2 for k, gap in zip(stiffness[:4], gaps, strict=True))
    load = case.seat_load
    total += 0.5 * stiffness[at.STEM] * (x[3] - x[4] - load / stiffness[at.STEM]) ** 2
    total += 0.5 * stiffness[at.SEAT] * max(0.0, load / stiffness[at.SEAT] - x[4]) ** 2
    total += case.weight * (case.tappet_mass * x[0] + case.pushrod_mass * x[1])
    for line in laid.springs:
        first, coils = int(line[at.FIRST]), int(line[at.COILS])
        chain = np.concatenate([[x[3]], x[first : first + coils], [0.0]])
        shut = -np.diff(chain)
        total += float(np.sum(line[at.SEAT_LOAD] * shut))
        total += float(0.5 * line[at.ELEMENT_STIFFNESS] * np.sum(shut**2))
    return total


def test_energy_is_kept_without_damping() -> None:
    """A valve let go at 2 mm bounces on its seat, rings its springs, rattles the train: no loss.

    A symplectic scheme keeps the energy to the square of the step, without drift.
    """
    case = whole_train(
        damping_ratio=0.0,
        seat_damping_ratio=0.0,
        drag=0.0,
        springs=(CoilSpring("one", 30e3, 0.04, 250.0, 0.02, damping_ratio=0.0),),
    )
    laid = lay_out(case)
    x, v = np.zeros(laid.mass.size), np.zeros(laid.mass.size)
    x[at.RETAINER :] = np.concatenate([[2e-3, 2e-3], 2e-3 * (1.0 - np.arange(1, 7) / 7.0)])
    x[: at.RETAINER] = [1e-3, 1.2e-3, 1.3e-3]
    before = energy(case, laid, x, v)
    cam = np.zeros((4, 4))
    period = 0.05
    losses = []
    for share in (0.2, 0.1, 0.05):
        per_sample = math.ceil(period / SAMPLES * laid.fastest / share)
        y, u = x.copy(), v.copy()
        march(laid, 4.0 * math.pi / period, per_sample, y, u, cam=cam)
        losses.append(abs(energy(case, laid, y, u) / before - 1.0))
    assert losses[0] < 0.02
    assert losses[2] < 0.002
