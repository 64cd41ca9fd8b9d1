"""Face, plug and ports of a trial: against sampling of the records' figures and by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest

from headwright.assemble import Derived, Fact, Trial, gather, make_trial
from headwright.assemble.layout import chamber_outline, plug_of, port_of
from headwright.checks import CHECKS, run_checks
from headwright.checks.face import (
    chamber_to_gasket,
    check_insert_to_plug,
    check_insert_to_water,
    insert_to_gasket,
    insert_to_plug,
    nearest_water,
    shroud_facts,
    shrouded,
    shrouding_at,
)
from headwright.checks.plug import (
    boss_opening,
    check_plug_thread,
    flame_run,
    flame_run_to_bore,
    hidden_share,
    thread_out,
)
from headwright.checks.ports import (
    check_pushrod_wall,
    port_mach,
    port_turn,
    pushrod_clearance,
    reckoned_volume,
    thin_walls,
    volume_against_poured,
)
from headwright.demo import demo_records
from headwright.records import Build, Casting, Record

MINE = (
    "shrouding",
    "insert_to_plug",
    "insert_to_water",
    "fire_ring",
    "plug_thread",
    "pushrod_wall",
    "pushrod_clearance",
    "port_mach",
)


@pytest.fixture(scope="module")
def records() -> dict[tuple[str, str], Record]:
    return {(one.kind, one.tag): one for one in demo_records()}


def on(records: dict[tuple[str, str], Record], casting: str, build: str = "sprint-1500") -> Trial:
    bundle = gather(
        cast("Build", records["build", build]),
        lambda kind, tag: records.get((kind, tag)),
        castings=[one for one in records.values() if isinstance(one, Casting)],
    )
    return make_trial(bundle.on(cast("Casting", records["casting", casting])))


def changed(trial: Trial, **update: Any) -> Trial:
    """The same trial with its casting's record changed."""
    return make_trial(trial.bundle.on(trial.casting.model_copy(update=update)))


def sampled(derived: Derived, function: Any, facts: dict[str, Fact], count: int = 400) -> None:
    """Hold value and uncertainty to plain sampling (JCGM 101:2008)."""
    generator = np.random.default_rng(5)
    draws = [
        function(
            **{
                key: (fact.value or 0.0) + fact.uncertainty * generator.standard_normal()
                for key, fact in facts.items()
            }
        )
        for _ in range(count)
    ]
    assert derived.value is not None
    assert derived.value == pytest.approx(np.mean(draws), abs=5 * np.std(draws) / count**0.5)
    assert derived.uncertainty == pytest.approx(np.std(draws), rel=0.2)


@pytest.mark.reference
@pytest.mark.parametrize("casting", ["AL-01", "EI-03", "EI-07"])
def test_shrouding_and_its_doubt_against_sampling(
    records: dict[tuple[str, str], Record], casting: str
) -> None:
    trial = on(records, casting)
    cylinder = trial.cylinders[1]
    outline = chamber_outline(trial, cylinder)
    for valve in (cylinder.intake, cylinder.exhaust):
        derived = shrouded(trial, cylinder, valve)
        sampled(
            derived,
            lambda **v: shrouding_at(v, 0.25 * v["head"], outline).blocked,
            shroud_facts(trial, cylinder, valve, outline),
        )


@pytest.mark.reference
def test_a_leaning_valve_is_looked_at_where_its_head_has_got_to(
    records: dict[tuple[str, str], Record],
) -> None:
    # 9 mm along an axis that leans 10 degrees towards -x, from a seat 4 mm deep: the head's centre
    # stands (9 - 4 / cos 10) sin 10 mm nearer to the bore than where the axis meets the face.
    plain = {
        "x": 0.0173, "y": 0.0, "head": 0.036, "bore_x": 0.0, "bore_y": 0.0, "bore": 0.0746,
        "seat": 0.004, "cut": 0.0, "gasket": 0.001,
    }  # fmt: skip
    ten = math.radians(10.0)
    leaning = shrouding_at({**plain, "tilt": ten, "direction": math.pi}, 0.009, None)
    moved = (0.009 - 0.004 / math.cos(ten)) * math.sin(ten)
    upright = shrouding_at({**plain, "x": 0.0173 - moved}, 0.009, None)
    assert leaning.blocked == pytest.approx(upright.blocked, abs=1e-12)
    assert leaning.blocked < shrouding_at(plain, 0.009, None).blocked
    trial = on(records, "AL-01")
    valve = trial.casting.valve(1, "intake")
    assert valve is not None
    from headwright.records.measured import Measured

    lean = {
        "tilt": Measured(value=ten, unit="rad", uncertainty=0.002, provenance="measured"),
        "tilt_direction": Measured(value=math.pi, unit="rad", provenance="measured"),
    }
    valves = tuple(
        one.model_copy(update=lean) if one == valve else one for one in trial.casting.valves
    )
    tilted = changed(trial, valves=valves)
    one = tilted.cylinders[0]
    facts = shroud_facts(tilted, one, one.intake, None)
    assert (facts["tilt"].value, facts["direction"].value) == (ten, math.pi)


@pytest.mark.reference
def test_gaps_of_the_face_by_hand(records: dict[tuple[str, str], Record]) -> None:
    # Centre distance less radii, from the figures in the record.
    trial = on(records, "AL-01")
    one = trial.cylinders[0]
    plug = plug_of(trial, one)
    apart = math.hypot(17.98e-3 + 3.0e-3, 0.64e-3 + 15.6e-3)
    by_hand = apart - (39.50e-3 + 10.0e-3) / 2
    assert plug.thread_diameter.value == pytest.approx(10e-3)
    assert insert_to_plug(trial, one, one.intake).value == pytest.approx(by_hand, abs=1e-8)
    water = nearest_water(trial, one.intake)
    assert water is not None
    across = math.hypot(41.25e-3 - 17.98e-3, 26e-3 + 0.64e-3)
    assert water.value == pytest.approx(across - (39.50e-3 + 9e-3) / 2, abs=1e-8)
    land = insert_to_gasket(trial, one, one.intake)
    reach = math.hypot(17.98e-3, 0.64e-3) + 39.50e-3 / 2
    assert land.value == pytest.approx(38.0e-3 - reach, abs=1e-8)
    own = chamber_to_gasket(trial, one)
    assert own.value == pytest.approx(38.0e-3 - math.hypot(37.3e-3, 6.6e-3), abs=1e-8)


@pytest.mark.reference
def test_plug_by_hand(records: dict[tuple[str, str], Record]) -> None:
    trial = on(records, "LI-02")
    one = trial.cylinders[0]
    # 19 mm reach, 20.0 mm of boss, 1.3 mm of ring: 2.3 mm short.
    out = thread_out(trial, one)
    assert out.value == pytest.approx(-2.3e-3)
    assert out.uncertainty >= 0.2e-3
    hidden = hidden_share(trial, one)
    depth, half = 2.3e-3 - 1.5e-3, 7e-3
    assert hidden.value == pytest.approx(depth / math.hypot(depth, half))
    cost = boss_opening(trial, one, 21e-3)
    frustum = math.pi * 2.3e-3 / 12 * (0.014**2 + 0.014 * 0.021 + 0.021**2)
    assert cost.value == pytest.approx(frustum - math.pi / 4 * 0.014**2 * 2.3e-3)
    to_bore = flame_run_to_bore(trial, one)
    offset = math.hypot(1.0, 15.2) * 1e-3
    assert one.bore.value is not None
    height = 13.1e-3 / 2
    assert to_bore.value == pytest.approx(math.hypot(offset + one.bore.value / 2, height))
    run = flame_run(trial, one)
    assert run is not None
    assert run.value is not None
    assert 0.6 * to_bore.value < run.value < 1.1 * to_bore.value
    assert [f.verdict for f in check_plug_thread(trial)] == ["close"]
    assert not list(check_plug_thread(on(records, "LI-05")))  # nobody measured the boss


@pytest.mark.reference
def test_ports_by_hand(records: dict[tuple[str, str], Record]) -> None:
    trial = on(records, "EI-03")
    one = trial.cylinders[0]
    port = port_of(trial, one, "intake")
    assert port is not None
    mach = port_mach(trial, one, "intake")
    assert mach is not None
    assert one.bore.value is not None
    # Continuity at 7.6 cm2: piston area over section times mean piston speed, over 343.2 m/s.
    piston = math.pi / 4 * one.bore.value**2
    mean = 2 * 0.0855 * 7000 / 60
    throat = math.pi / 4 * (31.145e-3) ** 2
    expected = piston / min(7.6e-4, throat) * mean / 343.2
    assert mach.value == pytest.approx(expected, rel=1e-4)
    turn = port_turn(port)
    assert turn is not None
    assert turn.value == pytest.approx(24e-3 / math.sqrt(4 * 7.6e-4 / math.pi))
    ratio = volume_against_poured(port)
    whole = reckoned_volume(port)
    assert ratio is not None
    assert whole is not None
    assert whole.value is not None
    assert ratio.value == pytest.approx(whole.value / 134e-6)
    assert abs((ratio.value or 0.0) - 1.0) < 2 * ratio.uncertainty  # sections and pour agree
    assert thin_walls(trial)[0].wall.value == pytest.approx(3.4e-3)


@pytest.mark.reference
def test_pushrod_in_its_passage_by_hand(records: dict[tuple[str, str], Record]) -> None:
    trial = on(records, "EI-03")
    gap = pushrod_clearance(trial, trial.cylinders[0], "intake")
    assert gap is not None
    facts = {fact.name: fact.value or 0.0 for fact in gap.facts}
    arm, lift = facts["rocker_arm_length"], facts["lobe_lift"]
    sway = arm - math.sqrt(arm**2 - (lift / 2) ** 2)
    free = (facts["hole_diameter"] - facts["pushrod_diameter"]) / 2
    assert gap.value == pytest.approx(free - 0.85 * sway, rel=1e-9)
    alone = make_trial(replace(trial.bundle, valve_gear=None))
    assert pushrod_clearance(alone, alone.cylinders[0], "intake") is None


def test_outlines_and_plugs_are_lent_the_right_way_round(
    records: dict[tuple[str, str], Record],
) -> None:
    trial = on(records, "EI-03")
    first, second = trial.cylinders[0], trial.cylinders[1]
    own, lent = chamber_outline(trial, first), chamber_outline(trial, second)
    assert own is not None
    assert lent is not None
    assert (own.lent_by, lent.lent_by) == ("", "cylinder 1")
    assert lent.edge.provenance == "estimated"
    # The intake of cylinder 2 lies on the other side: the outline is turned over about the bore.
    assert lent.x[1] == pytest.approx(82.5e-3 - own.x[1])
    assert lent.y[1] == pytest.approx(own.y[1])
    other = on(records, "EI-07")
    kin = chamber_outline(other, other.cylinders[0])
    assert kin is not None
    assert kin.lent_by == "EI-03, cylinder 1"
    al = on(records, "AL-02")
    plug = plug_of(al, al.cylinders[1])
    assert plug.x.value == pytest.approx(82.5e-3 + 3.6e-3)
    assert plug.x.note == "lent by AL-02, cylinder 1"
    bare = on(records, "EI-22")
    no_centre = chamber_outline(bare, bare.cylinders[3])
    assert no_centre is None  # where its bore sits is not recorded


def test_lent_ports_say_so(records: dict[tuple[str, str], Record]) -> None:
    trial = on(records, "EI-03")
    port = port_of(trial, trial.cylinders[2], "intake")
    assert port is not None
    assert port.lent_by == "EI-03, intake port of 1 and 2"
    assert all(station.area.provenance == "estimated" for station in port.stations)
    assert volume_against_poured(port) is None  # a lent section proves no pour


def test_where_nothing_is_recorded_nothing_is_claimed(
    records: dict[tuple[str, str], Record],
) -> None:
    trial = on(records, "AL-01")
    bare = changed(trial, chambers=(), holes=(), pushrod_holes=(), ports=())
    bare = make_trial(replace(bare.bundle, rack=()))
    assert chamber_outline(bare, bare.cylinders[0]) is None
    land = chamber_to_gasket(bare, bare.cylinders[0])
    assert land.value == pytest.approx((76.0e-3 - (bare.cylinders[0].bore.value or 0.0)) / 2)
    assert [f.verdict for f in check_insert_to_plug(bare)] == ["unknown"]
    assert not list(check_pushrod_wall(bare))
    # An iron head that is to get its first inserts asks for the water; one that has them does not.
    iron = on(records, "LI-02")
    intended = iron.build.model_copy(
        update={"intake": iron.build.intake.model_copy(update={"insert": True})}
    )
    fitted = make_trial(replace(iron.bundle, build=intended))
    assert [f.verdict for f in check_insert_to_water(fitted)] == ["unknown"]
    assert not list(check_insert_to_water(iron))


def test_every_family_is_run_and_names_its_limit(records: dict[tuple[str, str], Record]) -> None:
    names = {check.name for check in CHECKS}
    assert set(MINE) <= names
    found = [one for one in run_checks(on(records, "AL-01")) if one.check in MINE]
    assert {one.check for one in found} == set(MINE)
    assert all(one.limit is not None and one.limit.source for one in found)
    assert all(
        "no source" in one.limit.source for one in found if one.limit and one.limit.is_default
    )
