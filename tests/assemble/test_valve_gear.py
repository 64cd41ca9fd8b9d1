"""A valve train from its records: which figures count, what stands in, forces and motion."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from assemble import makers
from headwright.assemble import Bundle, Trial, gather, make_trial
from headwright.assemble.valve_gear import (
    CRANK_GRID,
    delivered_lift,
    train_cylinder,
    valve_train_facts,
)
from headwright.assemble.valve_gear_cam import lash_fact, lobe_facts
from headwright.assemble.valve_gear_forces import (
    forces,
    rigid_train,
    separation_speed,
    spring_reserve,
)
from headwright.assemble.valve_gear_rocker import rocker_facts, tip_height_fact
from headwright.assemble.valve_gear_springs import load_of_nest, spring_facts
from headwright.demo import demo_records
from headwright.errors import RecordError
from headwright.physics.cam_profiles import profile_lobe_lift, smooth_lobe
from headwright.records import Build, Cam, Casting, Record, Rocker, Spring, Valve, ValveGear

DEGREES = [float(angle) for angle in range(-150, 151, 3)]
HALF = math.radians(150.0)


def demo_bundle(build: str, casting: str | None = None) -> Bundle:
    records = {(record.kind, record.tag): record for record in demo_records()}

    def look_up(kind: str, tag: str) -> Record | None:
        return records.get((kind, tag))

    castings = [record for record in records.values() if isinstance(record, Casting)]
    chosen = records["build", build]
    assert isinstance(chosen, Build)
    found = gather(chosen, look_up, castings=castings)
    if casting is not None:
        on = records["casting", casting]
        assert isinstance(on, Casting)
        found = found.on(on)
    return found


def demo(build: str, casting: str | None = None) -> Trial:
    return make_trial(demo_bundle(build, casting))


def lobe(side: str, **changes: Any) -> dict[str, Any]:
    lifts = profile_lobe_lift("harmonic", 7.0, HALF, np.radians(DEGREES))
    return {
        "side": side,
        "centreline": "106 deg (measured)",
        "lift_angles": {"values": DEGREES, "unit": "deg", "provenance": "measured"},
        "lifts": {"values": [float(x) for x in lifts], "unit": "mm", "provenance": "measured"},
    } | changes


def own_cam(**changes: Any) -> Cam:
    body = {
        "tag": "CAM",
        "family": "invented",
        "base_circle_radius": "18 mm (measured)",
        "lobe_width": "12 mm (measured)",
        "lobes": [lobe("intake"), lobe("exhaust")],
    }
    return Cam.read(body | changes)


ROCKER = {
    "tag": "ROCKER",
    "ratio": "1.5 (maker)",
    "valve_arm": "36 mm (measured)",
    "pushrod_arm": "24 mm (measured)",
    "shaft_to_valve": "35.7 mm (measured)",
    "shaft_height": "46.6 mm (measured)",
    "tip_radius": "6.5 mm (measured)",
    "shaft_to_tappet": "24 mm (measured)",
    "arm_angle": "182 deg (measured)",
    "tappet_angle": "0 deg (measured)",
}
SPRING = {
    "tag": "SPRING",
    "rate": "30 N/mm (measured)",
    "free_length": "48 mm (measured)",
    "bind_height": "25 mm (measured)",
    "mass": "40 g (measured)",
    "active_coils": "4 (measured)",
    "total_coils": "6 (measured)",
}
GEAR = {
    "tag": "GEAR",
    "cam": "CAM",
    "rocker": "ROCKER",
    "springs": ["SPRING"],
    "tappet": {"sort": "flat", "face_diameter": "24 mm", "mass": "50 g (measured)"},
    "pushrods": [{"length": "200 mm (measured)", "mass": "40 g (measured)"}],
    "retainer_mass": "12 g (measured)",
    "collet_mass": "4 g (measured)",
    "retainer_depth": "7 mm (measured)",
    "intake_lash_hot": "0 mm (measured)",
}
HEIGHTS = {"stem_height": "45 mm (measured)", "valve_length": "100 mm (measured)"}


def own(
    *,
    cam: Cam | None = None,
    rocker: Mapping[str, Any] | None = None,
    spring: Mapping[str, Any] | None = None,
    gear: Mapping[str, Any] | None = None,
    heights: Mapping[str, Any] | None = None,
    valve: Mapping[str, Any] | None = None,
) -> Trial:
    body = makers.casting_body()
    for one in body["valves"]:
        one.update(HEIGHTS if heights is None else heights)
    parts: dict[str, Any] = {
        "cam": cam or own_cam(),
        "rocker": Rocker.read(ROCKER | dict(rocker or {})),
        "valve_gear": ValveGear.read(GEAR | dict(gear or {})),
        "springs": (Spring.read(SPRING | dict(spring or {})),),
    }
    if valve is not None:
        base = {"tag": "V", "side": "intake", "head_diameter": "40 mm", "mass": "80 g (measured)"}
        parts["intake_valve"] = Valve.read(base | dict(valve))
    bundle = makers.bundle(**parts)
    return make_trial(replace(bundle, casting=Casting.read(body)))


def without(body: Mapping[str, Any], *names: str) -> dict[str, Any]:
    return {name: None for name in names if name in body}


class TestCam:
    def test_the_demo_table_is_smoothed_onto_its_polynomial(self) -> None:
        # The demo's comment gives the polynomial the table was written from.
        found = lobe_facts(demo_bundle("sprint-2025"), "intake")
        assert found is not None
        assert found.lobe is not None
        angles = np.radians(np.arange(-170.0, 171.0, 1.0))
        assert found.lobe.lift(angles) == pytest.approx(
            smooth_lobe(7.0e-3, math.pi, angles), abs=5e-7
        )
        assert found.table is not None
        assert found.table.rms_residual < 1e-7

    def test_lift_and_duration_alone(self) -> None:
        found = lobe_facts(demo_bundle("launch-1535"), "intake")
        assert found is not None
        assert found.lobe is not None
        assert found.table is None
        assert "estimated" in found.basis
        half = math.radians(128.0)
        assert found.lobe.lift(np.array([-half, half])) == pytest.approx([0.3e-3, 0.3e-3], abs=2e-6)
        assert found.acceleration.uncertainty == pytest.approx(0.15)

    def test_angles_of_the_cam_and_from_elsewhere(self) -> None:
        plain = lobe_facts(own().bundle, "intake")
        turned = [0.5 * angle for angle in DEGREES]
        table = {"values": turned, "unit": "deg", "provenance": "measured"}
        halved = own_cam(lobes=[lobe("intake", lift_angles=table, angles_of="cam")])
        shifted = {"values": [x + 60.0 for x in DEGREES], "unit": "deg", "provenance": "measured"}
        moved = own_cam(lobes=[lobe("intake", lift_angles=shifted)])
        for cam in (halved, moved):
            found = lobe_facts(own(cam=cam).bundle, "intake")
            assert plain is not None
            assert plain.lobe is not None
            assert found is not None
            assert found.lobe is not None
            grid = np.radians(np.arange(-140.0, 141.0, 5.0))
            assert found.lobe.lift(grid) == pytest.approx(plain.lobe.lift(grid), abs=2e-6)
        assert found.notes
        assert "shifted" in found.notes[0]

    def test_a_table_read_at_the_valve_comes_back_to_the_tappet(self) -> None:
        trial = own()
        arm = rocker_facts(trial, "intake", 1, 7e-3)
        assert arm is not None
        assert arm.geometry is not None
        tappet = profile_lobe_lift("harmonic", 7e-3, HALF, np.radians(DEGREES))
        valve = arm.geometry.motion(tappet, 0.4e-3).valve_lift
        table = {
            "values": [1e3 * float(x) for x in valve],
            "unit": "mm",
            "provenance": "measured",
        }
        cam = own_cam(
            lobes=[lobe("intake", lifts=table, lifts_at="valve", table_lash="0.4 mm (measured)")]
        )
        found = lobe_facts(own(cam=cam).bundle, "intake", arm.geometry)
        assert found is not None
        assert found.lobe is not None
        grid = np.radians(np.arange(-120.0, 121.0, 5.0))
        truth = profile_lobe_lift("harmonic", 7e-3, HALF, grid)
        assert found.lobe.lift(grid) == pytest.approx(truth, abs=5e-6)
        by_ratio = lobe_facts(own(cam=cam).bundle, "intake")
        assert by_ratio is not None
        assert by_ratio.lobe is not None
        assert by_ratio.lobe.lift(grid) == pytest.approx(truth, abs=0.1e-3)

    def test_misread_figures_are_told(self) -> None:
        lifts = [float(x) for x in profile_lobe_lift("345", 7.0, HALF, np.radians(DEGREES))]
        lifts[40] += 0.4
        table = {"values": lifts, "unit": "mm", "uncertainty": 0.01, "provenance": "measured"}
        found = lobe_facts(own(cam=own_cam(lobes=[lobe("intake", lifts=table)])).bundle, "intake")
        assert found is not None
        assert any("misread" in note for note in found.notes)

    def test_a_card_that_disagrees_is_told(self) -> None:
        # The harmonic table has 0.3 mm at acos(1 - 0.6 / 7) / pi of its half span from its foot.
        half = math.degrees(HALF) * (1.0 - math.acos(1.0 - 0.6 / 7.0) / math.pi)
        card = {
            "opens": f"{half - 106.0 + 5.0:.2f} deg",
            "closes": f"{half + 106.0 - 180.0:.2f} deg",
        }
        cam = own_cam(checking_lift="0.3 mm (maker)", lobes=[lobe("intake", **card)])
        found = lobe_facts(own(cam=cam).bundle, "intake")
        assert found is not None
        (note,) = found.notes
        assert "opens" in note
        assert f"{half - 106.0:.1f}°" in note
        agreed = lobe_facts(demo_bundle("sprint-2025"), "intake")
        assert agreed is not None
        assert agreed.notes == ()

    def test_what_is_missing_is_named(self) -> None:
        bare = Cam.read({"tag": "CAM", "family": "invented", "lobes": [{"side": "intake"}]})
        found = lobe_facts(own(cam=bare).bundle, "intake")
        assert found is not None
        assert [fact.path for fact in found.missing] == ["cam CAM: lobes[intake].lobe_lift"]
        with pytest.raises(RecordError) as refused:
            valve_train_facts(own(cam=bare), "exhaust")
        assert "exhaust lobe" in str(refused.value)

    def test_lash_hot_before_cold_before_usual(self) -> None:
        assert lash_fact(own().bundle, "intake").value == 0.0
        assert lash_fact(own().bundle, "exhaust").provenance == "assumed"
        cold = own(gear={"exhaust_lash_cold": "0.5 mm (measured)"})
        assert lash_fact(cold.bundle, "exhaust").value == pytest.approx(0.5e-3)


class TestRocker:
    def test_the_geometry_is_that_of_the_records(self) -> None:
        found = rocker_facts(own(), "intake", 1)
        assert found is not None
        assert found.geometry is not None
        assert found.geometry.valve_arm == pytest.approx(0.036)
        assert found.geometry.tip_height == pytest.approx(0.045)
        assert found.geometry.arm_angle == pytest.approx(math.radians(182.0))
        assert found.assumed == ()

    def test_a_shim_under_the_stand_lifts_the_shaft(self) -> None:
        found = rocker_facts(own(gear={"stand_shim": "0.5 mm (measured)"}), "intake", 1)
        assert found is not None
        assert found.geometry is not None
        assert found.geometry.shaft_height == pytest.approx(0.0471)

    def test_a_longer_valve_raises_the_tip(self) -> None:
        found = tip_height_fact(own(valve={"length": "101.2 mm (measured)"}), "intake", 1)
        assert found.value == pytest.approx(0.0462)
        assert tip_height_fact(own(), "intake", 1).value == pytest.approx(0.045)

    def test_what_nobody_measured_stands_in_and_says_so(self) -> None:
        lean = without(ROCKER, "shaft_to_tappet", "arm_angle", "tappet_angle")
        found = rocker_facts(own(rocker=lean, gear={"pushrods": []}), "intake", 1, 7e-3)
        assert found is not None
        assert found.geometry is not None
        assert len(found.assumed) == 4
        half = found.geometry.motion(found.geometry.tappet_lift_for(5.25e-3)).angle[0]
        square = math.pi - found.geometry.arm_angle - float(half)
        assert square == pytest.approx(0.0, abs=1e-6)

    def test_a_leaning_valve_is_seen_in_the_rocker_plane(self) -> None:
        # The head goes away from the pushrod as it opens (-90 degrees, pushrod at +90): the tip
        # leans to the shaft by the whole tilt; square to that it does not lean at all.
        plain = own(rocker={"tappet_angle": None}, gear={})
        body = plain.casting.to_body()
        first = next(one for one in body["valves"] if one["side"] == "intake")
        hole = {
            "cylinder": first["cylinder"],
            "side": "intake",
            "x": first["x"],
            "y": first["y"] | {"value": first["y"]["value"] + 0.040},
        }
        for way, expected in ((-90.0, 12.0), (90.0, -12.0), (0.0, 0.0)):
            leaning = [
                one | {"tilt": "12 deg (measured)", "tilt_direction": f"{way} deg (measured)"}
                for one in body["valves"]
            ]
            casting = Casting.read(body | {"valves": leaning, "pushrod_holes": [hole]})
            found = rocker_facts(replace(plain, casting=casting), "intake", first["cylinder"], 7e-3)
            assert found is not None
            angle = found.facts["tappet_angle"].value
            assert angle == pytest.approx(math.radians(expected), abs=1e-9)
        blind = [one | {"tilt": "12 deg (measured)"} for one in body["valves"]]
        casting = Casting.read(body | {"valves": blind})
        found = rocker_facts(replace(plain, casting=casting), "intake", first["cylinder"], 7e-3)
        assert found is not None
        assert found.facts["tappet_angle"].provenance == "assumed"

    def test_missing_heights_leave_the_ratio(self) -> None:
        trial = own(heights={})
        found = rocker_facts(trial, "intake", 1)
        assert found is not None
        assert found.geometry is None
        assert [fact.name for fact in found.missing] == ["stem_height"]
        train = valve_train_facts(trial, "intake")
        expected = np.maximum(1.5 * train.tappet_lift, 0.0)
        assert train.valve_lift == pytest.approx(expected, abs=1e-12)

    def test_heights_are_borrowed_from_the_same_sort(self) -> None:
        found = tip_height_fact(demo("sprint-1500", "EI-07"), "intake", 1)
        assert found.value == pytest.approx(0.0455)
        assert found.provenance == "estimated"
        assert "same sort" in found.note

    def test_figures_that_clash_are_told(self) -> None:
        found = rocker_facts(own(rocker={"shaft_height": "5 mm (measured)"}), "intake", 1)
        assert found is not None
        assert found.geometry is None
        assert "do not go together" in found.trouble or "out of reach" in found.trouble

    def test_train_cylinder_is_one_that_was_measured(self) -> None:
        assert train_cylinder(demo("sprint-2025"), "intake") in {1, 2, 3, 4}
        assert train_cylinder(own(heights={}), "intake") == 1


class TestSprings:
    def test_installed_height_and_load(self) -> None:
        (found,) = spring_facts(own(), "intake", 1)
        assert found.installed.value == pytest.approx(0.038)
        load = load_of_nest((found,), 0.0)
        assert load.value == pytest.approx(300.0)
        assert load_of_nest((found,), 0.010).value == pytest.approx(600.0)

    def test_shims_take_height(self) -> None:
        (found,) = spring_facts(own(gear={"shim_thickness": "1 mm (measured)"}), "intake", 1)
        assert found.installed.value == pytest.approx(0.037)

    def test_groove_and_retainer_before_the_depth(self) -> None:
        trial = own(
            gear={"groove_to_retainer": "1 mm (measured)"},
            valve={"tip_to_groove": "5 mm (measured)", "length": "100 mm (measured)"},
        )
        (found,) = spring_facts(trial, "intake", 1)
        assert found.installed.value == pytest.approx(0.039)

    def test_the_measured_height_where_the_stem_was_not(self) -> None:
        trial = own(
            heights={"installed_height": "39.5 mm (measured)"},
            gear={"shim_thickness": "0.5 mm (measured)"},
        )
        (found,) = spring_facts(trial, "intake", 1)
        assert found.installed.value == pytest.approx(0.039)

    def test_bench_readings_before_the_rate(self) -> None:
        loads = [
            {"height": "38 mm (measured)", "load": "320 N (measured)"},
            {"height": "28 mm (measured)", "load": "640 N (measured)"},
        ]
        (found,) = spring_facts(own(spring={"loads": loads}), "intake", 1)
        assert found.rate.value == pytest.approx(32e3)
        assert load_of_nest((found,), 0.0).value == pytest.approx(320.0)
        assert found.line is not None
        (one,) = spring_facts(own(spring={"loads": loads[:1]}), "intake", 1)
        assert one.rate.value == pytest.approx(30e3)
        assert load_of_nest((one,), 0.010).value == pytest.approx(620.0)

    def test_wire_and_coils_give_the_rate(self) -> None:
        spring = {
            "rate": None,
            "wire_diameter": "4 mm (measured)",
            "mean_diameter": "26 mm (measured)",
            "active_coils": "4.5 (measured)",
        }
        (found,) = spring_facts(own(spring=spring), "intake", 1)
        assert found.rate.value == pytest.approx(32.0842e3, rel=1e-5)  # G d^4 / (8 D^3 n)
        assert found.active_mass.value == pytest.approx(0.040 * 4.5 / 6.0)

    def test_bind_reckoned_from_coils(self) -> None:
        spring = {"bind_height": None, "wire_diameter": "4 mm (measured)"}
        (ground,) = spring_facts(own(spring=spring), "intake", 1)
        (squared,) = spring_facts(own(spring=spring | {"ends": "squared"}), "intake", 1)
        assert ground.bind.value == pytest.approx(24e-3)
        assert squared.bind.value == pytest.approx(28e-3)
        assert ground.bind.provenance == "estimated"

    def test_an_inner_spring_on_its_own_step(self) -> None:
        outer, inner = spring_facts(demo("sprint-2025"), "intake", 1)
        assert outer.installed.value is not None
        assert inner.installed.value == pytest.approx(outer.installed.value - 2e-3)

    def test_what_is_missing_is_named(self) -> None:
        bare = {"rate": None, "free_length": None}
        (found,) = spring_facts(own(spring=bare), "intake", 1)
        assert {fact.path for fact in found.missing} == {
            "spring SPRING: loads",
            "spring SPRING: rate",
        }
        assert load_of_nest((found,), 0.0).value is None


class TestForces:
    @pytest.mark.reference
    def test_separation_of_one_mass_on_a_harmonic_cam(self) -> None:
        # Closed form. Ratio alone, no lash, inertia and masses below the rocker as they are: at
        # full lift of a harmonic cam s" = -(pi / span)^2 h / 2; a train of one ratio is one mass
        # m = m_v + (J / P^2 + m_t + m_p) / i^2 at the valve. It parts where i m |s"| w^2 = F.
        trial = own(heights={"installed_height": "38 mm (measured)"}, valve={})
        train = valve_train_facts(trial, "intake")
        assert train.geometry is None
        moving = rigid_train(train)
        found = separation_speed(train, moving)
        parts = train.parts
        inertia = parts["rocker_inertia"].value or 0.0
        arm = parts["pushrod_arm"].value or 1.0
        at_valve = 0.080 + 0.012 + 0.004 + 0.040 * (4.0 / 6.0) / 3.0
        mass = at_valve + (inertia / arm**2 + 0.050 + 0.040) / 1.5**2
        curve = 0.5 * 7e-3 * (math.pi / HALF) ** 2
        # The need falls like a cosine and the spring's load with lift: full lift decides.
        load = 30e3 * (48e-3 - (38e-3 - 1.5 * 7e-3))
        assert found.value == pytest.approx(math.sqrt(load / (1.5 * mass * curve)), rel=5e-3)
        speed = trial.maximum_speed
        reserve = spring_reserve(train, moving, speed)
        assert reserve.value is not None
        assert found.value is not None
        assert speed.value is not None
        assert reserve.value == pytest.approx((found.value / speed.value) ** 2, rel=1e-9)

    @pytest.mark.reference
    def test_work_at_the_cam_is_work_done_on_the_parts(self) -> None:
        # Energy: over opening, the cam's work equals what springs store and parts carry. The
        # energies are summed from positions and speeds, the forces are the module's own.
        train = valve_train_facts(own(valve={}), "intake")
        moving = rigid_train(train)
        assert train.geometry is not None
        speed = 500.0
        acting = forces(train, moving, speed)
        peak = int(np.argmax(moving.tappet_lift)) // 2
        part = slice(0, peak)
        work = np.trapezoid(acting.cam[part], moving.tappet_lift[part])
        slope = np.interp(moving.crank_angles, train.crank_angles, train.tappet_velocity) * speed
        motion = train.geometry.motion(moving.tappet_lift, 0.0)
        valve_mass = 0.080 + 0.012 + 0.004 + 0.040 * (4.0 / 6.0) / 3.0
        inertia = train.parts["rocker_inertia"].value or 0.0
        kinetic = 0.5 * (
            valve_mass * (motion.ratio * slope) ** 2
            + inertia * (motion.angle_slope * slope) ** 2
            + 0.090 * slope**2
        )
        stored = np.trapezoid(acting.spring[part], moving.valve_lift[part])
        gained = float(kinetic[peak - 1] - kinetic[0])
        assert work == pytest.approx(stored + gained, rel=2e-3)

    @pytest.mark.prop
    def test_turned_slowly_the_cam_feels_the_springs_by_the_ratio(self) -> None:
        train = valve_train_facts(own(), "intake")
        moving = rigid_train(train)
        acting = forces(train, moving, 0.0)
        assert acting.cam == pytest.approx(moving.ratio * acting.spring)
        assert acting.need == pytest.approx(np.zeros_like(acting.need), abs=1e-12)

    @pytest.mark.reference
    def test_valve_acceleration_against_differences(self) -> None:
        train = valve_train_facts(own(), "intake")
        moving = rigid_train(train)
        step = float(CRANK_GRID[1])
        numeric = np.gradient(np.gradient(moving.valve_lift, step), step)
        inner = slice(12, -12)
        assert numeric[inner] == pytest.approx(
            moving.valve_curve[inner], abs=0.02 * float(np.abs(moving.valve_curve).max())
        )

    def test_no_springs_is_unknown(self) -> None:
        trial = own()
        bare = replace(trial, bundle=replace(trial.bundle, springs=()))
        train = valve_train_facts(bare, "intake")
        assert spring_reserve(train, rigid_train(train), trial.maximum_speed).value is None
        assert separation_speed(train, rigid_train(train)).missing


class TestDelivered:
    def test_as_the_train_itself(self) -> None:
        trial = demo("sprint-2025")
        train = valve_train_facts(trial, "intake")
        assert delivered_lift(trial, "intake", CRANK_GRID) == pytest.approx(
            train.valve_lift, abs=1e-12
        )

    def test_advance_and_lash(self) -> None:
        trial = demo("sprint-2025")
        turn = math.radians(4.0)
        early = delivered_lift(trial, "intake", CRANK_GRID - turn, advance=turn)
        assert early == pytest.approx(delivered_lift(trial, "intake", CRANK_GRID), abs=1e-9)
        wide = delivered_lift(trial, "intake", CRANK_GRID, lash=0.0)
        train = valve_train_facts(trial, "intake")
        lost = float(wide.max()) - float(train.valve_lift.max())
        assert lost == pytest.approx(train.lash.value, rel=0.02)

    def test_peak_and_ratio(self) -> None:
        train = valve_train_facts(demo("sprint-2025"), "exhaust")
        assert math.degrees(train.peak_angle) == pytest.approx(360.0 - 109.0, abs=0.5)
        assert train.nominal_ratio == pytest.approx(1.5, rel=0.01)
        assert train.ratio_at(np.array([0.0, 3e-3])) == pytest.approx([1.5, 1.5], rel=0.02)
        assert all(fact.provenance == "assumed" for fact in train.estimated)
