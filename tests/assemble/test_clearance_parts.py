"""What is borrowed for a valve nobody measured, and rows of variations against single ones."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.assemble.clearance_motion import lift_facts, rod_facts
from headwright.assemble.clearance_parts import valve_place_facts
from headwright.assemble.clearance_spread import derive_rows
from headwright.assemble.facts import Fact, derive
from headwright.geometry.valve_motion import bar_stiffness

from .makers import casting, m
from .makers_of_clearances import clear_trial, valves


def test_a_seat_is_borrowed_from_its_neighbours_with_more_doubt() -> None:
    bodies = valves(2)
    del bodies[2]["seat_depth"]
    trial = clear_trial(of_casting={"valves": bodies}, cylinders=2)
    own, other = (
        valve_place_facts(trial, trial.cylinders[n], "intake")["seat_depth"] for n in (0, 1)
    )
    assert other.value == own.value
    assert other.uncertainty > own.uncertainty
    assert other.provenance == "estimated"
    assert "other valves" in other.note


def test_a_seat_borrowed_from_kin_follows_what_was_cut_off_since() -> None:
    kin = casting({"tag": "KIN", "thickness_now": m("100 mm"), "valves": valves(1)}, cylinders=1)
    bare = valves(1, {"seat_depth": None, "tilt": None})
    trial = clear_trial(of_casting={"valves": bare, "thickness_now": m("98.5 mm")}, rack=(kin,))
    fact = valve_place_facts(trial, trial.cylinders[0], "intake")["seat_depth"]
    assert fact.value == pytest.approx(4.5e-3)
    assert "same sort" in fact.note


def test_a_lean_without_its_way_is_taken_as_the_worst() -> None:
    trial = clear_trial(of_valves={"tilt": m("8 deg", "0.1 deg")})
    fact = valve_place_facts(trial, trial.cylinders[0], "intake")["direction"]
    assert fact.value == pytest.approx(math.pi)  # the intake stands towards minus x
    assert "nearest wall" in fact.note
    upright = clear_trial()
    assert valve_place_facts(upright, upright.cylinders[0], "intake")["direction"].value == 0.0


@pytest.mark.reference
def test_a_rod_is_as_stiff_as_its_section_and_material_say() -> None:
    """E A / l with 71 GPa for aluminium (handbook, from memory)."""
    trial = clear_trial(
        of_block={"rod_material": "aluminium", "rod_section": m("280 mm2", "5 mm2")}
    )
    rod = rod_facts(trial)
    assert rod.stiffness.value == pytest.approx(bar_stiffness(71e9, 280e-6, 0.1524))
    assert rod.play.provenance == "assumed"
    measured = clear_trial(of_block={"rod_stiffness": m("3e8 N/m", "1e7 N/m")})
    assert rod_facts(measured).stiffness.value == 3e8


def test_lift_without_gear_says_what_is_missing() -> None:
    from headwright.assemble import make_trial

    from .makers import bundle

    found = lift_facts(make_trial(bundle()), "intake")
    assert found.table is None
    assert "valve gear" in found.missing[0].what


@pytest.mark.reference
def test_rows_give_what_one_by_one_gives() -> None:
    """Against the rule for single figures; a product and a sine, so 1e-3 for its higher order."""
    facts = {
        "length": Fact("bore", "a", "a", 0.08, 1e-4, "measured"),
        "angle": Fact("valve_tilt", "b", "b", 0.4, 1e-3, "measured"),
        "same": Fact("bore", "a", "a", 0.08, 1e-4, "measured"),
        "exact": Fact("bore", "c", "c", 0.5),
    }

    def one(length: float, angle: float, same: float, exact: float) -> float:
        return length * math.sin(angle) + same**2 * exact

    rows = derive_rows(
        "bore",
        lambda v: (v["length"] * np.sin(v["angle"]) + v["same"] ** 2 * v["exact"])[:, 0],
        facts,
    )
    single = derive("bore", one, facts)
    assert rows.value == pytest.approx(single.value)
    assert rows.uncertainty == pytest.approx(single.uncertainty, rel=1e-3)
    assert set(rows.contributions) == set(single.contributions) == {"a", "b"}


def test_rows_name_what_is_missing_and_what_clashes() -> None:
    gone = Fact("bore", "a", "the bore")
    assert derive_rows("bore", lambda v: v["x"][:, 0], {"x": gone}).missing == (gone,)
    here = Fact("bore", "a", "the bore", 1.0, 0.1, "measured")
    clash = derive_rows("bore", lambda v: np.full(len(v["x"]), np.nan), {"x": here})
    assert clash.value is None
    assert "go together" in clash.trouble
