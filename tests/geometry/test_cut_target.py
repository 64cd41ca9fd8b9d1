"""The cut a compression ratio needs: round trips, limits, and uncertainty by two routes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.chamber_cut import CurveModel, FaceAreaModel, TwoPourModel
from headwright.geometry.cut_target import cut_for_ratio, ratio_after_cut, uncertain_cut
from headwright.geometry.propagate import monte_carlo

POURS = TwoPourModel(0.0, 36e-6, 0.002, 28e-6)
SWEPT, REST = 360e-6, 6e-6


@pytest.mark.reference
def test_worked_by_hand() -> None:
    # Clearance for 11:1 from 360 cc is 36 cc; less 6 cc leaves a 30 cc chamber: 6 cc to lose at
    # 4 cc a millimetre.
    assert cut_for_ratio(POURS, 11.0, SWEPT, REST) == pytest.approx(0.0015, rel=1e-12)
    assert ratio_after_cut(POURS, 0.0015, SWEPT, REST) == pytest.approx(11.0, rel=1e-12)


@pytest.mark.prop
@given(st.floats(0.0, 0.004))
def test_ratio_and_cut_undo_each_other(cut: float) -> None:
    ratio = ratio_after_cut(POURS, cut, SWEPT, REST)
    assert cut_for_ratio(POURS, ratio, SWEPT, REST) == pytest.approx(cut, abs=1e-12)


def test_limits_are_named_as_ratios() -> None:
    # Uncut 1 + 360/42 = 9.571, at the deepest cut 1 + 360/26 = 14.85.
    with pytest.raises(QuantityError, match=r"9\.571 \(uncut\) to 14\.85.*open the chamber out"):
        cut_for_ratio(POURS, 9.0, SWEPT, REST)
    with pytest.raises(QuantityError, match=r"is 16; .*greater depth.*thinner gasket"):
        cut_for_ratio(POURS, 16.0, SWEPT, REST)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("model", "spread"),
    [
        (POURS, {"first_volume": 0.1e-6, "second_volume": 0.15e-6, "second_cut": 1e-5}),
        (
            FaceAreaModel(36e-6, 4e-3, 0.1, 0.003),
            {"volume": 0.1e-6, "face_area": 3e-5, "area_taper": 0.02},
        ),
    ],
)
def test_first_order_against_sampling(model: object, spread: dict[str, float]) -> None:
    assert isinstance(model, (TwoPourModel, FaceAreaModel))
    ours = uncertain_cut(model, 30e-6, spread, volume_uncertainty=0.05e-6)
    rest = model.measurements()

    def cut(wanted: float, **figures: float) -> float:
        return float(model.with_measurements(**figures).cut_unlimited(wanted))  # type: ignore[attr-defined]

    sampled = monte_carlo(
        cut,
        rest | {"wanted": 30e-6},
        spread | {"wanted": 0.05e-6},
        20_000,
        4,
        takes_arrays=False,
    )
    # A standard deviation from 20 000 samples is good to 0.5 %; four times that.
    assert sampled.uncertainty == pytest.approx(ours.uncertainty, rel=0.02)
    assert "wanted_volume" in ours.contributions


def test_extrapolation_costs_certainty() -> None:
    spread = {"first_volume": 0.1e-6, "second_volume": 0.1e-6}
    inside = uncertain_cut(POURS, 32e-6, spread).uncertainty
    beyond = uncertain_cut(POURS, 20e-6, spread).uncertainty
    assert beyond > 3.0 * inside  # sqrt(1 + 4) against sqrt(0.25 + 0.25)


def test_metal_to_be_added_is_negative() -> None:
    assert uncertain_cut(POURS, 38e-6, {}).value == pytest.approx(-0.0005)


def test_curve_points_have_their_share() -> None:
    curve = CurveModel((0.0, 0.001, 0.002), (36e-6, 32e-6, 28.5e-6))
    result = uncertain_cut(curve, 32e-6, dict.fromkeys(("volume_0", "volume_1"), 0.1e-6))
    assert abs(result.contributions["volume_1"]) > 10.0 * abs(result.contributions["volume_0"])


def test_unknown_measurement() -> None:
    with pytest.raises(InputError, match="face_area: no argument of that name"):
        uncertain_cut(POURS, 32e-6, {"face_area": 1e-5})
