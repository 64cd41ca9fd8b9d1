"""What a builder may write for one figure, and why the rest is refused."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from headwright.errors import RecordError
from headwright.quantities import GLOSSARY
from headwright.records import Instrument, Measured, Record
from headwright.records.measured import PROVENANCES, Figure, In
from headwright.records.measurement import InstrumentSpread, evaluate

from .strategies import figures

INCH = 0.0254


class Sheet(Record):
    """A record with a figure of each sort."""

    kind: ClassVar[str] = "sheet"
    title: ClassVar[str] = "Sheet"
    plural: ClassVar[str] = "sheets"

    bore: Annotated[Figure, In("bore")] = None
    below: Annotated[Figure, In("piston_below_deck")] = None
    volume: Annotated[Figure, In("chamber_volume")] = None
    ratio: Annotated[Figure, In("compression_ratio")] = None
    air: Annotated[Figure, In("air_temperature")] = None
    leak: Annotated[Figure, In("leak_down")] = None
    octane: Annotated[Figure, In("motor_octane")] = None
    speed: Annotated[Figure, In("engine_speed")] = None
    price: Annotated[Figure, In("price")] = None


def read(field: str, given: Any, **context: Any) -> Measured:
    """Read one figure of the sheet."""
    figure = getattr(Sheet.read({"tag": "s", field: given}, **context), field)
    assert isinstance(figure, Measured)
    return figure


def refusal(field: str, given: Any, **context: Any) -> str:
    """Return the one line that refuses a figure."""
    with pytest.raises(RecordError) as caught:
        Sheet.read({"tag": "s", field: given}, **context)
    (problem,) = caught.value.problems
    return str(problem)


class TestAccepted:
    @pytest.mark.parametrize(
        ("field", "given", "value", "uncertainty", "provenance"),
        [
            ("bore", "3 in", 3 * INCH, None, "assumed"),
            ("bore", '3"', 3 * INCH, None, "assumed"),
            ("bore", "2 15/16 in", 2.9375 * INCH, None, "assumed"),
            ("bore", "76.2mm (measured)", 0.0762, None, "measured"),
            ("bore", "3.000 in (maker)", 3 * INCH, None, "maker"),
            ("bore", "3.000 in ( Estimated ) ", 3 * INCH, None, "estimated"),
            ("bore", "3.000 in (ASSUMED)", 3 * INCH, None, "assumed"),
            ("bore", "3.000 +/- 0.002 in (measured)", 3 * INCH, 0.002 * INCH, "measured"),
            ("bore", "3.000 in ± 0.05 mm", 3 * INCH, 5e-5, "assumed"),
            ("bore", {"value": "3 in"}, 3 * INCH, None, "assumed"),
            ("bore", {"value": 3, "unit": "in"}, 3 * INCH, None, "assumed"),
            ("bore", {"value": "3", "unit": "in"}, 3 * INCH, None, "assumed"),
            ("bore", {"value": "2 15/16", "unit": "in"}, 2.9375 * INCH, None, "assumed"),
            ("bore", {"value": "3.0 ± 0.002", "unit": "in"}, 3 * INCH, 0.002 * INCH, "assumed"),
            ("bore", {"value": 0.0762, "unit": "m"}, 0.0762, None, "assumed"),
            # A figure that carries its own unit keeps it.
            ("bore", {"value": "76.2 mm", "unit": "in"}, 0.0762, None, "assumed"),
            ("bore", {"value": "3 in", "uncertainty": "0.02 mm"}, 3 * INCH, 2e-5, "assumed"),
            ("bore", {"value": 3, "unit": "in", "uncertainty": 0.1}, 3 * INCH, 0.00254, "assumed"),
            ("bore", {"value": 3, "unit": "in", "uncertainty": "5 um"}, 3 * INCH, 5e-6, "assumed"),
            ("bore", {"value": "3 in", "uncertainty": "0 in"}, 3 * INCH, 0.0, "assumed"),
            ("bore", {"value": "3 in", "provenance": "maker"}, 3 * INCH, None, "maker"),
            # An uncertainty may be smaller than the least bore.
            ("bore", {"value": "3 in", "uncertainty": "1 um"}, 3 * INCH, 1e-6, "assumed"),
            ("below", "-0.010 in (measured)", -0.010 * INCH, None, "measured"),
            ("below", "\N{MINUS SIGN}0.25 mm", -0.00025, None, "assumed"),
            ("volume", "24.1 cc", 24.1e-6, None, "assumed"),
            ("volume", {"value": "24.1 cc", "uncertainty": "200 mm3"}, 24.1e-6, 2e-7, "assumed"),
            ("ratio", "9.2:1", 9.2, None, "assumed"),
            ("ratio", "9.2", 9.2, None, "assumed"),
            ("ratio", 9.2, 9.2, None, "assumed"),
            ("ratio", 9, 9.0, None, "assumed"),
            ("ratio", {"value": 9.2, "uncertainty": 0.05}, 9.2, 0.05, "assumed"),
            # The uncertainty of a temperature is a difference: no zero point is added to it.
            ("air", {"value": "20 °C", "uncertainty": "1 °C"}, 293.15, 1.0, "assumed"),
            ("air", {"value": "68 °F", "uncertainty": "1.8 °F"}, 293.15, 1.0, "assumed"),
            ("air", {"value": "20 °C", "uncertainty": "0.5 K"}, 293.15, 0.5, "assumed"),
            ("air", "20 °C ± 1 °C", 293.15, 1.0, "assumed"),
            ("leak", "8 %", 0.08, None, "assumed"),
            ("octane", "87 MON", 87.0, None, "assumed"),
            ("octane", 87, 87.0, None, "assumed"),
            ("price", "120", 120.0, None, "assumed"),
        ],
    )  # fmt: skip
    def test_form(
        self,
        field: str,
        given: Any,
        value: float,
        uncertainty: float | None,
        provenance: str,
    ) -> None:
        figure = read(field, given)
        assert figure.value == pytest.approx(value, rel=1e-12)
        if uncertainty is None:
            assert figure.uncertainty is None
        else:
            assert figure.uncertainty == pytest.approx(uncertainty, rel=1e-9)
        assert figure.provenance == provenance
        assert figure.unit == GLOSSARY[_quantity_of(field)].si_unit
        assert figure.is_guess is (provenance in {"estimated", "assumed"})

    def test_bare_figures_take_the_unit_of_the_system_asked_for(self) -> None:
        assert read("bore", "3", system="inch").value == pytest.approx(3 * INCH)
        assert read("bore", 76.2, system="metric").value == pytest.approx(0.0762)
        table = {"value": 3, "uncertainty": 0.001}
        assert read("bore", table, system="inch").uncertainty == pytest.approx(0.001 * INCH)

    def test_nothing_is_nothing(self) -> None:
        assert Sheet.read({"tag": "s", "bore": None}).bore is None
        assert Sheet.read({"tag": "s"}).bore is None

    def test_source_and_note_are_kept(self) -> None:
        figure = read("bore", {"value": "3 in", "source": "sheet 4", "note": "two\r\nlines"})
        assert figure.source == "sheet 4"
        assert figure.note == "two\nlines"

    def test_a_figure_already_read(self) -> None:
        figure = Measured(value=0.0762, unit="m", uncertainty=1e-5, provenance="maker")
        assert read("bore", figure) == figure
        assert read("bore", figure.replace(uncertainty=None)).uncertainty is None

    def test_a_figure_already_read_in_another_unit_is_put_into_si(self) -> None:
        assert read("bore", Measured(value=3.0, unit="in")).value == pytest.approx(3 * INCH)

    def test_a_figure_already_read_of_something_else(self) -> None:
        assert "is a volume; this wants a length" in refusal("bore", Measured(value=3.0, unit="cc"))

    @pytest.mark.prop
    @given(st.data(), st.sampled_from(sorted(Sheet.model_fields)))
    def test_reading_stays_in_the_allowed_range(self, data: st.DataObject, field: str) -> None:
        marks = [mark for mark in Sheet.model_fields[field].metadata if isinstance(mark, In)]
        if not marks:
            return
        quantity = marks[0].quantity
        figure = read(field, data.draw(figures(quantity)))
        slack = 1e-9 * max(abs(quantity.low), abs(quantity.high))
        assert quantity.low - slack <= figure.value <= quantity.high + slack
        assert figure.uncertainty is None or figure.uncertainty >= 0.0


def _quantity_of(field: str) -> str:
    (mark,) = (item for item in Sheet.model_fields[field].metadata if isinstance(item, In))
    return mark.name


REFUSED: list[tuple[str, Any, str]] = [
    ("bore", "3", "sheet.bore: '3' has no unit; write it with one, like '2.4900 in'"),
    ("bore", 3.5, "'3.5' has no unit"),
    ("bore", {"value": 3}, "'3' has no unit"),
    ("bore", "", "no figure given"),
    ("bore", "   ", "no figure given"),
    ("bore", "(measured)", "no figure given"),
    ("bore", "three inches", "does not begin with a number"),
    ("bore", "3 in (guess)", "(guess) is no provenance; use one of: measured, maker"),
    ("bore", "76,2 mm", "a comma"),
    ("bore", "76.2 cc", "'76.2 cc' is a volume; this wants a length"),
    ("bore", "3 furlongs", "'furlongs' in '3 furlongs' is not a unit of length"),
    ("bore", "3 mil", "a mil is a thousandth of an inch to some"),
    ("bore", "3 in 4 in", "more than one number"),
    ("bore", "1 m", "above the allowed 0.02 to 0.2 m"),
    ("bore", "0.5 in", "below the allowed"),
    ("bore", "-3 in", "-3 in is below the allowed"),
    ("bore", "nan", "'nan' is not a finite number"),
    ("bore", float("nan"), "'nan' is not a finite number"),
    ("bore", float("-inf"), "'-inf' is not a finite number"),
    ("bore", {"value": float("inf"), "unit": "m"}, "is not a finite number"),
    ("bore", "1e999 in", "too large to hold"),
    ("bore", 10**400, "a whole number of 1329 bits is too large to hold"),
    ("bore", -(10**6000), "is too large to hold"),
    ("bore", True, "True is not a figure; write a number with its unit, like"),
    ("bore", [3], "[3] is not a figure"),
    ("bore", b"3 in", "b'3 in' is not a figure"),
    ("bore", "9" * 5000, "is 5000 characters long; a figure has at most 200"),
    ("bore", "3 in\x00", "is not a unit"),
    ("bore", {}, "neither a value nor readings are given"),
    ("bore", {"unit": "in"}, "neither a value nor readings are given"),
    ("bore", {"val": "3 in"}, "unknown 'val'; allowed: dof, instrument, note"),
    ("bore", {"value": "3 in", 7: 1}, "unknown 7; allowed"),
    ("bore", {"value": [3], "unit": "in"}, "[3] is not a figure"),
    ("bore", {"value": False, "unit": "in"}, "False is not a figure"),
    ("bore", {"value": 3, "unit": 5}, "the unit must be text, not 5"),
    ("bore", {"value": 3, "unit": "cc"}, "is a volume; this wants a length"),
    ("bore", {"value": "3 in", "uncertainty": "-1 mm"}, "uncertainty: -1 mm is below"),
    ("bore", {"value": "3 in", "uncertainty": "1 g"}, "uncertainty: '1 g' is a mass"),
    ("bore", {"value": "3 in", "uncertainty": 0.1}, "uncertainty: '0.1' has no unit"),
    ("bore", {"value": "3 in", "uncertainty": True}, "uncertainty: True is not a figure"),
    ("bore", {"value": "3 in", "uncertainty": "nan mm"}, "not a finite number"),
    ("bore", {"value": "3 in", "uncertainty": "1 ± 1 mm"}, "has one of its own"),
    ("bore", {"value": "3 ± .1 in", "uncertainty": "1 mm"}, "uncertainty is given twice"),
    ("bore", "3 in ± 9 in", "spans the whole allowed range"),
    ("bore", {"value": "3 in", "provenance": "me"}, "sheet.bore.provenance: 'me' is not"),
    ("bore", {"value": "3 in", "provenance": 3}, "sheet.bore.provenance: 3 is not one of"),
    ("bore", {"value": "3 in", "dof": "many"}, "sheet.bore.dof: 'many' must be a number"),
    ("bore", {"value": "3 in", "dof": 0}, "sheet.bore.dof: 0 must be above 0"),
    ("bore", {"value": "3 in", "dof": True}, "sheet.bore.dof: True must be a number"),
    ("bore", {"value": "3 in", "dof": float("inf")}, "inf must be a finite number"),
    ("bore", {"value": "3 in", "instrument": "a b"}, "sheet.bore.instrument: 'a b' is not"),
    ("bore", {"value": "3 in", "source": 5}, "sheet.bore.source: 5 must be text"),
    ("bore", {"value": "3 in", "source": "a\x07"}, "control characters are not allowed"),
    ("bore", {"value": "3 in", "source": "a\nb"}, "must stand on one line"),
    ("bore", {"value": "3 in", "note": "\ud800"}, "characters that cannot be written"),
    ("bore", {"value": "3 in", "note": "x" * 8001}, "too long: at most 8000 characters"),
    ("bore", {"readings": "3 in"}, "readings must be a list of figures, not '3 in'"),
    ("bore", {"readings": {"a": 1}}, "readings must be a list of figures"),
    ("bore", {"readings": []}, "neither a value nor readings are given"),
    ("bore", {"readings": ["3 in", "3"]}, "sheet.bore: readings[1]: '3' has no unit"),
    ("bore", {"readings": ["3 in", None]}, "readings[1]: None is not a figure"),
    ("bore", {"readings": ["3 in", "9 in"]}, "readings[1]: 9 in is above the allowed"),
    ("bore", {"readings": [3] * 201, "unit": "in"}, "201 readings; at most 200"),
    ("volume", "24.1", "'24.1' has no unit"),
    ("volume", "24 oz", "fluid ounces differ between countries"),
    ("air", "20 deg", "degrees of which scale? write °C or °F"),
    ("air", {"value": "20 °C", "uncertainty": "-1 °C"}, "below the allowed 0"),
    ("ratio", "9.2 in", "is a length; this wants a ratio"),
    ("ratio", "0.9:1", "below the allowed"),
    ("leak", 1.0, "may mean 1 % or 100 %"),
    ("octane", "95 RON", "another scale, which does not convert"),
    ("speed", "6500", "'6500' has no unit"),
    ("price", "£120", "leave the currency sign out"),
]  # fmt: skip


class TestRefused:
    @pytest.mark.parametrize(
        ("field", "given", "message"), REFUSED, ids=[row[2][:40] for row in REFUSED]
    )
    def test_message(self, field: str, given: Any, message: str) -> None:
        assert message in refusal(field, given)

    def test_the_path_stands_first(self) -> None:
        assert refusal("below", "x").startswith("sheet.below: ")

    def test_all_problems_are_told_at_once(self) -> None:
        with pytest.raises(RecordError) as caught:
            Sheet.read({"tag": "?", "bore": "9 m", "volume": "24", "bor": 1, "air": "20 C (felt)"})
        assert [problem.path for problem in caught.value.problems] == [
            "sheet.tag",
            "sheet.bore",
            "sheet.volume",
            "sheet.air",
            "sheet.bor",
        ]
        assert str(caught.value).startswith("5 problems:\n  sheet.tag: '?' is not a tag")

    def test_a_near_miss_in_a_name_is_pointed_out(self) -> None:
        assert refusal("bor", 1) == "sheet.bor: no such field here; did you mean 'bore'?"
        assert refusal("zzzz", 1) == "sheet.zzzz: no such field here"


CALIPER = {
    "tag": "caliper-1",
    "measures": "length",
    "length_resolution": "0.01 mm (maker)",
    "length_calibration": "0.012 mm (maker)",
    "coverage_factor": 2.0,
    "calibration_dof": 30,
}


class TestReadings:
    def test_scatter_alone(self) -> None:
        # Mean and standard deviation of the mean of 24.1, 24.3 and 24.2 cc, by hand:
        # s = 0.1, u = 0.1 / sqrt(3) = 0.057735 cc, 2 degrees of freedom.
        figure = read("volume", {"readings": ["24.1 cc", "24.3 cc", "24.2 cc"]})
        assert figure.value == pytest.approx(24.2e-6)
        assert figure.uncertainty == pytest.approx(0.0577350e-6, rel=1e-5)
        assert figure.dof == pytest.approx(2.0)
        assert figure.provenance == "measured"
        assert figure.readings == pytest.approx((24.1e-6, 24.3e-6, 24.2e-6))

    def test_readings_in_one_unit_or_each_in_its_own(self) -> None:
        one = read("volume", {"readings": [24.1, 24.3], "unit": "cc"})
        own = read("volume", {"readings": ["24.1 ml", "24300 mm3"]})
        assert one.readings == pytest.approx(own.readings)

    def test_instrument_adds_its_doubt(self) -> None:
        caliper = Instrument.read(CALIPER)
        table = {"readings": ["76.20 mm", "76.21 mm", "76.20 mm"], "instrument": "caliper-1"}
        figure = read("bore", table, instruments={"caliper-1": caliper})
        # By hand: scatter 0.0033333 mm (2), resolution 0.01 / sqrt(12) = 0.0028868 mm,
        # calibration 0.012 / 2 = 0.006 mm (30): u = 0.0074461 mm, nu = 29.30.
        assert figure.uncertainty == pytest.approx(0.0074461e-3, rel=1e-4)
        assert figure.dof == pytest.approx(29.297, abs=0.001)
        assert figure.instrument == "caliper-1"

    def test_one_reading_with_an_instrument(self) -> None:
        caliper = Instrument.read({**CALIPER, "length_calibration": None})
        table = {"readings": ["76.20 mm"], "instrument": "caliper-1"}
        figure = read("bore", table, instruments={"caliper-1": caliper})
        assert figure.uncertainty == pytest.approx(0.01e-3 / 12**0.5)
        assert figure.dof is None

    def test_an_instrument_of_another_quantity_is_refused(self) -> None:
        caliper = Instrument.read(CALIPER)
        table = {"readings": ["24.1 cc", "24.3 cc"], "instrument": "caliper-1"}
        said = refusal("volume", table, instruments={"caliper-1": caliper})
        assert "'caliper-1' measures length and this is a volume" in said

    def test_an_unknown_instrument_leaves_the_scatter(self) -> None:
        table = {"readings": ["24.1 cc", "24.3 cc"], "instrument": "burette"}
        assert read("volume", table, instruments={}).uncertainty == pytest.approx(0.1e-6)

    def test_one_reading_alone_or_readings_that_agree(self) -> None:
        for readings in (["24.1 cc"], ["24.1 cc"] * 4):
            figure = read("volume", {"readings": readings})
            assert figure.uncertainty is None
            assert figure.dof is None

    def test_an_uncertainty_given_by_hand_wins(self) -> None:
        table = {"readings": ["24.1 cc", "24.3 cc"], "uncertainty": "0.5 cc"}
        figure = read("volume", table)
        assert figure.uncertainty == pytest.approx(0.5e-6)
        assert figure.dof is None

    def test_a_corrected_value_keeps_its_readings(self) -> None:
        figure = read("volume", {"readings": ["24.1 cc", "24.3 cc"], "value": "24.0 cc"})
        assert figure.value == pytest.approx(24.0e-6)
        assert figure.uncertainty == pytest.approx(0.1e-6)
        assert figure.provenance == "measured"

    def test_stored_figures_are_not_evaluated_twice(self) -> None:
        caliper = Instrument.read(CALIPER)
        table = {"readings": ["76.20 mm", "76.21 mm"], "instrument": "caliper-1"}
        figure = read("bore", table, instruments={"caliper-1": caliper})
        stored = figure.model_dump()
        assert read("bore", stored) == figure
        assert read("bore", stored, instruments={"caliper-1": caliper}) == figure

    @pytest.mark.prop
    @given(
        st.floats(0.03, 0.19),
        st.lists(st.floats(-0.02, 0.02), min_size=1, max_size=20),
        st.floats(1e-7, 1e-4),
        st.floats(1e-7, 1e-4),
        st.floats(1.0, 4.0),
    )
    def test_agrees_with_the_evaluation(
        self,
        bore: float,
        scatter: list[float],
        resolution: float,
        calibration: float,
        factor: float,
    ) -> None:
        readings = [bore * (1.0 + part) for part in scatter]
        caliper = Instrument.read(
            {
                "tag": "c",
                "measures": "length",
                "length_resolution": f"{resolution!r} m",
                "length_calibration": f"{calibration!r} m",
                "coverage_factor": factor,
                "calibration_dof": 9.0,
            }
        )
        figure = read(
            "bore",
            {"readings": readings, "unit": "m", "instrument": "c"},
            instruments={"c": caliper},
        )
        wanted = evaluate(readings, InstrumentSpread(resolution, calibration / factor, 9.0))
        assert figure.value == wanted.value
        assert figure.uncertainty == wanted.uncertainty
        assert figure.dof == wanted.dof


class TestMeasured:
    def test_provenances(self) -> None:
        assert PROVENANCES == ("measured", "maker", "estimated", "assumed")

    @pytest.mark.parametrize(
        "fields",
        [
            {"value": float("nan"), "unit": "m"},
            {"value": True, "unit": "m"},
            {"value": "1", "unit": "m"},
            {"value": 1.0},
            {"value": 1.0, "unit": "m", "uncertainty": -1.0},
            {"value": 1.0, "unit": "m", "uncertainty": float("inf")},
            {"value": 1.0, "unit": "m", "dof": -1.0},
            {"value": 1.0, "unit": "m", "readings": (float("inf"),)},
            {"value": 1.0, "unit": "m", "readings": (1.0,) * 201},
            {"value": 1.0, "unit": "m", "colour": "red"},
        ],
    )
    def test_refuses(self, fields: dict[str, Any]) -> None:
        with pytest.raises(ValidationError):
            Measured(**fields)

    def test_cannot_be_changed(self) -> None:
        figure = Measured(value=1.0, unit="m")
        with pytest.raises(ValidationError):
            figure.value = 2.0
        assert figure.replace(value=2.0).value == 2.0
        assert figure.value == 1.0

    def test_dumps_only_what_is_set(self) -> None:
        assert Measured(value=9.2, unit="").model_dump() == {
            "value": 9.2,
            "unit": "",
            "provenance": "assumed",
        }
