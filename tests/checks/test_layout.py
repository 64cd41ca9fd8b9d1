"""Bridges, gaps and metal left, on centres chosen here."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemble import makers
from assemble.makers import IN, m, trial
from headwright.assemble import Trial
from headwright.checks import layout

MM = 1e-3


def head(spacing: float, intake: float, exhaust: float, insert_over: float | None = None) -> Trial:
    """Make a trial whose valves stand so far apart [in], of these diameters [in].

    With ``insert_over`` both have inserts that much larger than the valve [in].
    """
    valves = []
    for number in range(1, 5):
        centre = (number - 1) * makers.SPACING_MM
        for side, diameter, sign in (("intake", intake, -1.0), ("exhaust", exhaust, 1.0)):
            valve: dict[str, Any] = {
                "cylinder": number,
                "side": side,
                "x": m(f"{centre + sign * spacing / 2.0 * 25.4} mm", "0.02 mm"),
                "y": m("0 mm", "0.02 mm"),
                "head_diameter": m(f"{diameter} in", "0.001 in"),
            }
            if insert_over is not None:
                valve["insert"] = True
                valve["insert_diameter"] = m(f"{diameter + insert_over} in", "0.001 in")
            valves.append(valve)
    return trial(of_casting={"valves": valves})


def bridge_in(case: Trial) -> float:
    value = layout.bridge(case.cylinders[0].intake, case.cylinders[0].exhaust).value
    assert value is not None
    return value / IN


class TestBridge:
    @pytest.mark.reference
    def test_seats_in_the_iron_itself(self) -> None:
        # Centres 1.36 in apart: 1.36 - (1.475 + 1.22) / 2 = 0.0125 in. Common practice, no
        # source: on a small iron four these two valves all but touch at the original centres.
        assert bridge_in(head(1.36, 1.475, 1.22)) == pytest.approx(0.0125, abs=1e-9)

    @pytest.mark.reference
    def test_wider_centres_and_a_smaller_intake_gain_their_sum(self) -> None:
        # 0.060 in wider with a 1.45 instead of a 1.475 in intake: 0.060 + 0.025 / 2 = 0.0725 in.
        # The case is common practice, no source; the sum is geometry.
        before = bridge_in(head(1.36, 1.475, 1.22))
        after = bridge_in(head(1.42, 1.45, 1.22))
        assert after - before == pytest.approx(0.0725, abs=1e-9)

    @pytest.mark.parametrize("wider", [0.050, 0.060])
    def test_inserts_want_the_centres_wider(self, wider: float) -> None:
        # Common practice, no source: inserts ask for 0.050 to 0.060 in more between centres.
        # Inserts 0.055 in over the valve take exactly what that gives back.
        without = bridge_in(head(1.36, 1.475, 1.22))
        assert bridge_in(head(1.36, 1.475, 1.22, 0.055)) < 0.0 < without
        assert bridge_in(head(1.36 + wider, 1.475, 1.22, wider)) == pytest.approx(without)

    @pytest.mark.reference
    def test_uncertainty_of_the_bridge(self) -> None:
        # In line: both centres count fully, both diameters half.
        case = head(1.36, 1.475, 1.22)
        found = layout.bridge(case.cylinders[0].intake, case.cylinders[0].exhaust)
        expected = math.hypot(0.02 * MM, 0.02 * MM, 0.0005 * IN, 0.0005 * IN)
        assert found.uncertainty == pytest.approx(expected, rel=1e-5)

    def test_an_insert_on_one_side_only_counts_there(self) -> None:
        case = trial(of_build={"intake": {"insert": True, "insert_diameter": "51 mm"}})
        first = case.cylinders[0]
        # 48 mm between centres, insert 51, exhaust seat 40 in the iron.
        assert layout.bridge(first.intake, first.exhaust).value == pytest.approx(2.5 * MM)

    def test_between_neighbours_the_narrowest_is_taken(self) -> None:
        # Exhaust 1 at +24, intake 2 at 115 - 24: 67 mm apart, less 44.
        found = layout.neighbour_bridges(trial())
        assert [name for name, *_ in found] == [f"exhaust {n} to intake {n + 1}" for n in (1, 2, 3)]
        assert [gap.value for *_, gap in found] == pytest.approx([23.0 * MM] * 3)

    def test_an_unknown_centre_is_named(self) -> None:
        valves = makers.casting_body()["valves"]
        del valves[1]["x"]
        case = trial(of_casting={"valves": valves})
        found = layout.bridge(case.cylinders[0].intake, case.cylinders[0].exhaust)
        assert [fact.what for fact in found.missing] == ["valve centre x, exhaust 1"]

    @pytest.mark.prop
    @settings(max_examples=25)
    @given(st.floats(1.2, 1.6), st.floats(1.0, 1.6), st.floats(0.001, 0.2))
    def test_a_larger_valve_leaves_less_metal_and_less_air(
        self, spacing: float, diameter: float, more: float
    ) -> None:
        small, large = head(spacing, diameter, 1.1), head(spacing, diameter + more, 1.1)
        assert bridge_in(large) < bridge_in(small)
        gaps = [
            layout.valve_to_bore(case.cylinders[0], case.cylinders[0].intake).value
            for case in (small, large)
        ]
        assert gaps[1] < gaps[0]


class TestBoreGap:
    @pytest.mark.reference
    def test_by_hand(self) -> None:
        # Bore 101.6 at the origin, intake 48 mm at -24: 50.8 - 24 - 24; exhaust 40 mm at +24.
        first = trial().cylinders[0]
        assert layout.valve_to_bore(first, first.intake).value == pytest.approx(2.8 * MM)
        assert layout.valve_to_bore(first, first.exhaust).value == pytest.approx(6.8 * MM)

    @pytest.mark.reference
    def test_off_the_centre_line(self) -> None:
        # Centre at (-20, 15): 25 mm from the bore's centre (3-4-5 triangle).
        valves = makers.casting_body()["valves"]
        valves[0] |= {"x": m("-20 mm"), "y": m("15 mm")}
        first = trial(of_casting={"valves": valves}).cylinders[0]
        assert layout.valve_to_bore(first, first.intake).value == pytest.approx(1.8 * MM)


class TestRest:
    @pytest.mark.reference
    def test_squish_deck_and_thickness(self) -> None:
        case = trial(of_build={"cuts": {"head_cut": "1.5 mm", "deck_cut": "0.30 mm"}})
        first = case.cylinders[0]
        # 0.254 + 1.0 - 0.30; above the deck by 0.30 - 0.254; 100 - 1.5.
        assert layout.squish(case, first).value == pytest.approx(0.954 * MM)
        assert layout.piston_above_deck(case, first).value == pytest.approx(0.046 * MM)
        assert layout.thickness_left(case).value == pytest.approx(98.5 * MM)
        assert layout.squish(case, first).uncertainty == pytest.approx(
            math.hypot(0.01, 0.02) * MM, rel=1e-6
        )

    def test_the_head_cut_does_not_touch_the_squish(self) -> None:
        plain, cut = trial(), trial(of_build={"cuts": {"head_cut": "2 mm"}})
        assert (
            layout.squish(plain, plain.cylinders[0]).value
            == layout.squish(cut, cut.cylinders[0]).value
        )

    @pytest.mark.reference
    def test_mean_piston_speed(self) -> None:
        # Stroke 88.9 mm at 7000 rpm: 2 S n = 20.74333 m/s.
        assert layout.mean_piston_speed(trial()).value == pytest.approx(20.74333, abs=5e-6)

    @pytest.mark.prop
    @given(st.floats(0.0, 10.0), st.floats(0.01, 2.0))
    def test_a_deeper_cut_leaves_a_thinner_casting(self, depth: float, more: float) -> None:
        case = trial()
        left = [
            layout.thickness_left(case, makers.exact(cut * MM)).value
            for cut in (depth, depth + more)
        ]
        assert left[1] < left[0]
