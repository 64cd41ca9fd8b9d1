"""Chamber volume against cut: solids of known volume, inverses, limits and honesty about them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from headwright.errors import InputError, QuantityError
from headwright.geometry.chamber_cut import (
    ChamberCutModel,
    CurveModel,
    FaceAreaModel,
    TwoPourModel,
)

FACE = FaceAreaModel(36e-6, 4.0e-3, 0.05, 0.003)
POURS = TwoPourModel(0.0, 36e-6, 0.002, 28e-6)
CURVE = CurveModel((0.0, 0.001, 0.002, 0.0035), (36e-6, 32e-6, 28.4e-6, 23.5e-6))
MODELS = [FACE, POURS, CURVE]


@pytest.mark.reference
def test_straight_walls_lose_area_times_depth() -> None:
    # A prism: 0.25 mm off 40 cm2 is exactly 1 cc.
    model = FaceAreaModel(36e-6, 4.0e-3, wall_depth=0.003)
    assert model.volume_after(0.00025) == pytest.approx(35e-6, rel=1e-14)
    assert model.cut_for(35e-6) == pytest.approx(0.00025, rel=1e-12)


@pytest.mark.reference
def test_wedge_shaped_trough_is_exact() -> None:
    # A trough of length 80 mm whose width falls steadily from 50 to 20 mm over 12 mm depth: its
    # area falls linearly, so volume, outline and depth give it back exactly. The remainder after a
    # cut z is a trough of depth 12 - z mm: mean width times length times depth.
    volume = 0.080 * 0.012 * (0.050 + 0.020) / 2.0
    model = FaceAreaModel.from_outline_and_depth(0.080 * 0.050, 0.012, volume)
    for cut in (0.0, 0.001, 0.0039):
        width = 0.050 - 0.030 * cut / 0.012
        left = 0.080 * (0.012 - cut) * (width + 0.020) / 2.0
        assert model.volume_after(cut) == pytest.approx(left, rel=1e-12)
    assert model.deepest_cut == pytest.approx(0.004)


@pytest.mark.reference
def test_draft_on_a_round_chamber() -> None:
    # Frustum of a cone, radius r at the face leaning in at angle d: removed volume is
    # pi h / 3 (r^2 + r s + s^2), s = r - h tan d. The steady taper leaves out the term in h^3:
    # pi h^3 tan^2 d / 3, 0.3 mm3 of 7.5 cm3 here.
    radius, draft, cut = 0.035, math.radians(15.0), 0.002
    model = FaceAreaModel.from_draft(
        40e-6, math.pi * radius**2, 2.0 * math.pi * radius, draft, 0.003
    )
    inner = radius - cut * math.tan(draft)
    removed = math.pi * cut / 3.0 * (radius**2 + radius * inner + inner**2)
    left_out = math.pi * cut**3 * math.tan(draft) ** 2 / 3.0
    assert 40e-6 - model.volume_after(cut) == pytest.approx(removed - left_out, rel=1e-12)


@pytest.mark.reference
def test_curve_meets_its_points_and_a_known_solid() -> None:
    # Spherical-cap chamber, radius of sphere 60 mm, 14 mm deep: V(h) = pi h^2 (3 R - h) / 3.
    def cap(depth: float) -> float:
        return math.pi * depth**2 * (0.180 - depth) / 3.0

    cuts = (0.0, 0.001, 0.002, 0.003, 0.004)
    model = CurveModel(cuts, [cap(0.014 - cut) for cut in cuts])
    for cut in cuts:
        assert model.volume_after(cut) == pytest.approx(cap(0.014 - cut), rel=1e-12)
    # Between points the cubic is good to its order: 0.02 cc of 34 cc.
    for cut in (0.0005, 0.0015, 0.0025, 0.0035):
        assert model.volume_after(cut) == pytest.approx(cap(0.014 - cut), abs=0.02e-6)


@pytest.mark.prop
@pytest.mark.parametrize("model", MODELS)
@given(part=st.floats(0.0, 1.0))
def test_volume_and_cut_undo_each_other(model: ChamberCutModel, part: float) -> None:
    cut = part * model.deepest_cut
    volume = model.volume_after(cut)
    assert model.smallest_volume <= volume <= model.present_volume
    assert model.cut_for(volume) == pytest.approx(cut, abs=1e-14)


@pytest.mark.prop
@pytest.mark.parametrize("model", MODELS)
@given(cut=st.floats(-0.002, 0.004))
def test_unlimited_forms_undo_each_other(model: ChamberCutModel, cut: float) -> None:
    assert model.cut_unlimited(model.volume_unlimited(cut)) == pytest.approx(cut, abs=1e-14)


@pytest.mark.prop
@pytest.mark.parametrize("model", MODELS)
@given(first=st.floats(-0.002, 0.004), second=st.floats(-0.002, 0.004))
def test_deeper_leaves_less(model: ChamberCutModel, first: float, second: float) -> None:
    low, high = sorted((first, second))
    assert model.volume_unlimited(high) <= model.volume_unlimited(low)


@pytest.mark.prop
@pytest.mark.parametrize("model", MODELS)
def test_arrays_and_floats_agree(model: ChamberCutModel) -> None:
    cuts = np.array([-0.0005, 0.0, 0.0011, 0.0021, 0.0045])
    volumes = model.volume_unlimited(cuts)
    assert volumes == pytest.approx([model.volume_unlimited(float(cut)) for cut in cuts])
    assert model.cut_unlimited(volumes) == pytest.approx(cuts, abs=1e-14)


@pytest.mark.reference
def test_uncertain_values_pass_through() -> None:
    # A line through two pours by the uncertainties package; the closed form beside it.
    pours = TwoPourModel(0.0, ufloat(36e-6, 0.1e-6), ufloat(0.002, 1e-5), ufloat(28e-6, 0.1e-6))
    cut = pours.cut_unlimited(30e-6)
    area = 8e-6 / 0.002
    by_hand = math.hypot(0.1e-6 / area * (1.0 - 0.75), 0.1e-6 / area * 0.75, 1e-5 * 6e-6 / 8e-6)
    assert cut.nominal_value == pytest.approx(0.0015, rel=1e-12)
    assert cut.std_dev == pytest.approx(by_hand, rel=1e-9)
    walls = FaceAreaModel(ufloat(36e-6, 0.1e-6), ufloat(4e-3, 2e-5), 0.0, 0.003)
    assert walls.cut_unlimited(32e-6).std_dev == pytest.approx(
        math.hypot(0.1e-6 / 4e-3, 1e-3 * 2e-5 / 4e-3), rel=1e-9
    )


@pytest.mark.prop
def test_fields_may_be_samples() -> None:
    volumes = np.array([36.0e-6, 36.2e-6])
    pours = TwoPourModel(0.0, volumes, 0.002, np.array([28.0e-6, 27.9e-6]))  # type: ignore[arg-type]
    walls = FaceAreaModel(volumes, np.array([4.0e-3, 4.1e-3]), 0.05, 0.003)  # type: ignore[arg-type]
    second = (
        TwoPourModel(0.0, 36.2e-6, 0.002, 27.9e-6),
        FaceAreaModel(36.2e-6, 4.1e-3, 0.05, 0.003),
    )
    for many, one in zip((pours, walls), second, strict=True):
        assert many.cut_unlimited(31e-6)[1] == pytest.approx(one.cut_unlimited(31e-6), rel=1e-13)


@pytest.mark.parametrize("model", MODELS)
def test_the_limits_themselves_are_within_reach(model: ChamberCutModel) -> None:
    assert model.cut_for(model.present_volume) == 0.0
    assert model.cut_for(model.present_volume * (1.0 + 1e-12)) == 0.0
    assert model.cut_for(model.smallest_volume * (1.0 - 1e-12)) == model.deepest_cut


@pytest.mark.parametrize("model", MODELS)
def test_measurements_rebuild_the_model(model: ChamberCutModel) -> None:
    assert model.with_measurements(**model.measurements()) == model


def test_extrapolation_is_admitted() -> None:
    assert not POURS.extrapolates(0.002)
    assert POURS.extrapolates(0.0021)
    assert POURS.deepest_cut == pytest.approx(0.004)
    assert TwoPourModel(0.001, 36e-6, 0.002, 28e-6).extrapolates(0.0)
    assert TwoPourModel(0.0, 36e-6, 0.008, 4e-6).deepest_cut == pytest.approx(0.0089)
    assert not FACE.extrapolates(0.003)
    assert FACE.extrapolates(0.0031)
    assert FaceAreaModel(36e-6, 4e-3).deepest_cut == pytest.approx(0.003)
    assert not CURVE.extrapolates(0.0035)
    assert CURVE.extrapolates(0.0036)


@pytest.mark.parametrize("model", MODELS)
def test_out_of_reach_names_the_limit(model: ChamberCutModel) -> None:
    with pytest.raises(QuantityError, match=r"volume: is 3\.7e-05 m3; the chamber holds only"):
        model.cut_for(37e-6)
    with pytest.raises(QuantityError, match="deepest cut covered"):
        model.cut_for(10e-6)
    with pytest.raises(QuantityError, match="Metal can only be removed"):
        model.volume_after(-0.0001)
    with pytest.raises(QuantityError, match="must be at most"):
        model.volume_after(0.006)
    with pytest.raises(QuantityError, match="cut: is nan m"):
        model.volume_after(math.nan)
    with pytest.raises(QuantityError, match="volume: is 0 m3"):
        model.cut_for(0.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: FaceAreaModel(0.0, 4e-3), "volume: is 0 m3"),
        (lambda: FaceAreaModel(36e-6, -4e-3), "face_area: is -0.004 m2"),
        (lambda: FaceAreaModel(36e-6, 4e-3, math.nan), "area_taper"),
        (lambda: FaceAreaModel(36e-6, 4e-3, 0.0, 0.0), "wall_depth"),
        (lambda: FaceAreaModel(36e-6, 4e-3, 2.0, 0.003), "must be less than 1.33333 m2/m"),
        (lambda: FaceAreaModel(36e-6, 4e-3, 0.0, 0.0095), "more than the whole volume"),
        (
            lambda: FaceAreaModel(36e-6, 4e-3, 1.0, 0.003).cut_unlimited(1e-6),
            "less than these tapering walls leave",
        ),
        (lambda: FaceAreaModel.from_outline_and_depth(4e-3, 0.012, 60e-6), "against each other"),
        (lambda: FaceAreaModel.from_outline_and_depth(4e-3, 0.012, 10e-6), "against each other"),
        (lambda: FaceAreaModel.from_draft(36e-6, 4e-3, 0.22, 1.5), "between -1.4 and 1.4 rad"),
        (lambda: FaceAreaModel.from_draft(36e-6, 4e-3, 0.0, 0.1), "perimeter"),
        (lambda: TwoPourModel(0.002, 36e-6, 0.002, 28e-6), "greater than first_cut"),
        (lambda: TwoPourModel(0.0, 28e-6, 0.002, 36e-6), "check which pour is which"),
        (lambda: TwoPourModel(0.0, 36e-6, math.nan, 28e-6), "second_cut: is nan m"),
        (lambda: CurveModel((0.0, 0.001), (36e-6, 32e-6)), "needs 3 or more"),
        (lambda: CurveModel((0.0, 0.001, 0.002), (36e-6, 32e-6)), "one volume for each depth"),
        (lambda: CurveModel((0.0, 0.001, 0.001), (36e-6, 32e-6, 30e-6)), "cuts[2]"),
        (lambda: CurveModel((0.0, 0.001, 0.002), (36e-6, 32e-6, 33e-6)), "volumes[2]"),
        (lambda: CurveModel((0.0, 0.001, 0.002), (36e-6, 32e-6, -1e-6)), "volumes[2]"),
    ],
)
def test_contradictory_figures(call: object, words: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert words in str(caught.value)
