"""Repair routes: sizes by hand, doubts against sampling, what mends each kind of damage."""

from __future__ import annotations

import math

import numpy as np
import pytest

from assemble.makers import bundle, m
from headwright.assemble import make_trial
from headwright.checks import run_checks
from headwright.checks.repair import check_damage, check_repair, one_line, repairs_of, scrap_reason
from headwright.checks.repair_inserts import insert_sizes
from headwright.geometry.damage_patch import Patch, covering_diameter
from headwright.records import Shop

# The made casting: 48 mm heads; see the makers for centres. Inserts are larger by 3 mm.


def shop() -> Shop:
    step = {"hours": "1 h (estimated)", "price": "10"}
    works = ("insert_fit", "offset_guide", "weld_repair", "stitch_repair", "guide_liner")
    works += ("new_guide", "spring_shim", "blend_edge", "pressure_test", "head_cut", "pour")
    works += ("exhaust_seat", "intake_seat", "intake_valve", "exhaust_valve")
    return Shop.read(
        {
            "tag": "SHOP",
            "name": "Shop",
            "hourly_rate": "40",
            "currency": "pounds",
            "operations": [{"step": work, **step} for work in works],
        }
    )


def centres(cylinder=1):
    trial = make_trial(bundle())
    one = trial.cylinders[cylinder - 1]
    return one.intake, one.exhaust


def damage(sort="lost_material", **more):
    intake, exhaust = centres()
    x = (intake.x.value + exhaust.x.value) / 2.0
    body = {
        "sort": sort,
        "where": "bridge between the seats",
        "feature": "bridge",
        "cylinder": 1,
        "x": m(f"{1e3 * x:.3f} mm", "0.05 mm"),
        "y": m(f"{1e3 * (intake.y.value + exhaust.y.value) / 2.0:.3f} mm", "0.05 mm"),
        "length": m("4 mm", "0.1 mm"),
        "width": m("1 mm", "0.1 mm"),
        "depth": m("2 mm", "0.1 mm"),
        "direction": m("90 deg", "2 deg"),
        **more,
    }
    return {key: value for key, value in body.items() if value is not None}


def on(*damages, **casting):
    found = bundle(
        of_casting={"damage": list(damages), "face_wall": m("10 mm", "0.3 mm"), **casting},
        shop=shop(),
    )
    return make_trial(found)


def routes(*damages, **casting):
    (repair,) = repairs_of(on(*damages, **casting))
    return repair, {(route.kind, route.words.split()[0]): route for route in repair.routes}


@pytest.mark.reference
class TestSizes:
    def test_insert_reaches_half_a_millimetre_past_the_furthest_corner(self):
        repair, _ = routes(damage())
        intake, exhaust = centres()
        patch = Patch(
            (intake.x.value + exhaust.x.value) / 2.0,
            (intake.y.value + exhaust.y.value) / 2.0,
            0.004,
            0.001,
            math.pi / 2.0,
        )
        sizes = insert_sizes(repair.place, repair.place.cylinder)
        for side, valve in (("intake", intake), ("exhaust", exhaust)):
            if side in sizes:
                expected = max(
                    covering_diameter(patch, valve.x.value, valve.y.value, 0.5e-3),
                    valve.head_diameter.value,
                )
                assert sizes[side] == pytest.approx(expected, abs=2e-6)
        assert sizes

    def test_bridge_left_by_hand_and_by_sampling(self):
        # Bridge beside the insert: centres apart less half of both rings; 20 000 draws (JCGM 101).
        # Turned off square, for two corners equally far would be a kink.
        _, found = routes(damage(direction=m("70 deg", "2 deg")))
        route = found["bigger_insert", "intake"]
        finding = route.findings[0]
        intake, exhaust = centres()
        rng = np.random.default_rng(3)
        count = 20_000

        def draw(value, spread):
            return rng.normal(value, spread, count)

        middle_x = (intake.x.value + exhaust.x.value) / 2.0
        middle_y = (intake.y.value + exhaust.y.value) / 2.0
        ix, iy = (draw(f.value, f.uncertainty) for f in (intake.x, intake.y))
        ex, ey = (draw(f.value, f.uncertainty) for f in (exhaust.x, exhaust.y))
        ring = exhaust.insert_diameter if exhaust.insert else exhaust.head_diameter
        beside = draw(ring.value, ring.uncertainty)
        px, py = draw(middle_x, 5e-5), draw(middle_y, 5e-5)
        long, wide = draw(4e-3, 1e-4), draw(1e-3, 1e-4)
        turn = draw(math.radians(70.0), math.radians(2.0))
        reach = np.max(
            [
                np.hypot(
                    px + a * long / 2 * np.cos(turn) - b * wide / 2 * np.sin(turn) - ix,
                    py + a * long / 2 * np.sin(turn) + b * wide / 2 * np.cos(turn) - iy,
                )
                for a in (-1, 1)
                for b in (-1, 1)
            ],
            axis=0,
        )
        own = intake.insert_diameter if intake.insert else intake.head_diameter
        size = np.maximum(2.0 * (reach + 0.5e-3), own.value)
        left = np.hypot(ex - ix, ey - iy) - (size + beside) / 2.0
        assert finding.value == pytest.approx(left.mean(), abs=0.05e-3)
        assert finding.uncertainty == pytest.approx(left.std(), rel=0.2)

    def test_smaller_valve_leaves_the_limit_and_the_spare(self):
        _, found = routes(damage())
        route = next((r for (kind, _), r in found.items() if kind == "insert_smaller_valve"), None)
        if route is not None:
            finding = route.findings[0]
            assert finding.value == pytest.approx(finding.limit.value + 0.3e-3, abs=1e-9)

    def test_thickness_after_a_face_cut_by_hand(self):
        spot = damage("dent", feature="face", where="face", cylinder=None)
        _, found = routes(spot)
        cut = found["face_cut", "cut"]
        assert cut.findings[0].value == pytest.approx(0.098, abs=1e-9)
        assert cut.hours == pytest.approx(3600.0)
        assert cut.cost == pytest.approx(50.0)

    def test_liner_cleans_up_twice_its_wall_less_wear_and_clearance(self):
        worn = damage("worn", feature="guide", side="intake", depth=m("0.10 mm", "0.01 mm"))
        _, found = routes(worn)
        liner = found["guide_liner", "ream,"]
        assert liner.findings[0].value == pytest.approx(0.80e-3 - 0.10e-3 - 0.04e-3, abs=1e-9)
        assert liner.verdict == "good"


class TestWhatMayBeDone:
    def test_crack_is_never_stitched_across_a_narrow_bridge(self):
        _, found = routes(damage("crack"))
        stitch = next(r for (kind, _), r in found.items() if kind == "stitch")
        assert stitch.verdict == "fails"
        assert "pin" in stitch.why_not

    def test_weld_is_at_best_at_a_risk_and_iron_says_why(self):
        _, found = routes(damage())
        weld = next(r for (kind, _), r in found.items() if kind == "weld")
        assert weld.verdict in {"close", "fails", "unknown"}
        assert "preheated" in weld.risk
        _, found = routes(damage(), material="aluminium")
        weld = next(r for (kind, _), r in found.items() if kind == "weld")
        assert "heat-treated" in weld.risk

    def test_damages_of_one_bridge_are_mended_together(self):
        repairs = repairs_of(on(damage(), damage("crack", depth=m("5 mm", "0.5 mm"))))
        (repair,) = repairs
        assert repair.place.numbers == (0, 1)
        assert repair.place.damage.sort == "crack"
        assert repair.place.depth.value == pytest.approx(0.005)
        assert all("pressure" not in route.words for route in repair.routes)

    def test_unknown_wall_below_an_insert_is_asked_for(self):
        _, found = routes(damage(), face_wall=None)
        inserts = [r for (kind, _), r in found.items() if kind.endswith("insert")]
        assert inserts
        asked = [fact.what for r in inserts for one in r.findings for fact in one.measure]
        assert any("ultrasound" in what for what in asked)

    def test_sunk_seat_is_shimmed_until_it_is_too_deep(self):
        for depth, verdict in (("0.2 mm", "good"), ("1.5 mm", "fails")):
            sunk = damage(
                "worn", feature="seat", where="seat", side="exhaust", depth=m(depth, "0.02 mm")
            )
            _, found = routes(sunk)
            assert found["recut_shim", "recut"].verdict == verdict
            assert ("new_insert", "exhaust") in found

    def test_corrosion_clear_of_the_rings_may_stay(self):
        spot = damage(
            "corroded",
            feature="water",
            where="water passage",
            cylinder=None,
            x=m("57.5 mm", "0.1 mm"),
            y=m("-70 mm", "0.1 mm"),
        )
        repair, found = routes(spot)
        assert found["none", "leave"].sound
        assert repair.best is not None
        assert repair.best.kind == "none"

    def test_edge_inside_the_ring_may_be_blended(self):
        edge = damage("burnt", feature="chamber", where="chamber edge", y=m("30 mm", "0.1 mm"))
        _, found = routes(edge)
        assert ("blend", "blend") in found

    def test_unplaced_damage_still_has_its_weld(self):
        lost = damage(x=None, y=None)
        _, found = routes(lost)
        assert {kind for kind, _ in found} == {"weld"}

    def test_nothing_sound_is_scrap_with_its_reason(self):
        trial = on(
            damage("crack", length=m("40 mm", "0.1 mm")), thickness_now=m("95 mm", "0.01 mm")
        )
        repairs = repairs_of(trial)
        assert "no repair leaves enough" in scrap_reason(repairs)
        (finding,) = check_repair(trial)
        assert finding.verdict == "fails"

    def test_no_damage_says_nothing(self):
        trial = make_trial(bundle())
        assert repairs_of(trial) == ()
        assert list(check_repair(trial)) == []
        assert scrap_reason(()) == ""


class TestWords:
    def test_check_of_damage_names_the_cheapest_sound_route(self):
        worn = damage("worn", feature="guide", side="intake", depth=m("0.10 mm", "0.01 mm"))
        trial = on(worn)
        (finding,) = check_damage(trial)
        assert finding.verdict == "close"
        assert "Cheapest sound route: ream" in finding.advice
        assert "1.0 h, 50 pounds" in finding.advice

    def test_line_without_rates_has_no_cost(self):
        worn = damage("worn", feature="guide", side="intake", depth=m("0.10 mm", "0.01 mm"))
        found = bundle(of_casting={"damage": [worn]})
        (repair,) = repairs_of(make_trial(found))
        line = one_line(repair)
        assert line.startswith("Cheapest sound route")
        assert " h," not in line

    def test_family_stands_in_the_registry(self):
        worn = damage("worn", feature="guide", side="intake", depth=m("0.10 mm", "0.01 mm"))
        checks = {one.check for one in run_checks(on(worn), to_rank=True)}
        assert {"damage", "repair"} <= checks

    def test_damage_mended_says_nothing(self):
        assert repairs_of(on(damage(open=False))) == ()
