"""Checks of the valve gear: figures by hand, verdicts, what is missing, what mends it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from assemble import makers
from assemble.test_valve_gear import HALF, demo, own, own_cam
from headwright.assemble import Trial
from headwright.assemble.facts import Fact
from headwright.assemble.valve_gear import valve_train_facts
from headwright.assemble.valve_gear_forces import rigid_train
from headwright.assemble.valve_gear_springs import spring_facts
from headwright.checks import Finding, run_checks
from headwright.checks import valve_gear_figures as figures
from headwright.checks.valve_gear import check_valve_gear


def found_of(trial: Trial) -> dict[tuple[str, str], Finding]:
    findings = list(check_valve_gear(trial))
    keyed = {(finding.check, finding.where): finding for finding in findings}
    assert len(keyed) == len(findings)  # one finding a kind and place
    return keyed


def limited(trial: Trial, **limits: Any) -> Trial:
    rules = makers.limits({name: makers.rule(value) for name, value in limits.items()})
    return replace(trial, bundle=replace(trial.bundle, limits=rules))


@pytest.mark.reference
def test_the_face_of_a_harmonic_cam() -> None:
    # Velocity of a harmonic lobe by cam angle: h pi / (2 half span of the cam) = 2 x 7 pi / (2 x
    # 2.618) mm; with half the lobe and the usual offset of 1 mm, by Pythagoras.
    trial = own()
    train = valve_train_facts(trial, "intake")
    found = figures.face_margin(train, figures.cam_facts(trial))
    speed = 2.0 * 7e-3 * math.pi / (2.0 * HALF)
    assert found.value == pytest.approx(12e-3 - math.hypot(speed, 6e-3 + 1e-3), abs=2e-5)


@pytest.mark.reference
def test_the_nose_of_a_harmonic_cam() -> None:
    # rho = r_b + s + s'' with s'' = -(2 pi / span)^2 h / 2 at full lift: an eccentric's would be
    # constant; here it is least at the nose or the foot.
    trial = own()
    train = valve_train_facts(trial, "intake")
    found = figures.least_curvature(train, figures.cam_facts(trial))
    nose = 18e-3 + 7e-3 - (2.0 * math.pi / HALF) ** 2 * 7e-3 / 2.0
    assert found.value == pytest.approx(nose, rel=0.01)


@pytest.mark.reference
def test_pressure_turned_slowly() -> None:
    # Hertz by hand at full lift: F = i (k (L0 - h + v)); the nose's radius as above.
    trial = own(heights={"installed_height": "38 mm (measured)"})
    train = valve_train_facts(trial, "intake")
    cam = figures.cam_facts(trial)
    found = figures.contact_stress(train, rigid_train(train), cam, 0.0)
    force = 1.5 * 30e3 * (10e-3 + 1.5 * 7e-3)
    nose = 25e-3 - (2.0 * math.pi / HALF) ** 2 * 7e-3 / 2.0
    expected = math.sqrt(force * 100e9 / (math.pi * 12e-3 * nose))
    assert found.value == pytest.approx(expected, rel=0.01)
    assert found.uncertainty > 0.03 * expected  # the modulus is known to a tenth


@pytest.mark.reference
def test_bind_margin_is_a_difference() -> None:
    (spring,) = spring_facts(own(), "intake", 1)
    assert figures.bind_margin(spring, 9e-3).value == pytest.approx(38e-3 - 9e-3 - 25e-3)


@pytest.mark.reference
def test_stress_and_surge_of_a_plain_spring() -> None:
    # d 4, D 26 mm: C = 6.5, K_B = 1.217391; tau = K 8 F D / (pi d^3) is 1007.52 MPa at 800 N.
    # 4.5 coils of it surge at 470.3 Hz: closed forms recomputed.
    body = {
        "rate": None,
        "mass": None,
        "wire_diameter": "4 mm (measured)",
        "mean_diameter": "26 mm (measured)",
        "active_coils": "4.5 (measured)",
        "wire": "chrome-silicon",
    }
    (spring,) = spring_facts(own(spring=body), "intake", 1)
    facts = figures.stress_facts(spring)
    values = {name: fact.value or 0.0 for name, fact in facts.items()}
    shut, lifted = figures.wire_stresses(spring, values, 8e-3)
    load = 32.0842e3 * 10e-3
    assert shut / 1e6 == pytest.approx(1007.52 * load / 800.0, rel=1e-4)
    assert lifted / 1e6 == pytest.approx(1007.52 * 1.8 * load / 800.0, rel=1e-4)
    assert figures.surge_frequency(spring) == pytest.approx(470.335, rel=1e-4)
    speed = Fact("engine_speed", "x", "speed", 200.0 * math.pi)
    assert figures.surge_order(spring, speed).value == pytest.approx(470.335 / 50.0, rel=1e-4)
    reserve = figures.fatigue_reserve(spring, 8e-3)
    strength = 0.67 * 1974e6 / 4.0**0.108
    endurance = 398e6 / (1.0 - 534e6 / strength)
    amplitude, mean = 0.5 * (lifted - shut), 0.5 * (lifted + shut)
    assert reserve.value == pytest.approx(1.0 / (amplitude / endurance + mean / strength), rel=1e-6)


@pytest.mark.reference
def test_bind_against_sampling() -> None:
    # The probability of breach is the share of draws beyond the limit (JCGM 101:2008).
    trial = limited(demo("sprint-2025"), bind_margin_minimum="2.6 mm")
    finding = found_of(trial)["coil_bind", "intake valves"]
    generator = np.random.default_rng(5)
    draws = generator.normal(finding.value or 0.0, finding.uncertainty or 0.0, 40_000)
    assert finding.probability_of_breach == pytest.approx(float(np.mean(draws < 2.6e-3)), abs=0.01)


class TestVerdicts:
    def test_the_demo_gear_suits(self) -> None:
        found = found_of(demo("sprint-2025"))
        assert {finding.verdict for finding in found.values()} == {"good"}
        assert len(found) == 14

    def test_every_figure_carries_facts_and_limit(self) -> None:
        for finding in found_of(demo("launch-1535")).values():
            assert finding.facts
            assert finding.limit is not None
            assert finding.quantity

    def test_the_shop_sets_its_own_limits(self) -> None:
        trial = limited(
            demo("sprint-2025"),
            bind_margin_minimum="5 mm",
            seat_load_minimum="500 N",
            open_load_maximum="500 N",
            spring_reserve_minimum="3",
            spring_fatigue_minimum="2",
            surge_order_minimum="12",
            contact_stress_maximum_flat="400 MPa",
            tappet_face_minimum="3 mm",
            lobe_curvature_minimum="12 mm",
            tip_travel_maximum="0.2 mm",
            tip_margin_minimum="4 mm",
        )
        found = found_of(trial)
        assert {finding.verdict for finding in found.values()} == {"fails"}
        assert len(found) == 18
        advice = found["tip_travel", "intake valves"].advice
        assert "higher" in advice
        assert "pushrod" in advice

    def test_a_stud_rocker_is_mended_by_its_pushrod(self) -> None:
        trial = limited(own(rocker={"mount": "stud"}), tip_travel_maximum="0.1 mm")
        advice = found_of(trial)["tip_travel", "intake valves"].advice
        assert advice.startswith("A pushrod")

    def test_a_weak_spring_lets_go(self) -> None:
        found = found_of(own(spring={"rate": "6 N/mm (measured)"}))
        assert found["spring_reserve", "intake valves"].verdict == "fails"

    def test_a_roller_asks_other_things(self) -> None:
        gear = {"tappet": {"sort": "roller", "roller_diameter": "18 mm (measured)"}}
        found = found_of(own(gear=gear))
        assert ("tappet_face", "valve gear") not in found
        limit = found["contact_stress", "valve gear"].limit
        assert limit is not None
        assert limit.name == "contact_stress_maximum_roller"

    def test_a_barrel_rolls_its_contact_nearer(self) -> None:
        trial = own()
        flat = figures.face_margin(valve_train_facts(trial, "intake"), figures.cam_facts(trial))
        barrel = {
            "tappet": {
                "sort": "barrel",
                "face_diameter": "24 mm",
                "crown_radius": "150 mm (measured)",
            }
        }
        crowned = own(gear=barrel)
        found = figures.face_margin(
            valve_train_facts(crowned, "intake"), figures.cam_facts(crowned)
        )
        assert found.value is not None
        assert flat.value is not None
        assert found.value > flat.value


class TestMissing:
    def test_without_valve_gear_nothing_is_said(self) -> None:
        assert list(check_valve_gear(makers.trial())) == []

    def test_without_springs(self) -> None:
        trial = own()
        bare = replace(trial, bundle=replace(trial.bundle, springs=()))
        found = found_of(bare)["springs", "valve gear"]
        assert found.verdict == "unknown"
        assert "valve springs" in found.advice

    def test_heights_of_the_casting(self) -> None:
        found = found_of(own(heights={}))
        assert found["rocker", "casting"].verdict == "unknown"
        assert found["springs", "casting"].verdict == "unknown"
        assert all(fact.path.startswith("casting") for fact in found["rocker", "casting"].measure)

    def test_shaft_of_the_rocker(self) -> None:
        found = found_of(own(rocker={"shaft_height": None}))["rocker", "valve gear"]
        assert found.verdict == "unknown"
        assert [fact.path for fact in found.measure] == ["rocker ROCKER: shaft_height"]

    def test_cam_without_its_sizes(self) -> None:
        bare = own_cam(base_circle_radius=None)
        found = found_of(own(cam=bare))["cam_contact", "valve gear"]
        assert found.verdict == "unknown"
        assert "base circle" in found.advice

    def test_a_lobe_that_is_not_there(self) -> None:
        cam = own_cam(lobes=own_cam().to_body()["lobes"][:1])
        found = found_of(own(cam=cam))
        assert found["cam_contact", "valve gear"].verdict == "unknown"
        assert ("coil_bind", "intake valves") in found

    def test_bind_height(self) -> None:
        found = found_of(own(spring={"bind_height": None, "total_coils": None}))
        assert found["coil_bind", "valve gear"].verdict == "unknown"

    def test_clashing_rocker(self) -> None:
        found = found_of(own(rocker={"shaft_height": "5 mm (measured)"}))
        assert found["rocker", "intake valves"].verdict == "fails"


def test_it_is_among_all_the_checks() -> None:
    names = {finding.check for finding in run_checks(demo("sprint-2025"))}
    assert {"coil_bind", "spring_reserve", "contact_stress", "tip_travel", "surge"} <= names
