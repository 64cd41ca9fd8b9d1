"""A few records as a builder of an invented shop would write them."""

from __future__ import annotations

from typing import Any

from headwright.records import Casting, FlowTest, Instrument, Record, read_record

INSTRUMENT: dict[str, Any] = {
    "kind": "instrument",
    "tag": "burette-50",
    "measures": "volume",
    "volume_resolution": "0.1 cc (maker)",
    "volume_calibration": "0.06 cc (maker)",
}

CASTING: dict[str, Any] = {
    "kind": "casting",
    "tag": "W-17",
    "note": 'from the shed at the weir; "good" one\nsecond line \\ with ü and \t tab',
    "family": "Weir four",
    "sort": "late, big valves",
    "material": "iron",
    "condition": "used",
    "cylinders": 4,
    "thickness_now": "2.735 in +/- 0.001 in (measured)",
    "chambers": [
        {
            "cylinder": 1,
            "volume": {"readings": ["28.1 cc", "28.3 cc", "28.2 cc"], "instrument": "burette-50"},
        },
        {"cylinder": 2, "volume": "28.4 cc (measured)", "plug": {"thread_diameter": "14 mm"}},
        {"cylinder": 3},
    ],
    "valves": [
        {
            "cylinder": 1,
            "side": "intake",
            "insert": False,
            "x": "-0.650 in",
            "y": "0 in",
            "head_diameter": "1.312 in (maker)",
        },
        {"cylinder": 1, "side": "exhaust", "head_diameter": {"value": 0.0293, "unit": "m"}},
    ],
    "ports": [{"side": "intake", "serves": [1, 2]}],
    "history": [{"date": "2026-03-01", "what": "skimmed 0.010 in"}],
}

FLOW_TEST: dict[str, Any] = {
    "kind": "flow_test",
    "tag": "W-17-in1",
    "casting": "W-17",
    "date": "2026-05-17",
    "cylinder": 1,
    "side": "intake",
    "depression": "28 inH2O (measured)",
    "rows": [
        {"lift": "0.100 in", "flow": "41.5 cfm"},
        {"lift": "0.200 in", "flow": "72.0 +/- 0.5 cfm (measured)"},
    ],
}


def instrument() -> Instrument:
    record = read_record(INSTRUMENT)
    assert isinstance(record, Instrument)
    return record


def casting(**changes: Any) -> Casting:
    record = read_record({**CASTING, **changes}, instruments={"burette-50": instrument()})
    assert isinstance(record, Casting)
    return record


def flow_test(**changes: Any) -> FlowTest:
    record = read_record({**FLOW_TEST, **changes})
    assert isinstance(record, FlowTest)
    return record


def all_records() -> list[Record]:
    return [instrument(), casting(), casting(tag="W-18", condition="cut"), flow_test()]
