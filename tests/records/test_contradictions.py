"""What cannot all be true at once, kind by kind."""

from __future__ import annotations

from typing import Any

import pytest

from headwright.errors import RecordError
from headwright.records import KINDS, Limits, read_record

CASTING = {
    "tag": "a", "family": "f", "sort": "s", "material": "iron", "condition": "used",
    "cylinders": 2,
}  # fmt: skip
BLOCK = {"tag": "b", "family": "f", "cylinders": [{"cylinder": 1}], "piston": {"crown": "flat"}}
BUILD = {"tag": "b", "purpose": "race", "short_block": "s"}
FLOW = {"tag": "f", "casting": "c", "cylinder": 1, "side": "intake", "depression": "25 inH2O"}
PIPE = {"name": "runner", "start": "atmosphere", "finish": "intake 1", "length": "10 in"}
SESSION = {"tag": "m", "subject_kind": "casting", "subject": "c", "date": "2026-05-31"}
FEATURE = {"path": "thickness_now", "quantity": "casting_thickness", "readings": ["3 in"]}


def _pipe(**changes: Any) -> dict[str, Any]:
    return {"tag": "p", "pipes": [PIPE | {"diameter": "1 in"} | changes]}


CASES: list[tuple[str, dict[str, Any], str]] = [
    (
        "casting",
        CASTING | {"chambers": [{"cylinder": 3}]},
        "casting.chambers[0].cylinder: cylinder 3 on a casting of 2 cylinders",
    ),
    (
        "casting",
        CASTING | {"damage": [{"sort": "crack", "where": "seat", "cylinder": 4}]},
        "casting.damage[0].cylinder: cylinder 4",
    ),
    (
        "casting",
        CASTING | {"ports": [{"side": "intake", "serves": [1, 3]}]},
        "casting.ports[0].serves: cylinder 3",
    ),
    (
        "casting",
        CASTING | {"ports": [{"side": "intake", "serves": [1, 1]}]},
        "casting.ports[0].serves: names a cylinder twice",
    ),
    (
        "casting",
        CASTING
        | {"ports": [{"side": "intake", "serves": [1, 2]}, {"side": "intake", "serves": [2]}]},
        "casting.ports: intake of cylinder 2 is served by 2 ports",
    ),
    (
        "casting",
        CASTING | {"valves": [{"cylinder": 1, "side": "intake"}] * 2},
        "casting.valves: cylinder 1 intake is entered 2 times",
    ),
    (
        "casting",
        CASTING | {"chambers": [{"cylinder": 1}] * 2},
        "casting.chambers: cylinder 1 is entered 2 times",
    ),
    (
        "casting",
        CASTING | {"thickness_new": "3.000 in (maker)", "thickness_now": "3.100 in (measured)"},
        "casting.thickness_now: 78.74 mm is thicker than new (76.20 mm)",
    ),
    (
        "short_block",
        BLOCK | {"cylinders": [{"cylinder": 1}, {"cylinder": 3}]},
        "short_block.cylinders: cylinders must be numbered 1 to 2, each once; got [1, 3]",
    ),
    (
        "short_block",
        BLOCK | {"firing_order": [1, 1]},
        "short_block.firing_order: [1, 1] must name each of the 1 cylinders once; [1] come twice",
    ),
    (
        "short_block",
        BLOCK | {"stroke": "100 mm", "rod_length": "50 mm"},
        "short_block.rod_length: 50.00 mm is not longer than the crank radius (50.00 mm)",
    ),
    (
        "cam",
        {"tag": "c", "family": "f", "lobes": [{"side": "intake"}, {"side": "intake"}]},
        "cam.lobes: the intake lobe is entered 2 times",
    ),
    (
        "cam",
        {"tag": "c", "family": "f", "lobes": [{"side": "intake", "lifts": ["1 mm"]}]},
        "cam.lobes[0]: a lift table needs both",
    ),
    (
        "cam",
        {
            "tag": "c",
            "family": "f",
            "lobes": [
                {"side": "intake", "lifts": ["1 mm"], "lift_angles": ["1 deg", "2 deg"]},
            ],
        },
        "cam.lobes[0].lifts: 1 lifts for 2 lift_angles",
    ),
    (
        "cam",
        {
            "tag": "c",
            "family": "f",
            "lobes": [
                {"side": "intake", "lifts": ["1 mm", "2 mm"], "lift_angles": ["2 deg", "2 deg"]},
            ],
        },
        "cam.lobes[0].lift_angles: angles must increase",
    ),
    ("breathing", _pipe(diameter=None), "breathing.pipes[0]: needs a diameter, or sections"),
    ("breathing", _pipe(start="box"), "breathing.pipes[0].start: 'box' is no joint of this record"),
    ("breathing", _pipe(finish="intake 13"), "breathing.pipes[0].finish: 'intake 13' is no joint"),
    (
        "breathing",
        _pipe(sections=[{"distance": "11 in", "diameter": "1 in"}]),
        "breathing.pipes[0].sections: distances must increase and stay within the length",
    ),
    (
        "breathing",
        _pipe(
            sections=[
                {"distance": "5 in", "diameter": "1 in"},
                {"distance": "4 in", "diameter": "1 in"},
            ]
        ),
        "breathing.pipes[0].sections: distances must increase",
    ),
    (
        "breathing",
        _pipe() | {"joints": [{"name": "runner", "sort": "plenum"}]},
        "breathing: the name 'runner' is used 2 times",
    ),
    (
        "breathing",
        {"tag": "p", "joints": [{"name": "intake 1", "sort": "plenum"}]},
        "breathing.joints[0].name: 'intake 1' already means",
    ),
    (
        "build",
        BUILD | {"targets": {"working_speed_low": "6000 rpm", "working_speed_high": "5000 rpm"}},
        "build.targets.working_speed_low: is not below working_speed_high",
    ),
    (
        "build",
        BUILD | {"targets": {"working_speed_high": "7000 rpm", "maximum_speed": "6000 rpm"}},
        "build.targets.working_speed_high: is above maximum_speed",
    ),
    (
        "build",
        BUILD | {"cuts": {"reliefs": [{"cylinder": 1, "volume": "1 cc"}] * 2}},
        "build.cuts.reliefs: cylinder 1 is entered 2 times",
    ),
    (
        "build",
        BUILD | {"ignition": [{"speed": "3000 rpm", "advance": "30 deg"}] * 2},
        "build.ignition: speeds must increase",
    ),
    (
        "fuel",
        {"tag": "f", "sort": "blend", "ethanol_fraction": "60 %", "methanol_fraction": "50 %"},
        "fuel.methanol_fraction: with ethanol_fraction makes 110.0 %, more than the whole",
    ),
    (
        "spring",
        {"tag": "s", "free_length": "1.5 in", "bind_height": "1.6 in"},
        "spring.bind_height: 40.64 mm is not below the free length (38.10 mm)",
    ),
    (
        "flow_test",
        FLOW | {"rows": [{"lift": "2 mm", "flow": "40 cfm"}, {"lift": "2 mm", "flow": "41 cfm"}]},
        "flow_test.rows[1].lift: 2.000 mm does not follow 2.000 mm; lifts must increase",
    ),
    (
        "power_pull",
        {"tag": "p", "build": "b", "rows": [{"speed": "6000 rpm"}]},
        "power_pull.rows[0]: needs a torque or a power",
    ),
    (
        "power_pull",
        {
            "tag": "p",
            "build": "b",
            "rows": [{"speed": "6000 rpm", "torque": "100 N m", "power": "50 kW"}],
        },
        "power_pull.rows[0]: torque x speed gives 62.83 kW but power says 50.00 kW",
    ),
    (
        "limits",
        {"tag": "l", "compression_maximum": "12:1"},
        "limits.compression_maximum.source: a limit must say whose it is",
    ),
    (
        "limits",
        {
            "tag": "l",
            "squish_minimum": {"value": "2 mm", "source": "shop"},
            "squish_maximum": {"value": "1 mm", "source": "shop"},
        },
        "limits.squish_minimum: is above squish_maximum",
    ),
    (
        "instrument",
        {"tag": "i", "measures": "length"},
        "instrument.length_resolution: is missing and needed",
    ),
    (
        "instrument",
        {
            "tag": "i",
            "measures": "length",
            "length_resolution": "0.01 mm",
            "mass_calibration": "1 g",
        },
        "instrument.mass_calibration: this instrument measures length",
    ),
    (
        "instrument",
        {
            "tag": "i",
            "measures": "length",
            "length_resolution": "0.01 mm",
            "calibrated": "2026-05-01",
            "calibration_due": "2026-04-01",
        },
        "instrument.calibration_due: 2026-04-01 is before it was calibrated (2026-05-01)",
    ),
    (
        "measurement",
        SESSION | {"subject_kind": "castings", "features": [FEATURE]},
        "measurement.subject_kind: 'castings' is not one of: shop, instrument, casting",
    ),
    (
        "measurement",
        SESSION | {"features": [FEATURE | {"quantity": "casting_thicknes"}]},
        "measurement.features[0].quantity: 'casting_thicknes' is not in the glossary; "
        "did you mean 'casting_thickness'?",
    ),
    (
        "measurement",
        SESSION | {"features": [FEATURE | {"readings": ["3 in", "3"]}]},
        "measurement.features[0].readings[1]: '3' has no unit",
    ),
    (
        "measurement",
        SESSION | {"features": [FEATURE | {"readings": ["3 in", "3 m"]}]},
        "measurement.features[0].readings[1]: 3 m is above the allowed",
    ),
    (
        "measurement",
        SESSION | {"features": [FEATURE | {"uncertainty": "1 kg"}]},
        "measurement.features[0].uncertainty: '1 kg' is a mass; this wants a length",
    ),
]


@pytest.mark.parametrize(("kind", "body", "message"), CASES, ids=[case[2][:60] for case in CASES])
def test_contradiction(kind: str, body: dict[str, Any], message: str) -> None:
    with pytest.raises(RecordError) as caught:
        read_record({"kind": kind} | body)
    assert [str(problem)[: len(message)] for problem in caught.value.problems] == [message]


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("casting", CASTING | {"ports": [{"side": "intake", "serves": [2, 1]}]}),
        # A guess does not contradict a measurement.
        ("casting", CASTING | {"thickness_new": "3 in", "thickness_now": "3.1 in (measured)"}),
        # Within three standard uncertainties and half a millimetre nothing is contradicted.
        (
            "casting",
            CASTING | {"thickness_new": "3 in (maker)", "thickness_now": "76.6 mm (measured)"},
        ),
        ("short_block", BLOCK | {"firing_order": [1]}),
        ("fuel", {"tag": "f", "sort": "blend", "ethanol_fraction": "40 %"}),
        ("fuel", {"tag": "f", "sort": "ethanol", "ethanol_fraction": "100 %"}),
        (
            "power_pull",
            {
                "tag": "p",
                "build": "b",
                "rows": [{"speed": "6000 rpm", "torque": "100 N m", "power": "62 kW"}],
            },
        ),
        ("breathing", _pipe(finish="exhaust 12")),
        ("measurement", SESSION | {"features": [FEATURE]}),
    ],
)  # fmt: skip
def test_no_contradiction(kind: str, body: dict[str, Any]) -> None:
    assert read_record({"kind": kind} | body).kind == kind


def test_all_contradictions_are_told_at_once() -> None:
    body = BLOCK | {"firing_order": [2], "stroke": "100 mm", "rod_length": "40 mm"}
    with pytest.raises(RecordError) as caught:
        read_record({"kind": "short_block"} | body)
    assert [problem.path for problem in caught.value.problems] == [
        "short_block.firing_order",
        "short_block.rod_length",
    ]


def test_limits_that_are_given() -> None:
    body = {"tag": "l", "squish_minimum": {"value": "0.040 in", "source": "shop"}}
    limits = Limits.read(body)
    assert list(limits.given()) == ["squish_minimum"]


def test_a_session_reads_any_unit_into_si() -> None:
    feature = FEATURE | {"readings": [3, "76.3 mm"], "unit": "in", "uncertainty": "0.5 thou"}
    session = read_record({"kind": "measurement"} | SESSION | {"features": [feature]})
    (stored,) = session.to_body()["features"]
    assert stored["readings"] == pytest.approx([0.0762, 0.0763])
    assert stored["unit"] == "m"
    assert stored["uncertainty"] == pytest.approx(1.27e-5)
    assert read_record(session.to_body()) == session


def test_a_record_of_another_kind() -> None:
    for kind, model in KINDS.items():
        other = "fuel" if kind != "fuel" else "cam"
        with pytest.raises(RecordError, match=f"{kind}.kind: '{other}' is not '{kind}'"):
            model.read({"kind": other, "tag": "a"})
    with pytest.raises(RecordError, match=r"record\.kind: is missing; one of: shop, instrument"):
        read_record({"tag": "a"})
    with pytest.raises(RecordError, match=r"record.kind: 'castings' is not one of"):
        read_record({"kind": "castings"})


@pytest.mark.parametrize("given", ["2026-13-01", "yesterday", 20260531, True, 0, "1700000000", []])
def test_a_day_is_written_out(given: Any) -> None:
    with pytest.raises(RecordError, match=r"measurement\.date: must be a date, written as 2026-05"):
        read_record({"kind": "measurement"} | SESSION | {"date": given, "features": [FEATURE]})


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("", "too short: at least 1 characters"),
        ("   ", "is blank"),
        ("two\nlines", "must stand on one line"),
        ("a\x00b", "control characters"),
        ("a\x85b", "control characters"),
        ("x" * 121, "too long: at most 120"),
        (5, "5 must be text"),
    ],
)
def test_a_name(name: Any, message: str) -> None:
    with pytest.raises(RecordError, match=message):
        read_record({"kind": "cam", "tag": "c", "family": name})


@pytest.mark.parametrize("tag", ["", " a", "a b", "a/b", "-a", "a\n", "é", "x" * 65, None, 7])
def test_a_tag(tag: Any) -> None:
    with pytest.raises(RecordError, match=r"cam\.tag"):
        read_record({"kind": "cam", "tag": tag, "family": "f"})
