"""Which figure of which record counts in a trial, and what stands in where there is none."""

from __future__ import annotations

import math
from typing import Any

import pytest

from headwright.assemble import Fact, make_trial
from headwright.errors import RecordError
from headwright.records import Casting

from . import makers
from .makers import bundle, m, trial

MM = 1e-3
CC = 1e-6


def stands_in(fact: Fact) -> bool:
    """Tell whether a fact is assumed, says so, says why, and has doubt of its own."""
    return (
        fact.provenance == "assumed"
        and fact.uncertainty_assumed
        and bool(fact.note)
        and fact.uncertainty > 0.0
    )


def without_valve(side: str) -> list[Any]:
    return [valve for valve in makers.casting_body()["valves"] if valve["side"] != side]


def with_valves(**changes: Any) -> dict[str, Any]:
    """Change every valve of the casting."""
    return {"valves": [makers.merged(valve, changes) for valve in makers.casting_body()["valves"]]}


class TestPlainCase:
    def test_figures_come_from_their_records(self) -> None:
        case = trial()
        assert [cylinder.number for cylinder in case.cylinders] == [1, 2, 3, 4]
        first = case.cylinders[0]
        assert first.bore.value == pytest.approx(101.6 * MM)
        assert first.bore.uncertainty == pytest.approx(0.005 * MM)
        assert first.bore.path == "short_block BLOCK: cylinders[0].bore"
        assert first.below_deck.value == pytest.approx(0.254 * MM)
        assert first.crown_volume.value == pytest.approx(5 * CC)
        assert first.chamber.volume.value == pytest.approx(64 * CC)
        assert first.chamber.volume.path == "casting HEAD: chambers[0].volume"
        assert case.stroke.value == pytest.approx(88.9 * MM)
        assert case.gasket_bore.path == "short_block BLOCK: gasket.bore"
        assert case.gasket_volume is None
        assert case.thickness_now.value == pytest.approx(0.100)

    def test_targets_and_cuts_are_intentions(self) -> None:
        case = trial(of_build={"cuts": {"head_cut": m("1 mm", "0.3 mm")}})
        for chosen in (case.target_ratio, case.maximum_speed, case.head_cut, case.deck_cut):
            assert chosen.is_intention
            assert chosen.uncertainty == 0.0
        assert case.head_cut.value == pytest.approx(1 * MM)
        assert case.deck_cut.value == 0.0
        assert case.deck_cut.note == "none intended"

    def test_a_cut_to_try_replaces_the_one_intended(self) -> None:
        bundle_ = bundle(of_build={"cuts": {"head_cut": "1 mm"}})
        tried = makers.exact(2 * MM)
        assert make_trial(bundle_, head_cut=tried).head_cut == tried

    def test_targets_that_are_not_set_are_unknown(self) -> None:
        case = trial(of_build={"targets": {"compression_ratio": None, "maximum_speed": None}})
        assert not case.target_ratio.is_known
        assert not case.maximum_speed.is_known

    def test_a_build_without_a_casting_is_refused(self) -> None:
        with pytest.raises(RecordError, match=r"build\.casting"):
            make_trial(bundle().__class__(build=makers.build(), short_block=makers.block()))

    def test_a_casting_of_fewer_cylinders_is_tried_on_those_it_has(self) -> None:
        case = make_trial(bundle().on(makers.casting(cylinders=2)))
        assert [cylinder.number for cylinder in case.cylinders] == [1, 2]


class TestWhichFigureWins:
    def test_gasket_of_the_build_over_that_of_the_block(self) -> None:
        gasket = {"bore": m("103 mm"), "thickness": m("1.4 mm")}
        case = trial(of_build={"gasket": gasket})
        assert case.gasket_thickness.value == pytest.approx(1.4 * MM)
        assert case.gasket_thickness.path == "build BUILD: gasket.thickness"

    def test_gasket_volume_is_taken_up(self) -> None:
        case = trial(of_build={"gasket": {"volume": m("8 cc"), "thickness": m("1.4 mm")}})
        assert case.gasket_volume is not None
        assert case.gasket_volume.value == pytest.approx(8 * CC)

    def test_a_gasket_of_the_build_is_not_patched_up_from_the_block(self) -> None:
        case = trial(of_build={"gasket": {"thickness": m("1.4 mm")}})
        assert not case.gasket_bore.is_known

    def test_shelf_valve_over_build_figure_over_casting(self) -> None:
        by_casting = trial()
        assert by_casting.cylinders[0].intake.head_diameter.value == pytest.approx(48 * MM)
        assert "casting HEAD: valves[0]" in by_casting.cylinders[0].intake.head_diameter.path

        wanted = {"intake": {"head_diameter": "50 mm"}}
        by_build = trial(of_build=wanted)
        assert by_build.cylinders[2].intake.head_diameter.value == pytest.approx(50 * MM)
        assert by_build.cylinders[2].exhaust.head_diameter.value == pytest.approx(40 * MM)

        on_shelf = makers.shelf_valve("intake", "51 mm")
        by_shelf = trial(of_build=wanted, intake_valve=on_shelf)
        head = by_shelf.cylinders[2].intake.head_diameter
        assert head.value == pytest.approx(51 * MM)
        assert head.path == "valve VALVE: head_diameter"

    def test_shelf_valve_is_one_fact_for_all_cylinders(self) -> None:
        case = trial(intake_valve=makers.shelf_valve("intake", "51 mm"))
        assert len({cylinder.intake.head_diameter for cylinder in case.cylinders}) == 1

    def test_crown_of_the_cylinder_over_that_of_the_set(self) -> None:
        cylinders = makers.block_body()["cylinders"]
        cylinders[1]["crown_volume"] = m("5.6 cc")
        case = trial(of_block={"cylinders": cylinders})
        assert case.cylinders[1].crown_volume.value == pytest.approx(5.6 * CC)
        assert case.cylinders[0].crown_volume.value == pytest.approx(5.0 * CC)
        assert case.cylinders[1].crown_volume.path.endswith("cylinders[1].crown_volume")

    def test_measured_deck_over_the_sum_of_the_parts(self) -> None:
        case = trial(
            of_block={
                "block_height": m("250 mm"),
                "piston": {"pin_height": m("40 mm")},
            }
        )
        assert case.cylinders[0].below_deck.value == pytest.approx(0.254 * MM)

    def test_insert_of_the_build_over_that_of_the_casting(self) -> None:
        inserts = with_valves(insert=True, insert_diameter=m("52 mm"))
        case = trial(of_casting=inserts)
        assert case.cylinders[0].intake.insert_diameter.value == pytest.approx(52 * MM)
        case = trial(of_casting=inserts, of_build={"intake": {"insert_diameter": "54 mm"}})
        assert case.cylinders[0].intake.insert_diameter.value == pytest.approx(54 * MM)
        assert case.cylinders[0].exhaust.insert_diameter.value == pytest.approx(52 * MM)

    def test_build_may_want_inserts_where_there_are_none_and_the_other_way_round(self) -> None:
        assert not trial().cylinders[0].intake.insert
        wanted = trial(of_build={"intake": {"insert": True}})
        assert wanted.cylinders[0].intake.insert
        assert not wanted.cylinders[0].exhaust.insert
        given_up = trial(
            of_casting=with_valves(insert=True), of_build={"intake": {"insert": False}}
        )
        assert not given_up.cylinders[0].intake.insert
        assert given_up.cylinders[0].exhaust.insert

    def test_aluminium_always_has_inserts(self) -> None:
        case = trial(of_casting={"material": "aluminium"}, of_build={"intake": {"insert": False}})
        assert case.cylinders[0].intake.insert
        assert case.cylinders[0].exhaust.insert

    def test_relief_of_its_own_cylinder_only(self) -> None:
        case = trial(
            of_build={"cuts": {"reliefs": [{"cylinder": 3, "volume": m("0.8 cc", "0.1 cc")}]}}
        )
        assert case.cylinders[2].relief_volume.value == pytest.approx(0.8 * CC)
        assert case.cylinders[0].relief_volume.value == 0.0
        assert case.cylinders[0].relief_volume.is_intention

    def test_a_pour_at_the_face_is_the_chamber_volume(self) -> None:
        chambers = makers.casting_body()["chambers"]
        chambers[0] = {
            "cylinder": 1,
            "pours": [
                {"depth_of_cut": m("2 mm"), "volume": m("54 cc")},
                {"depth_of_cut": m("0 mm"), "volume": m("65 cc")},
            ],
        }
        case = trial(of_casting={"chambers": chambers})
        assert case.cylinders[0].chamber.volume.value == pytest.approx(65 * CC)
        assert len(case.cylinders[0].chamber.pours) == 2

    def test_order_of_entry_does_not_matter(self) -> None:
        turned = {
            name: list(reversed(makers.casting_body()[name]))
            for name in ("chambers", "valves", "bore_centres")
        }
        chambers = turned["chambers"]
        chambers[0]["volume"] = m("66 cc")  # cylinder 4, entered first
        case = trial(of_casting=turned)
        last = case.cylinders[3]
        assert last.number == 4
        assert last.chamber.volume.value == pytest.approx(66 * CC)
        assert last.chamber.volume.path == "casting HEAD: chambers[0].volume"
        assert last.bore_x.value == pytest.approx(3 * makers.SPACING_MM * MM)
        assert last.intake.x.value == pytest.approx((3 * makers.SPACING_MM - 24.0) * MM)


class TestStandIns:
    def test_pin_offset(self) -> None:
        case = trial(of_block={"piston": {"pin_offset": None}})
        assert case.pin_offset.value == 0.0
        assert stands_in(case.pin_offset)

    def test_deck_from_the_sum_of_the_parts(self) -> None:
        cylinders = [{"cylinder": n, "bore": m("101.6 mm")} for n in range(1, 5)]
        case = trial(
            of_block={
                "cylinders": cylinders,
                "block_height": m("237.2 mm"),
                "piston": {"pin_height": m("40 mm")},
            }
        )
        # 237.2 - 88.9 / 2 - 152.4 - 40
        below = case.cylinders[0].below_deck
        assert below.value == pytest.approx(0.35 * MM, abs=1e-9)
        assert stands_in(below)

    def test_deck_without_all_the_parts_is_unknown(self) -> None:
        cylinders = [{"cylinder": n, "bore": m("101.6 mm")} for n in range(1, 5)]
        case = trial(of_block={"cylinders": cylinders, "block_height": m("237.2 mm")})
        assert not case.cylinders[0].below_deck.is_known

    def test_flat_crown_adds_nothing_unless_it_has_pockets(self) -> None:
        flat = {"crown": "flat", "crown_volume": None}
        case = trial(of_block={"piston": flat})
        assert case.cylinders[0].crown_volume.value == 0.0
        assert stands_in(case.cylinders[0].crown_volume)
        pockets = {**flat, "pockets": [{"side": "intake"}]}
        assert not trial(of_block={"piston": pockets}).cylinders[0].crown_volume.is_known

    @pytest.mark.parametrize("crown", ["dish", "dome"])
    def test_a_dish_or_dome_must_be_measured(self, crown: str) -> None:
        case = trial(of_block={"piston": {"crown": crown, "crown_volume": None}})
        assert not case.cylinders[0].crown_volume.is_known

    @pytest.mark.reference
    def test_crevice_is_the_ring_round_the_top_land(self) -> None:
        # Annulus of bore B and land B - 2c: pi/4 (B^2 - (B - 2c)^2) h, closed form.
        case = trial(
            of_block={
                "piston": {
                    "top_land_height": m("6 mm", "0.1 mm"),
                    "top_land_clearance": m("0.3 mm", "0.03 mm"),
                }
            }
        )
        bore, land = 101.6 * MM, 101.0 * MM
        volume = math.pi / 4.0 * (bore**2 - land**2) * 6 * MM
        crevice = case.cylinders[0].crevice_volume
        assert crevice.value == pytest.approx(volume, rel=1e-12)
        # 10 % of the gap and 1.7 % of the height; the gap's own effect on B - c is 0.3 % of it.
        assert crevice.uncertainty == pytest.approx(volume * math.hypot(0.1, 0.1 / 6.0), rel=5e-3)
        assert crevice.provenance == "measured"

    def test_crevice_nobody_measured(self) -> None:
        case = trial(of_block={"piston": {"top_land_clearance": None}})
        crevice = case.cylinders[0].crevice_volume
        assert stands_in(crevice)
        assert 0.1 * CC < crevice.value < 1.0 * CC

    def test_a_land_that_seals_leaves_no_crevice(self) -> None:
        crevice = trial().cylinders[0].crevice_volume
        assert (crevice.value, crevice.uncertainty) == (0.0, 0.0)

    def test_crevice_is_one_doubt_for_all_cylinders(self) -> None:
        cylinders = makers.block_body()["cylinders"]
        cylinders[2]["bore"] = m("101.65 mm", "0.005 mm")
        case = trial(
            of_block={
                "cylinders": cylinders,
                "piston": {
                    "top_land_height": m("6 mm", "0.1 mm"),
                    "top_land_clearance": m("0.3 mm", "0.03 mm"),
                },
            }
        )
        assert len({cylinder.crevice_volume for cylinder in case.cylinders}) == 1

    def test_chamber_opening_as_a_share_of_the_bore(self) -> None:
        chambers = [{"cylinder": n, "volume": m("64 cc")} for n in range(1, 5)]
        case = trial(of_casting={"chambers": chambers})
        area = case.cylinders[0].chamber.face_area
        assert stands_in(area)
        bore_area = math.pi / 4.0 * 0.1016**2
        assert 0.5 * bore_area < area.value < bore_area

    def test_insert_for_a_valve_head(self) -> None:
        case = trial(of_build={"intake": {"insert": True}})
        insert = case.cylinders[0].intake.insert_diameter
        assert stands_in(insert)
        assert 49 * MM < insert.value < 53 * MM

    def test_an_insert_smaller_than_the_wanted_valve_does_not_count(self) -> None:
        # An insert of 47 mm cannot carry a valve of 48 mm, whatever the record says.
        case = trial(of_casting=with_valves(insert=True, insert_diameter=m("47 mm")))
        insert = case.cylinders[0].intake.insert_diameter
        assert insert.value > 48 * MM
        assert stands_in(insert)
        assert "too small" in insert.note
        assert case.cylinders[0].exhaust.insert_diameter.value == pytest.approx(47 * MM)


class TestUnknowns:
    @pytest.mark.parametrize(
        ("change", "read"),
        [
            ({"stroke": None}, lambda case: case.stroke),
            ({"rod_length": None}, lambda case: case.rod_length),
            ({"gasket": None}, lambda case: case.gasket_bore),
            ({"gasket": None}, lambda case: case.gasket_thickness),
        ],
    )
    def test_of_the_block(self, change: dict[str, Any], read: Any) -> None:
        fact = read(trial(of_block=change))
        assert not fact.is_known
        assert fact.path.startswith("short_block BLOCK: ")
        assert fact.what

    def test_of_the_casting(self) -> None:
        bare = Casting.read(
            {
                "tag": "BARE",
                "family": "invented",
                "sort": "unknown iron",
                "material": "iron",
                "condition": "used",
                "cylinders": 4,
            }
        )
        case = make_trial(bundle().on(bare))
        cylinder = case.cylinders[1]
        nowhere = [
            case.thickness_now,
            cylinder.bore_x,
            cylinder.bore_y,
            cylinder.chamber.volume,
            cylinder.intake.x,
            cylinder.intake.y,
            cylinder.intake.head_diameter,
            cylinder.intake.insert_diameter,
        ]
        assert not any(fact.is_known for fact in nowhere)
        assert all(fact.path.startswith("casting BARE: ") for fact in nowhere)
        assert len({fact.path for fact in nowhere}) == len(nowhere)

    def test_a_missing_valve_is_named_by_cylinder_and_side(self) -> None:
        case = trial(of_casting={"valves": without_valve("exhaust")})
        exhaust = case.cylinders[2].exhaust
        assert exhaust.x.path == "casting HEAD: valves[cylinder 3 exhaust].x"
        assert exhaust.x.what == "valve centre x, exhaust 3"

    def test_intake_closing(self) -> None:
        assert not trial().intake_closing.is_known
        assert trial().intake_closing.path == "build BUILD: valve_gear"
        closing = trial(cam=makers.cam()).intake_closing
        assert closing.value == pytest.approx(math.pi / 3.0)
        without = makers.cam({"lobes": [{"side": "exhaust"}]})
        assert not trial(cam=without).intake_closing.is_known
