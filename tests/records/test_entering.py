"""What is asked of figures on the day they are entered."""

from __future__ import annotations

from typing import Any

import pytest

from headwright.errors import RecordError
from headwright.records import read_record
from headwright.records.entering import unknown_instruments
from headwright.records.shop import Instrument

CASTING: dict[str, Any] = {
    "kind": "casting", "tag": "a", "family": "f", "sort": "s", "material": "iron",
    "condition": "used", "cylinders": 2,
}  # fmt: skip
BLOCK: dict[str, Any] = {
    "kind": "short_block", "tag": "b", "family": "f", "cylinders": [{"cylinder": 1}],
}  # fmt: skip
BURETTE = Instrument.read({"tag": "burette", "measures": "volume", "volume_resolution": "0.1 cc"})
VALVE = "casting.valves[0].head_diameter"


def entered(body: dict[str, Any], system: str = "metric") -> None:
    read_record(body, instruments={"burette": BURETTE}, system=system)


def told(body: dict[str, Any], system: str = "metric") -> list[str]:
    with pytest.raises(RecordError) as caught:
        entered(body, system)
    return [str(problem) for problem in caught.value.problems]


def head(given: Any) -> dict[str, Any]:
    return CASTING | {"valves": [{"cylinder": 1, "side": "intake", "head_diameter": given}]}


def thickness(given: Any) -> dict[str, Any]:
    return CASTING | {"thickness_now": given}


EXPLAINABLE: list[tuple[Any, dict[str, Any], str]] = [
    (
        thickness,
        {"value": "70 mm", "readings": ["79 mm"]},
        "casting.thickness_now: the value is 70.00 mm but its reading says 79.00 mm",
    ),
    (
        thickness,
        {"value": "70 mm", "readings": ["79 mm", "79.2 mm"]},
        "casting.thickness_now: the value is 70.00 mm but the mean of its readings is 79.10 mm",
    ),
    (
        head,
        {"readings": ["1 in", "2 in"]},
        f"{VALVE}: readings of 25.40 mm and 50.80 mm are too far apart",
    ),
    (
        head,
        {"value": "36 mm", "uncertainty": "72 mm", "provenance": "assumed"},
        f"{VALVE}: 36.00 ± 72.00 mm is a doubt of 200 %",
    ),
    (
        head,
        {"value": "36 mm", "uncertainty": "9 mm", "provenance": "measured"},
        f"{VALVE}: 36.00 ± 9.00 mm is a doubt of 25 %",
    ),
]


@pytest.mark.parametrize(("place", "figure", "message"), EXPLAINABLE)
def test_refused_when_entered(place: Any, figure: dict[str, Any], message: str) -> None:
    (problem,) = told(place(figure))
    assert problem.startswith(message)
    assert "say in the figure's note why" in problem


@pytest.mark.parametrize("key", ["note", "source"])
@pytest.mark.parametrize(("place", "figure", "_message"), EXPLAINABLE)
def test_saying_why_is_enough(place: Any, figure: dict[str, Any], _message: str, key: str) -> None:
    entered(place(figure | {key: "two pieces, stuck together"}))


@pytest.mark.parametrize(("place", "figure", "_message"), EXPLAINABLE)
def test_what_is_in_the_book_is_still_read(
    place: Any, figure: dict[str, Any], _message: str
) -> None:
    stored = read_record(place(figure))
    assert read_record(stored.to_body()) == stored


def test_an_instrument_of_the_wrong_kind_cannot_be_explained_away() -> None:
    given = {"readings": ["35.6 mm", "35.7 mm"], "instrument": "burette", "note": "really"}
    (problem,) = told(head(given))
    assert problem.startswith(f"{VALVE}.instrument: 'burette' measures volume and this is a length")


@pytest.mark.parametrize(
    "given",
    [
        {"readings": ["35.6 mm", "36.4 mm"]},
        {"value": "35.6 mm", "readings": ["35.604 mm"]},  # rounded to the last place shown
        {"value": "35.5 mm", "readings": ["35.6 mm", "35.8 mm"]},  # corrected, within its doubt
        {"value": "36 mm", "uncertainty": "18 mm", "provenance": "estimated"},
        {"readings": ["35.6 mm", "35.7 mm"], "instrument": "nobody-knows"},
    ],
)
def test_not_asked_about(given: Any) -> None:
    entered(head(given))


def test_small_figures_may_differ_by_little() -> None:
    seat = {"cylinder": 1, "side": "intake", "seat_width": {"readings": ["1.1 mm", "1.3 mm"]}}
    entered(CASTING | {"valves": [seat]})


def test_told_in_units_of_the_shop() -> None:
    assert "1.000 in and 2.000 in" in told(head({"readings": ["1 in", "2 in"]}), "inch")[0]


def test_a_throat_larger_than_its_valve() -> None:
    valve = {"cylinder": 1, "side": "intake", "throat_diameter": "60 mm", "head_diameter": "40 mm"}
    (problem,) = told(CASTING | {"valves": [valve]})
    assert problem.startswith(
        "casting.valves[0].throat_diameter: 60.00 mm is larger than the valve"
    )
    entered(CASTING | {"valves": [valve | {"throat_diameter": "35 mm"}]})


@pytest.mark.parametrize("heads", [{}, {"head_diameter": "40 mm"}])
def test_valves_on_one_centre(heads: dict[str, str]) -> None:
    place = {"x": "10 mm", "y": "5 mm", **heads}
    pair = [{"cylinder": 1, "side": side, **place} for side in ("intake", "exhaust")]
    (problem,) = told(CASTING | {"valves": pair})
    assert problem.startswith("casting.valves[1]: the exhaust of cylinder 1 and the intake of")
    entered(CASTING | {"valves": [pair[0], pair[1] | {"x": "52 mm"}]})


def test_a_chamber_larger_than_its_opening_and_depth() -> None:
    chamber = {"cylinder": 1, "volume": "60 cc", "face_area": "2900 mm2", "depth": "12 mm"}
    (problem,) = told(CASTING | {"chambers": [chamber]})
    assert problem.startswith("casting.chambers[0].volume: 60.0 cc has no room in a chamber of")
    entered(CASTING | {"chambers": [chamber | {"volume": "30 cc"}]})


def test_a_flat_crown_that_is_a_dome() -> None:
    piston = {"crown": "flat", "crown_volume": "-4.2 cc"}
    (problem,) = told(BLOCK | {"piston": piston})
    assert problem.startswith(
        "short_block.piston.crown_volume: -4.2 cc is a dome, but the crown is"
    )
    entered(BLOCK | {"piston": piston | {"crown": "dome"}})
    entered(BLOCK | {"piston": piston | {"crown_volume": "3 cc"}})


def test_instruments_nobody_described() -> None:
    casting = read_record(head({"readings": ["35.6 mm"], "instrument": "nobody-knows"}))
    assert unknown_instruments(casting, {"burette"}) == {"nobody-knows": 1}
    assert unknown_instruments(casting, {"nobody-knows"}) == {}
