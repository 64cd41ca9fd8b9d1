"""The made-up figures hang together: what is checked here is the data, not the program."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from math import hypot, pi, radians, sqrt
from typing import Any

import pytest

OfKind = Callable[[str], dict[str, Any]]
CFM = 0.3048**3 / 60.0
R_AIR = 287.05
HORSEPOWER = 745.6999
EARLY, LATER = "early small-valve iron", "later big-valve iron"


def _valves(casting: Any) -> list[tuple[int, Any, Any]]:
    """Cylinders with both valves entered."""
    pairs = []
    for number in range(1, casting.cylinders + 1):
        intake, exhaust = casting.valve(number, "intake"), casting.valve(number, "exhaust")
        if intake and exhaust:
            pairs.append((number, intake, exhaust))
    return pairs


def _radius(valve: Any) -> float:
    size: float = (valve.insert_diameter or valve.head_diameter).value
    return size / 2.0


def _bridge(intake: Any, exhaust: Any) -> float:
    apart = hypot(intake.x.value - exhaust.x.value, intake.y.value - exhaust.y.value)
    return apart - _radius(intake) - _radius(exhaust)


@pytest.mark.parametrize(
    ("sort", "inserts", "low", "high"),
    [
        (EARLY, False, 1.3e-3, 2.1e-3),
        (EARLY, True, 0.4e-3, 1.3e-3),
        (LATER, False, 0.4e-3, 1.1e-3),
        ("aluminium replacement", True, 1.6e-3, 2.1e-3),
        ("aluminium replacement, raised ports", True, 1.6e-3, 2.1e-3),
    ],
)
def test_bridges_are_as_the_files_tell(
    of_kind: OfKind, sort: str, *, inserts: bool, low: float, high: float
) -> None:
    bridges = [
        (casting.tag, number, _bridge(intake, exhaust))
        for casting in of_kind("casting").values()
        if casting.sort == sort
        for number, intake, exhaust in _valves(casting)
        if bool(exhaust.insert) is inserts
    ]
    assert bridges
    assert [entry for entry in bridges if not low < entry[2] < high] == []


def test_valves_lie_inside_every_bore(of_kind: OfKind) -> None:
    margins = []
    for casting in of_kind("casting").values():
        for number, *valves in _valves(casting):
            for block in of_kind("short_block").values():
                bore = block.cylinder(number).bore.value
                place = casting.bore_centre(number)
                for valve in valves:
                    x0, y0 = (place.x.value, place.y.value) if place else (None, 0.0)
                    if x0 is None:
                        continue
                    off = hypot(valve.x.value - x0, valve.y.value - y0)
                    margins.append(bore / 2 - off - valve.head_diameter.value / 2)
    assert min(margins) > 0.3e-3
    assert max(margins) < 4.5e-3


def test_valves_of_neighbouring_cylinders_keep_apart(of_kind: OfKind) -> None:
    for casting in of_kind("casting").values():
        placed = [valve for valve in casting.valves if valve.x and valve.y]
        for one, other in itertools.combinations(placed, 2):
            assert _bridge(one, other) > 0.0, (casting.tag, one.cylinder, other.cylinder)


def test_throats_are_smaller_than_valves_and_seats_fit_between(of_kind: OfKind) -> None:
    for casting in of_kind("casting").values():
        for valve in casting.valves:
            if valve.throat_diameter:
                share = valve.throat_diameter.value / valve.head_diameter.value
                assert 0.84 < share < 0.93, (casting.tag, valve.cylinder, valve.side)
            if valve.insert_diameter:
                assert valve.insert_diameter.value > valve.head_diameter.value
            if valve.guide_bore:
                clearance = valve.guide_bore.value - valve.stem_diameter.value
                assert 0.015e-3 < clearance < 0.15e-3


def test_outlines_agree_with_the_face_areas_beside_them(of_kind: OfKind) -> None:
    outlined = 0
    for casting in of_kind("casting").values():
        for chamber in casting.chambers:
            if not chamber.outline:
                continue
            outlined += 1
            points = [(point.x.value, point.y.value) for point in chamber.outline]
            doubled = sum(
                a * d - c * b for (a, b), (c, d) in itertools.pairwise([*points, points[0]])
            )
            assert abs(doubled) / 2 == pytest.approx(chamber.face_area.value, rel=0.02)
            for valve in (casting.valve(chamber.cylinder, s) for s in ("intake", "exhaust")):
                away = min(hypot(x - valve.x.value, y - valve.y.value) for x, y in points)
                assert away > valve.head_diameter.value / 2
    assert outlined >= 2


def test_blocks_are_of_the_sizes_told_and_their_pistons_stop_near_the_face(
    of_kind: OfKind,
) -> None:
    litres = {}
    for tag, block in of_kind("short_block").items():
        bores = [cylinder.bore.value for cylinder in block.cylinders]
        litres[tag] = sum(pi / 4 * bore**2 * block.stroke.value for bore in bores) * 1e3
        stack = block.stroke.value / 2 + block.rod_length.value + block.piston.pin_height.value
        below = block.block_height.value - stack
        for cylinder in block.cylinders:
            if cylinder.piston_below_deck:
                assert cylinder.piston_below_deck.value == pytest.approx(below, abs=0.06e-3)
            assert block.gasket.bore.value > cylinder.bore.value
    assert litres["SB-STD"] == pytest.approx(1.495, abs=0.002)
    assert litres["SB-OVER"] == pytest.approx(1.535, abs=0.002)
    assert litres["SB-LONG"] == pytest.approx(1.556, abs=0.002)
    ratios = {
        tag: block.rod_length.value / block.stroke.value
        for tag, block in of_kind("short_block").items()
    }
    assert max(ratios, key=lambda tag: ratios[tag]) == "SB-LONG"


def _without_chamber(block: Any) -> float:
    """Clearance volume of cylinder 1 but for the chamber."""
    bore, piston = block.cylinder(1).bore.value, block.piston
    gasket = pi / 4 * block.gasket.bore.value**2 * block.gasket.thickness.value
    deck = pi / 4 * bore**2 * block.cylinder(1).piston_below_deck.value
    land = 0.0
    if piston.top_land_clearance:
        land = pi * bore * piston.top_land_clearance.value * piston.top_land_height.value
    volume: float = gasket + deck + land + piston.crown_volume.value
    return volume


def test_the_race_target_needs_a_different_cut_of_each_casting(of_kind: OfKind) -> None:
    build = of_kind("build")["sprint-1500"]
    block = of_kind("short_block")[build.short_block]
    swept = pi / 4 * block.cylinder(1).bore.value ** 2 * block.stroke.value
    wanted = swept / (build.targets.compression_ratio.value - 1) - _without_chamber(block)
    area = {EARLY: 28.8e-4, LATER: 30.0e-4, "aluminium replacement": 31.0e-4}
    cut, left = {}, {}
    for tag in ("EI-03", "LI-02", "LI-05", "AL-01", "EI-19"):
        casting = of_kind("casting")[tag]
        cut[tag] = (casting.chamber(1).volume.value - wanted) / area[casting.sort]
        left[tag] = casting.thickness_now.value - cut[tag] - casting.thickness_minimum.value
    assert cut["EI-03"] == pytest.approx(2.9e-3, abs=0.15e-3)
    assert cut["LI-05"] == pytest.approx(3.3e-3, abs=0.15e-3)
    assert cut["AL-01"] == pytest.approx(1.0e-3, abs=0.15e-3)
    assert cut["EI-19"] < 0, "already too small: wants relieving, not cutting"
    assert all(metal > 0.2e-3 for tag, metal in left.items() if tag != "EI-19")


@pytest.mark.parametrize(
    ("build_tag", "low", "high"),
    [("sprint-2025", 10.3, 10.8), ("launch-1535", 9.1, 9.6), ("long-rod-1555", 10.2, 12.5)],
)
def test_compression_as_it_stands_is_plausible(
    of_kind: OfKind, build_tag: str, low: float, high: float
) -> None:
    build = of_kind("build")[build_tag]
    block = of_kind("short_block")[build.short_block]
    chamber = of_kind("casting")[build.casting].chamber(1)
    volume = chamber.volume or chamber.pours[0].volume
    swept = pi / 4 * block.cylinder(1).bore.value ** 2 * block.stroke.value
    ratio = 1 + swept / (volume.value + _without_chamber(block))
    assert low < ratio < high


def test_flow_coefficients_are_those_of_poppet_valves(of_kind: OfKind) -> None:
    """On the curtain area, incompressible: high at low lift, falling as the port takes over."""
    forward: dict[str, float] = {}
    for test in of_kind("flow_test").values():
        casting = of_kind("casting")[test.casting]
        size = (
            test.valve_head_diameter or casting.valve(test.cylinder, test.side).head_diameter
        ).value
        kelvin = test.air_temperature.value if test.air_temperature else 293.15
        pascals = test.air_pressure.value if test.air_pressure else 101325.0
        speed = sqrt(2 * test.depression.value / (pascals / (R_AIR * kelvin)))
        found = [row.flow.value / (pi * size * row.lift.value * speed) for row in test.rows]
        assert all(0.3 < one < 0.75 for one in found), (test.tag, found)
        assert found[0] > 0.55 or test.rows[0].lift.value > 2e-3
        assert found[-1] < found[0]
        flows = [row.flow.value for row in test.rows]
        assert all(b > 0.98 * a for a, b in itertools.pairwise(flows)), test.tag
        if test.direction == "forward" and test.side == "intake":
            forward[test.tag] = flows[-1] * sqrt(28 * 249.0889 / test.depression.value)
    assert forward["FT-EI03-I2"] < forward["FT-LI02-I2"] < forward["FT-AL01-I1"]
    assert 85 * CFM < forward["FT-EI03-I2"] < 100 * CFM
    assert 110 * CFM < forward["FT-AL01-I1"] < 125 * CFM


def test_flow_tests_differ_in_depression_side_direction_and_casting(of_kind: OfKind) -> None:
    tests = of_kind("flow_test").values()
    inches = {round(test.depression.value / 249.0889) for test in tests}
    assert inches == {10, 25, 28}
    assert {test.side for test in tests} == {"intake", "exhaust"}
    assert sum(test.direction == "reverse" for test in tests) == 1
    assert len({test.casting for test in tests}) >= 4
    reverse = of_kind("flow_test")["FT-LI02-I2-REV"]
    ahead = {row.lift.value: row.flow.value for row in of_kind("flow_test")["FT-LI02-I2"].rows}
    assert all(row.flow.value < ahead[row.lift.value] for row in reverse.rows)


def test_power_pulls_are_of_an_engine_this_size(of_kind: OfKind) -> None:
    peak = {}
    for tag, pull in of_kind("power_pull").items():
        block = of_kind("short_block")[of_kind("build")[pull.build].short_block]
        swept = sum(pi / 4 * c.bore.value**2 for c in block.cylinders) * block.stroke.value
        powers = []
        for row in pull.rows:
            torque = row.torque.value if row.torque else row.power.value / row.speed.value
            powers.append(torque * row.speed.value)
            pressure = 4 * pi * torque / swept
            assert 7e5 < pressure < 12.5e5, (tag, row.speed.value)
            if row.fuel_flow:
                grams_per_kwh = row.fuel_flow.value / powers[-1] * 3.6e9
                assert 300 < grams_per_kwh < 380, (tag, row.speed.value)
        peak[tag] = max(powers) / HORSEPOWER
    assert peak["PP-2025-10-04"] == pytest.approx(103.5, abs=1.5)
    assert peak["PP-2026-05-16"] == pytest.approx(84.5, abs=1.5)


@pytest.mark.reference
@pytest.mark.parametrize(("side", "lobe_lift"), [("intake", 7.0e-3), ("exhaust", 6.9e-3)])
def test_the_sprint_cam_follows_its_stated_polynomial(
    of_kind: OfKind, side: str, lobe_lift: float
) -> None:
    """Coefficients of a four-term even polynomial whose lift, velocity, acceleration and jerk
    vanish at the end, solved here from those conditions; the table is rounded to 0.1 um.
    """
    powers = (2, 6, 10, 14)
    terms = []
    for power in powers:
        term = -1.0
        for other in powers:
            if other != power:
                term *= other / (other - power)
        terms.append(term)
    cam = of_kind("cam")["C-290"]
    lobe = cam.lobe(side)
    for angle, lift in zip(lobe.lift_angles.values, lobe.lifts.values, strict=True):
        share = angle / pi
        law = lobe_lift * (1 + sum(t * share**p for t, p in zip(terms, powers, strict=True)))
        assert lift == pytest.approx(law, abs=0.6e-7)
    assert max(lobe.lifts.values) == lobe.lobe_lift.value
    angles, lifts = lobe.lift_angles.values, lobe.lifts.values
    rising = next(place for place, lift in enumerate(lifts) if lift > cam.checking_lift.value)
    share = (cam.checking_lift.value - lifts[rising - 1]) / (lifts[rising] - lifts[rising - 1])
    opening = angles[rising - 1] + share * (angles[rising] - angles[rising - 1])
    assert -2 * opening == pytest.approx(lobe.duration.value, abs=radians(1.5))


def test_cam_timing_agrees_with_itself(of_kind: OfKind) -> None:
    for cam in of_kind("cam").values():
        centres = {}
        for lobe in cam.lobes:
            duration = lobe.opens.value + lobe.closes.value + pi
            assert lobe.duration.value == pytest.approx(duration)
            late = lobe.closes.value if lobe.side == "intake" else lobe.opens.value
            centre = pi + late - lobe.duration.value / 2
            centres[lobe.side] = centre
            assert lobe.centreline.value == pytest.approx(centre, abs=0.01)
        half = (centres["intake"] + centres["exhaust"]) / 2
        assert cam.lobe_separation.value == pytest.approx(half, abs=0.001)
        ahead = (centres["exhaust"] - centres["intake"]) / 2
        assert cam.advance.value == pytest.approx(ahead, abs=0.001)


def test_spring_loads_agree_with_their_wire_and_stay_off_coil_bind(of_kind: OfKind) -> None:
    shear_modulus = 79.3e9  # spring steel, Pa: common practice
    for spring in of_kind("spring").values():
        if spring.wire_diameter is None:
            continue
        wire, coil = spring.wire_diameter.value, spring.mean_diameter.value
        rate = shear_modulus * wire**4 / (8 * coil**3 * spring.active_coils.value)
        if spring.rate:
            assert spring.rate.value == pytest.approx(rate, rel=0.03)
        if len(spring.loads) == 2:
            shut, lifted = spring.loads
            read = (lifted.load.value - shut.load.value) / (shut.height.value - lifted.height.value)
            assert read == pytest.approx(rate, rel=0.05)
            assert lifted.height.value > spring.bind_height.value + 1e-3
        solid = spring.total_coils.value * wire
        assert spring.bind_height.value == pytest.approx(solid, rel=0.03)


def test_rocker_ratios_agree_with_their_arms(of_kind: OfKind) -> None:
    for rocker in of_kind("rocker").values():
        arms = rocker.valve_arm.value / rocker.pushrod_arm.value
        assert rocker.ratio.value == pytest.approx(arms, rel=0.01)
