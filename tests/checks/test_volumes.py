"""Volumes and compression from records, against figures worked out elsewhere."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from assemble import makers
from assemble.makers import m, trial
from headwright.assemble import Fact, Trial
from headwright.checks import volumes
from headwright.geometry.chamber_cut import CurveModel, FaceAreaModel, TwoPourModel

CC = 1e-6
MM = 1e-3
AREA = 55e-4  # the chambers' opening in the made records [m2]


def chambers(**changes: Any) -> dict[str, Any]:
    """Change every chamber of the casting."""
    bodies = makers.casting_body()["chambers"]
    return {"chambers": [makers.merged(body, changes) for body in bodies]}


def pours(*pairs: tuple[str, str]) -> list[dict[str, Any]]:
    return [{"depth_of_cut": m(depth, "0.01 mm"), "volume": m(cc, "0.1 cc")} for depth, cc in pairs]


@pytest.fixture(scope="module")
def plain() -> Trial:
    return trial(cam=makers.cam())


class TestWorkedExample:
    """Bore 101.6, stroke 88.9, rod 152.4 mm; chamber 64 cc, gasket 104 x 1.00 mm, deck 0.254 mm,
    dish 5 cc. Ratios recomputed outside the project from the closed form of the slider-crank and
    of the volumes (Heywood, Internal Combustion Engine Fundamentals, ch. 2); printed to six
    figures, hence the tolerance.
    """

    @pytest.mark.reference
    def test_swept_volume(self, plain: Trial) -> None:
        assert volumes.swept_volume(plain, plain.cylinders[0]).value == pytest.approx(
            720.7407 * CC, rel=1e-7
        )
        assert volumes.displacement(plain).value == pytest.approx(4 * 720.7407 * CC, rel=1e-7)

    @pytest.mark.reference
    def test_eight_cylinders(self) -> None:
        # The same cylinder eight times: 5765.926 cc, 351.858 cu in.
        eight = trial(cylinders=8)
        found = volumes.displacement(eight).value
        assert found == pytest.approx(5765.926 * CC, rel=1e-6)
        assert found == pytest.approx(351.858 * (25.4 * MM) ** 3, rel=2e-6)

    @pytest.mark.reference
    def test_compression_of_every_cylinder(self, plain: Trial) -> None:
        ratios = [volumes.compression(plain, cylinder).value for cylinder in plain.cylinders]
        assert ratios == pytest.approx([10.05975] * 4, abs=5e-6)

    @pytest.mark.reference
    def test_trapped_compression_at_60_degrees_after_bottom(self, plain: Trial) -> None:
        trapped = volumes.trapped_compression(plain, plain.cylinders[0])
        assert trapped.value == pytest.approx(8.29844, abs=5e-6)

    @pytest.mark.reference
    def test_uncertainty_of_the_compression(self, plain: Trial) -> None:
        # The same stack in the uncertainties package, which differentiates exactly.
        bore = ufloat(101.6, 0.005)
        stroke = ufloat(88.9, 0.02)
        area = math.pi / 4.0 * bore**2
        swept = area * stroke
        gasket = math.pi / 4.0 * ufloat(104.0, 0.1) ** 2 * ufloat(1.0, 0.02)
        deck = area * ufloat(0.254, 0.01)
        clearance = ufloat(64e3, 200) + gasket + deck + ufloat(5e3, 100)
        expected = 1.0 + swept / clearance
        found = volumes.compression(plain, plain.cylinders[0])
        assert found.value == pytest.approx(expected.nominal_value, rel=1e-9)
        assert found.uncertainty == pytest.approx(expected.std_dev, rel=1e-6)

    @pytest.mark.reference
    def test_relief_and_gasket_volume_add_to_the_clearance(self) -> None:
        # 79.55413 cc, plus 2 cc of relief; gasket of 8.49487 cc given as a volume.
        case = trial(
            of_block={"gasket": {"bore": None, "volume": m("8.49487 cc")}},
            of_build={"cuts": {"reliefs": [{"cylinder": 1, "volume": "2 cc"}]}},
        )
        relieved = volumes.compression(case, case.cylinders[0]).value
        assert relieved == pytest.approx(1.0 + 720.7407 / 81.55413, abs=1e-5)
        assert volumes.compression(case, case.cylinders[1]).value == pytest.approx(
            10.05975, abs=1e-5
        )

    @pytest.mark.reference
    def test_chamber_after_cut_and_relief(self) -> None:
        # 64 cc, less 1 mm off an opening of 55 cm2, plus 2 cc ground out: 60.5 cc.
        cuts = {"head_cut": "1 mm", "reliefs": [{"cylinder": 1, "volume": "2 cc"}]}
        case = trial(of_build={"cuts": cuts})
        assert volumes.chamber_after_cut(case, case.cylinders[0]).value == pytest.approx(60.5 * CC)
        assert volumes.chamber_after_cut(case, case.cylinders[1]).value == pytest.approx(58.5 * CC)

    @pytest.mark.reference
    def test_a_cut_of_the_block_face_takes_a_disc_of_the_bore(self) -> None:
        case = trial(of_build={"cuts": {"deck_cut": "0.5 mm"}})
        disc = math.pi / 4.0 * 101.6**2 * 0.5 / 1e3
        found = volumes.compression(case, case.cylinders[0]).value
        assert found == pytest.approx(1.0 + 720.7407 / (79.55413 - disc), abs=1e-5)


class TestChamberModel:
    def model(self, case: Trial) -> Any:
        facts, make = volumes.chamber_model(case.cylinders[0].chamber)
        assert all(fact.is_known for fact in facts.values())
        return make({key: fact.value for key, fact in facts.items() if fact.value is not None})

    def test_volume_and_opening_alone_make_straight_walls(self, plain: Trial) -> None:
        model = self.model(plain)
        assert isinstance(model, FaceAreaModel)
        assert model.volume_unlimited(1 * MM) == pytest.approx(64 * CC - AREA * 1 * MM)

    def test_a_depth_that_fits_draws_the_walls_in(self) -> None:
        # 64 cc under 55 cm2 and 16 mm: 0.73 of the box; area falls by 2 (Ah - V) / h^2.
        model = self.model(trial(of_casting=chambers(depth=m("16 mm"))))
        taper = 2.0 * (AREA * 16 * MM - 64 * CC) / (16 * MM) ** 2
        assert model.volume_unlimited(2 * MM) == pytest.approx(
            64 * CC - AREA * 2 * MM + taper * (2 * MM) ** 2 / 2.0
        )

    @pytest.mark.parametrize("depth", ["11 mm", "60 mm"])
    def test_a_depth_that_does_not_fit_is_left_out(self, depth: str) -> None:
        model = self.model(trial(of_casting=chambers(depth=m(depth))))
        assert model.area_taper == 0.0

    def test_two_pours_make_a_line_and_count_before_the_opening(self) -> None:
        case = trial(of_casting=chambers(pours=pours(("0 mm", "64 cc"), ("2 mm", "54 cc"))))
        model = self.model(case)
        assert isinstance(model, TwoPourModel)
        assert model.volume_unlimited(1 * MM) == pytest.approx(59 * CC)

    def test_three_pours_make_a_curve(self) -> None:
        made = pours(("0 mm", "64 cc"), ("1 mm", "58.5 cc"), ("3 mm", "48.5 cc"))
        model = self.model(trial(of_casting=chambers(pours=made)))
        assert isinstance(model, CurveModel)
        for depth, cc in ((0.0, 64.0), (1.0, 58.5), (3.0, 48.5)):
            assert model.volume_unlimited(depth * MM) == pytest.approx(cc * CC)

    def test_the_volume_at_the_face_counts_as_a_pour(self) -> None:
        model = self.model(trial(of_casting=chambers(pours=pours(("2 mm", "54 cc")))))
        assert isinstance(model, TwoPourModel)
        assert model.volume_unlimited(0.0) == pytest.approx(64 * CC)
        assert model.volume_unlimited(1 * MM) == pytest.approx(59 * CC)

    def test_pours_may_be_entered_in_any_order(self) -> None:
        made = pours(("3 mm", "48.5 cc"), ("0 mm", "64 cc"), ("1 mm", "58.5 cc"))
        model = self.model(trial(of_casting=chambers(pours=made)))
        assert model.volume_unlimited(1 * MM) == pytest.approx(58.5 * CC)

    def test_pours_that_clash_are_trouble(self) -> None:
        made = pours(("0 mm", "60 cc"), ("2 mm", "62 cc"))
        case = trial(of_casting=chambers(pours=made))
        ratio = volumes.compression(case, case.cylinders[0])
        assert ratio.value is None
        assert not ratio.missing
        assert "deeper cut leaves less" in ratio.trouble


class TestMissing:
    @pytest.mark.parametrize(
        ("changes", "what"),
        [
            ({"of_block": {"stroke": None}}, "stroke"),
            ({"of_block": {"gasket": None}}, "gasket bore"),
            ({"of_block": {"rod_length": None}}, "rod length"),
            ({"of_block": {"piston": {"crown_volume": None}}}, "crown volume"),
            ({"of_casting": chambers(volume=None)}, "chamber volume, cylinder 1"),
        ],
    )
    def test_compression_names_it(self, changes: dict[str, Any], what: str) -> None:
        case = trial(**changes)
        ratio = volumes.compression(case, case.cylinders[0])
        assert ratio.value is None
        assert what in [fact.what for fact in ratio.missing]

    def test_trapped_compression_needs_a_cam(self) -> None:
        case = trial()
        trapped = volumes.trapped_compression(case, case.cylinders[0])
        assert [fact.what for fact in trapped.missing] == [
            "crank angle at which the intake valve closes"
        ]

    def test_no_clearance_left_is_trouble(self) -> None:
        case = trial(
            of_build={"cuts": {"head_cut": "12 mm"}}, of_casting=chambers(volume=m("20 cc"))
        )
        ratio = volumes.compression(case, case.cylinders[0])
        assert ratio.value is None
        assert ratio.trouble


@pytest.mark.prop
@given(st.floats(0.0, 4.0), st.floats(0.01, 2.0))
def test_a_deeper_cut_gives_more_compression_in_each_model(first: float, more: float) -> None:
    for case in MODELS:
        ratios = [
            volumes.compression(case, case.cylinders[0], makers.exact(depth * MM)).value
            for depth in (first, first + more)
        ]
        assert ratios[1] > ratios[0]


MODELS = [
    trial(),
    trial(of_casting=chambers(depth=m("16 mm"))),
    trial(of_casting=chambers(pours=pours(("0 mm", "64 cc"), ("2 mm", "54 cc")))),
    trial(
        of_casting=chambers(
            pours=pours(("0 mm", "64 cc"), ("1 mm", "58.5 cc"), ("3 mm", "48.5 cc"))
        )
    ),
]


@pytest.mark.prop
@settings(max_examples=30)
@given(st.floats(0.0, 20.0))
def test_more_doubt_never_moves_the_estimates(factor: float) -> None:
    case = MODELS[0]
    cylinder = case.cylinders[0]

    def looser(fact: Fact) -> Fact:
        return replace(fact, uncertainty=fact.uncertainty * factor)

    loose = replace(
        cylinder,
        bore=looser(cylinder.bore),
        below_deck=looser(cylinder.below_deck),
        crown_volume=looser(cylinder.crown_volume),
        chamber=replace(cylinder.chamber, volume=looser(cylinder.chamber.volume)),
    )
    plain_ratio, loose_ratio = (volumes.compression(case, item) for item in (cylinder, loose))
    assert loose_ratio.value == plain_ratio.value
    if factor >= 1.0:
        assert loose_ratio.uncertainty >= plain_ratio.uncertainty * (1.0 - 1e-6)


class TestImpossible:
    def test_a_volume_without_room_is_a_clash_not_a_figure(self, plain: Trial) -> None:
        cylinder = plain.cylinders[0]
        shallow = replace(cylinder.chamber.depth, value=7 * MM, uncertainty=0.1 * MM)
        clashing = replace(cylinder, chamber=replace(cylinder.chamber, depth=shallow))
        # 64 cc under 55 cm2 is 11.6 mm deep at the least: 7 mm cannot be, 11 mm is an undercut.
        found = volumes.compression(plain, clashing)
        assert found.value is None
        assert "more than its opening times its depth" in found.trouble
        undercut = replace(shallow, value=11 * MM)
        near = replace(cylinder, chamber=replace(cylinder.chamber, depth=undercut))
        assert volumes.compression(plain, near).is_known
        unsure = replace(shallow, uncertainty=2 * MM)
        maybe = replace(cylinder, chamber=replace(cylinder.chamber, depth=unsure))
        assert volumes.compression(plain, maybe).is_known

    def test_beyond_the_model(self, plain: Trial) -> None:
        # Straight walls are taken a third of the mean depth down: 64 cc / 55 cm2 / 3 = 3.88 mm.
        assert volumes.beyond_model(plain.cylinders[0], 3.8 * MM) is False
        assert volumes.beyond_model(plain.cylinders[0], 3.9 * MM) is True
        bare = trial(of_casting={"chambers": None})
        assert volumes.beyond_model(bare.cylinders[0], 1.0 * MM) is None
