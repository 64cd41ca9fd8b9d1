"""Which record counts for the oil on a casting, what stands in, what is missing."""

from __future__ import annotations

import math
from typing import Any

import pytest

from headwright.assemble.oil import oil_case
from headwright.errors import InputError, RecordError
from headwright.geometry.tilted_pool import STANDARD_GRAVITY
from headwright.records import Casting
from headwright.records.oil import OilUse

FLOOR: dict[str, Any] = {
    "name": "tray",
    "x_low": "0 mm (measured)",
    "x_high": "100 mm (measured)",
    "y_low": "0 mm (measured)",
    "y_high": "80 mm (measured)",
    "filled": "30 % (estimated)",
    "safe_height": "12 mm (measured)",
    "wall_height": "25 mm (measured)",
}
HOLE: dict[str, Any] = {
    "role": "drain",
    "x": "50 mm (measured)",
    "y": "40 mm (measured)",
    "diameter": "10 mm (measured)",
    "lip_height": "2.0 +/- 0.1 mm (measured)",
    "length": "60 mm (measured)",
}
FEED: dict[str, Any] = {
    "role": "feed",
    "x": "20 mm (measured)",
    "y": "20 mm (measured)",
    "flow": "0.6 +/- 0.03 l/min (measured)",
    "flow_speed": "3000 rpm (measured)",
    "follows": "speed",
}


def casting(tag: str = "HEAD", **more: Any) -> Casting:
    body = {
        "tag": tag,
        "family": "invented",
        "sort": "plain",
        "material": "iron",
        "condition": "used",
        "cylinders": 4,
        "oil_floor": [FLOOR],
        "oil": [HOLE, FEED],
        **more,
    }
    return Casting.read({key: value for key, value in body.items() if value is not None})


def test_everything_measured_leaves_nothing_missing():
    case = oil_case(casting())
    assert case.missing == ()
    assert case.has_floor
    assert case.has_feed
    values = case.best()
    assert case.fed(values) == {"tray": pytest.approx(0.6e-3 / 60.0)}
    floor = case.floor(values)
    assert floor.drains[0].lip == pytest.approx(0.002)
    assert floor.drains[0].fall == floor.drains[0].length == pytest.approx(0.060)


@pytest.mark.parametrize(("follows", "factor"), [("speed", 2.0), ("nothing", 1.0), (None, 2**0.5)])
def test_feed_follows_the_speed_as_it_is_said_to(follows, factor):
    feed = {key: value for key, value in {**FEED, "follows": follows}.items() if value}
    case = oil_case(casting(oil=[HOLE, feed]))
    values = {**case.best(), "speed": 6000.0 * math.pi / 30.0}
    assert case.fed(values)["tray"] == pytest.approx(factor * 0.6e-3 / 60.0)


def test_no_floor_says_what_to_measure():
    case = oil_case(casting(oil_floor=None, oil=None))
    assert [fact.name for fact in case.missing] == ["oil_height", "oil_flow"]
    assert not case.has_floor


def test_kin_lend_their_floor_with_more_doubt_and_say_so():
    bare = casting("BARE", oil_floor=None, oil=None)
    case = oil_case(bare, [casting("OTHER", sort="another"), casting("KIN"), bare])
    assert case.lent_by == "KIN"
    lip = case.facts["d0_lip"]
    assert lip.provenance == "estimated"
    assert lip.uncertainty == pytest.approx(math.hypot(0.1e-3, 0.5e-3))
    assert "KIN" in lip.note


def test_unmeasured_lip_is_missing_and_unmeasured_flow_leaves_the_pool():
    bare_lip = {key: value for key, value in HOLE.items() if key != "lip_height"}
    case = oil_case(casting(oil=[bare_lip, FEED]))
    assert [fact.path for fact in case.missing] == ["casting HEAD: oil[0].lip_height"]
    bare_feed = {key: value for key, value in FEED.items() if key != "flow"}
    case = oil_case(casting(oil=[HOLE, bare_feed]))
    assert case.missing == ()
    assert not case.has_feed
    assert "catch" in case.unknown_feeds[0].what


def test_places_find_their_compartment():
    ell = {
        "name": "ell",
        "outline": [
            {"x": f"{x} mm", "y": f"{y} mm"}
            for x, y in ((0, 0), (200, 0), (200, 60), (80, 60), (80, 120), (0, 120))
        ],
        "floor": "0 mm (measured)",
    }
    far = {**HOLE, "x": "150 mm", "y": "100 mm"}
    named = {**far, "compartment": "ell"}
    other = {**FLOOR, "name": "far", "x_low": "300 mm", "x_high": "400 mm", "floor": "0 mm"}
    case = oil_case(casting(oil_floor=[ell, other], oil=[HOLE, far, named, FEED]))
    assert [room for _, room, _ in case.drains] == ["ell", "ell"]
    assert len(case.notes) == 1
    assert "oil[1]" in case.notes[0]


def test_saddle_of_no_compartment_is_left_out_and_said():
    saddle = {"first": "tray", "second": "nowhere", "height": "3 mm", "width": "10 mm"}
    case = oil_case(casting(oil_saddles=[saddle]))
    assert case.saddles == ()
    assert "oil_saddles[0]" in case.notes[0]


def test_compartment_with_its_sides_swapped_is_refused_in_words():
    swapped = {**FLOOR, "x_low": "100 mm", "x_high": "0 mm"}
    case = oil_case(casting(oil_floor=[swapped], oil=[{**HOLE, "compartment": "tray"}]))
    with pytest.raises(InputError, match="no area"):
        case.floor(case.best())


def test_use_of_the_build_counts_and_a_tilt_asked_for_before_it():
    use = OilUse.model_validate(
        {"parked_pitch": "5 deg (measured)", "side_acceleration": "0.5 g"}, context={}
    )
    case = oil_case(casting(), oil=use, build="B")
    values = case.best()
    assert case.facts["parked_pitch"].path == "build B: oil.parked_pitch"
    assert case.facts["parked_roll"].provenance == "assumed"
    up = case.upward(values, "one_side")
    assert -up.y / up.z == pytest.approx(0.5, rel=1e-9)
    assert case.upward(values, "other_side").y == pytest.approx(-up.y)
    assert case.upward(values, "level").gravity == pytest.approx(STANDARD_GRAVITY)
    asked = oil_case(casting(), oil=use, tilt={"parked_pitch": 0.3})
    assert asked.facts["parked_pitch"].value == 0.3
    with pytest.raises(InputError, match="parked_pitch"):
        oil_case(casting(), tilt={"parked_pitch": math.nan})


def test_records_refuse_what_no_floor_has():
    with pytest.raises(RecordError, match="filled"):
        casting(oil_floor=[{**FLOOR, "filled": "140 %"}])
    with pytest.raises(RecordError, match="mouth"):
        casting(oil=[{**HOLE, "mouth": "gutter"}])
