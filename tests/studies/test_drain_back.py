"""Oil on a head: cuts against the floor cut by hand, speeds, leans, lent floors, missing data."""

from __future__ import annotations

import math

import pytest

from assemble.test_oil import FEED, FLOOR, HOLE, casting
from headwright.assemble.oil import oil_case
from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.geometry.drain_back import settled
from headwright.studies.drain_back import drain_cuts, drain_report, pool_report


@pytest.fixture(scope="module")
def book():
    return {(one.kind, one.tag): one for one in demo_records()}


@pytest.fixture(scope="module")
def rack(book):
    return [one for (kind, _), one in book.items() if kind == "casting"]


@pytest.fixture(scope="module")
def early(book, rack):
    shop = next(one for (kind, _), one in book.items() if kind == "shop")
    return drain_report(book["casting", "EI-03"], rack, book["build", "raised-1495"], shop)


@pytest.mark.reference
class TestCuts:
    def test_lowered_lip_by_hand(self):
        # One level tray: pool = 0.7 x 80 cm2 x lip; lowering 2 mm takes 11.2 cc and 2 mm.
        case = oil_case(casting(), tilt={"parked_roll": 0.0, "parked_pitch": 0.0})
        cut = next(one for one in drain_cuts(case) if one.kind == "lower_lip")
        assert cut.pool == pytest.approx(0.0, abs=1e-15)
        assert cut.pool_less == pytest.approx(11.2e-6, rel=1e-9)
        assert cut.deepest_less == pytest.approx(0.002, rel=1e-9)

    def test_every_cut_is_what_the_floor_cut_by_hand_leaves(self, early):
        # The records themselves changed: lip 9 to the floor, read anew.
        case = early.case
        values = dict(case.best())
        place = next(i for i, (_, _, name) in enumerate(case.drains) if "back" in name)
        values[f"d{place}_lip"] = 0.0
        by_hand = sum(
            one.volume
            for one in settled(case.upward(values, "parked"), case.floor(values)).values()
        )
        name = case.drains[place][2]
        cut = next(one for one in early.cuts if one.kind == "lower_lip" and one.where == name)
        assert cut.pool == pytest.approx(by_hand, rel=1e-12)

    def test_best_cut_stands_first(self, early):
        less = [round(cut.pool_less, 8) for cut in early.cuts]
        assert less == sorted(less, reverse=True)
        assert less[0] > 0.0

    def test_work_is_priced_by_the_shop(self, early):
        one = next(cut for cut in early.cuts if cut.kind == "lower_lip")
        assert one.hours == pytest.approx(0.6 * 3600.0)
        assert one.cost == pytest.approx(0.6 * 46.0)

    def test_new_hole_stands_clear_of_the_walls(self, early):
        for cut in early.cuts:
            if cut.kind == "new_hole":
                assert -0.045 + 0.008 <= cut.x <= 0.302 - 0.008
                assert -0.040 + 0.008 <= cut.y <= 0.074 - 0.008


class TestReports:
    def test_feed_grows_and_the_margin_falls_with_speed(self, early):
        feeds = [point.feed for point in early.speeds]
        margins = [point.margin for point in early.speeds]
        assert feeds == sorted(feeds)
        assert margins == sorted(margins, reverse=True)
        assert early.margin.value == pytest.approx(margins[-1], rel=1e-9)
        assert early.margin.uncertainty > 0.0

    def test_cornering_away_from_the_drains_is_told(self, early):
        by_lean = {one.lean: one for one in early.leans}
        assert by_lean["level"].safe
        assert not by_lean["other_side"].safe
        assert by_lean["other_side"].seconds is not None
        assert by_lean["one_side"].held < by_lean["level"].held

    def test_tilt_asked_for_counts_before_the_builds(self, book, rack):
        found = pool_report(
            book["casting", "EI-03"],
            rack,
            book["build", "raised-1495"],
            roll=0.0,
            pitch=math.radians(12.0),
        )
        assert found.pitch == pytest.approx(math.radians(12.0))
        assert found.total.value != pytest.approx(
            pool_report(book["casting", "EI-03"], rack, book["build", "raised-1495"]).total.value
        )
        with pytest.raises(InputError, match="parked_roll"):
            pool_report(book["casting", "EI-03"], rack, roll=2.0)

    def test_lent_floor_is_named(self, book, rack):
        found = drain_report(book["casting", "EI-22"], rack)
        assert found.case.lent_by == "EI-03"
        assert found.margin.value is not None

    def test_nothing_known_says_what_to_measure(self, book, rack):
        found = drain_report(book["casting", "AL-02"], rack)
        assert found.missing
        assert found.cuts == ()
        assert found.parked.floor is None
        assert found.margin.value is None

    def test_casting_alone_is_asked_at_the_speed_its_feed_was_caught_at(self):
        found = drain_report(casting(oil_floor=[FLOOR], oil=[HOLE, FEED]))
        assert found.feed == pytest.approx(0.6e-3 / 60.0)
        assert found.build == ""
