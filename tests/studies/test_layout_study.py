"""Layout of a casting and the largest valves it takes, on the demo shop."""

from __future__ import annotations

import math
from typing import cast

import pytest

from headwright.assemble import Bundle, gather
from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.records import Build, Casting, Record, ShortBlock
from headwright.studies.layout import FACE_CHECKS, bare_bundle, lay_out, with_valves
from headwright.studies.valve_sizes import valve_sizes


@pytest.fixture(scope="module")
def records() -> dict[tuple[str, str], Record]:
    return {(one.kind, one.tag): one for one in demo_records()}


def bundle(records: dict[tuple[str, str], Record], casting: str) -> Bundle:
    found = gather(
        cast("Build", records["build", "sprint-1500"]),
        lambda kind, tag: records.get((kind, tag)),
        castings=[one for one in records.values() if isinstance(one, Casting)],
    )
    return found.on(cast("Casting", records["casting", casting]))


@pytest.mark.reference
def test_largest_valves_by_hand(records: dict[tuple[str, str], Record]) -> None:
    # EI-03, cylinder 2 has the closest centres: (66.65, 4.22) and (101.20, 4.15) mm; the shop's
    # least bridge is 0.5 mm and no insert is fitted, so that (1 + r) D / 2 = centres - 0.5 mm.
    report = lay_out(bundle(records, "EI-03"))
    sizes = report.sizes
    assert sizes is not None
    first = sizes.options[0]
    centres = math.hypot(101.20 - 66.65, 4.22 - 4.15) * 1e-3
    assert first.cylinder == 2
    assert first.intake.value == pytest.approx(2 * (centres - 0.5e-3) / (1 + sizes.ratio), abs=1e-7)
    assert first.exhaust.value == pytest.approx(sizes.ratio * first.intake.value, abs=1e-9)
    assert first.pair is not None
    assert first.pair.held_by == ("bridge",)
    # Both centres 0.05 mm in x and y: the distance doubtful by 0.05 sqrt(2) mm, the sum by as much.
    expected = 2 * 0.05e-3 * math.sqrt(2) / (1 + sizes.ratio)
    assert first.intake.uncertainty == pytest.approx(expected, rel=0.01)


def test_what_moving_the_centres_buys(records: dict[tuple[str, str], Record]) -> None:
    sizes = valve_sizes(lay_out(bundle(records, "EI-03"), sizes=False).trial)
    heads = {option.name: option.intake.value or 0.0 for option in sizes.options}
    assert heads["as it is"] < heads["offset 0.5 mm"] <= heads["offset 1 mm"]
    assert heads["as it is"] < heads["wider centres"]
    rule = 1.5 * 25.4e-3
    assert all(head <= rule + 1e-9 for head in heads.values())
    gained = {option.name: option.bridge_gained for option in sizes.options}
    assert gained["wider centres"] == pytest.approx(0.060 * 25.4e-3)
    assert sizes.limits[0][0] == "bridge_minimum_iron"
    assert all(a.intake < b.intake for a, b in zip(sizes.pairs, sizes.pairs[1:], strict=False))
    none = valve_sizes(lay_out(bundle(records, "LI-08"), sizes=False).trial)
    assert none.options == ()
    assert any("bore centre" in fact.what for fact in none.missing)


def test_report_holds_every_part(records: dict[tuple[str, str], Record]) -> None:
    report = lay_out(bundle(records, "AL-01"))
    assert not report.is_bare
    assert {finding.check for finding in report.findings} <= set(FACE_CHECKS)
    assert [one.number for one in report.cylinders] == [1, 2, 3, 4]
    for cylinder in report.cylinders:
        assert cylinder.bridge.value is not None
        for valve in cylinder.valves:
            blocked = [one.blocked for one in valve.through_lift]
            assert blocked == sorted(blocked)  # more lift is never less shrouded
            quarter = valve.through_lift[4].blocked
            assert quarter == pytest.approx(valve.shrouded.value, abs=1e-12)
    assert {port.facts.side for port in report.ports} == {"intake", "exhaust"}
    assert report.walls == tuple(sorted(report.walls, key=lambda one: one.wall.value or 0.0))
    for option in report.passages:
        assert option.passage.value == pytest.approx(11.0e-3)  # the rod keeps its room


def test_a_casting_alone_is_laid_out_as_it_is(records: dict[tuple[str, str], Record]) -> None:
    casting = cast("Casting", records["casting", "EI-03"])
    block = cast("ShortBlock", records["short_block", "SB-STD"])
    report = lay_out(bare_bundle(casting, block), sizes=False)
    assert report.is_bare
    assert report.sizes is None
    own = casting.valve(1, "intake")
    assert own is not None
    assert own.head_diameter is not None
    assert report.trial.cylinders[0].intake.head_diameter.value == own.head_diameter.value


def test_moved_valves_change_the_bridge_by_as_much(
    records: dict[tuple[str, str], Record],
) -> None:
    casting = cast("Casting", records["casting", "EI-03"])
    block = cast("ShortBlock", records["short_block", "SB-STD"])
    before = lay_out(bare_bundle(casting, block), sizes=False).cylinders[0].bridge.value
    valve = casting.valve(1, "intake")
    assert valve is not None
    assert valve.x is not None
    assert valve.head_diameter is not None
    moved = with_valves(
        casting,
        {(1, "intake"): {"x": valve.x.value + 0.3e-3, "head_diameter": 36.0e-3}},
    )
    after = lay_out(bare_bundle(moved, block), sizes=False).cylinders[0].bridge
    gain = 0.3e-3 - (36.0e-3 - valve.head_diameter.value) / 2
    assert after.value == pytest.approx((before or 0.0) + gain, abs=1e-7)
    changed = moved.valve(1, "intake")
    assert changed is not None
    assert changed.x is not None
    assert changed.x.is_guess  # tried, not measured
    assert casting.valve(1, "intake") == valve
    with pytest.raises(InputError, match="no intake valve of cylinder 9"):
        with_valves(casting, {(9, "intake"): {"x": 0.0}})
