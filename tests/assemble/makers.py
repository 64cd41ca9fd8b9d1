"""Small invented records for tests: an engine whose every figure is chosen here.

Its bore, stroke, rod, chamber, gasket, deck and dish are those of a worked example whose volumes
and ratios are known from closed form; valve centres, inserts and the rest are round numbers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from headwright.assemble import Bundle, Fact, Trial, make_trial
from headwright.records import (
    Build,
    Cam,
    Casting,
    FlowTest,
    Limits,
    Rocker,
    ShortBlock,
    Valve,
    ValveGear,
)

IN = 25.4e-3
RPM = math.pi / 30.0
CYLINDERS = 4
SPACING_MM = 115.0
HEAD_MM = 48.0

Body = dict[str, Any]


def m(value: str, spread: str | None = None, provenance: str = "measured", **more: Any) -> Body:
    """Write a figure with its standard uncertainty."""
    body: Body = {"value": value, "provenance": provenance, **more}
    return body if spread is None else {**body, "uncertainty": spread}


def merged(body: Mapping[str, Any], changes: Mapping[str, Any]) -> Body:
    """Return a body with changes, tables merged key by key, None taking a field out."""
    result = dict(body)
    for key, value in changes.items():
        if value is None:
            result.pop(key, None)
        elif isinstance(value, dict) and isinstance(result.get(key), dict) and "value" not in value:
            result[key] = merged(result[key], value)
        else:
            result[key] = value
    return result


def block_body(cylinders: int = CYLINDERS) -> Body:
    return {
        "tag": "BLOCK",
        "family": "invented",
        "stroke": m("88.9 mm", "0.02 mm"),
        "rod_length": m("152.4 mm", "0.02 mm"),
        "piston": {
            "crown": "dish",
            "crown_volume": m("5 cc", "0.1 cc"),
            "pin_offset": m("0 mm", "0.01 mm"),
            "top_land_height": m("0 mm", "0 mm"),
            "top_land_clearance": m("0 mm", "0 mm"),
        },
        "gasket": {"bore": m("104.0 mm", "0.1 mm"), "thickness": m("1.0 mm", "0.02 mm")},
        "cylinders": [
            {
                "cylinder": number,
                "bore": m("101.6 mm", "0.005 mm"),
                "piston_below_deck": m("0.254 mm", "0.01 mm"),
            }
            for number in range(1, cylinders + 1)
        ],
    }


def valves_of(number: int) -> list[Body]:
    """One intake and one exhaust valve, side by side along the crankshaft."""
    centre = (number - 1) * SPACING_MM
    return [
        {
            "cylinder": number,
            "side": "intake",
            "x": m(f"{centre - 24.0} mm", "0.05 mm"),
            "y": m("0 mm", "0.05 mm"),
            "head_diameter": m("48 mm", "0.05 mm"),
        },
        {
            "cylinder": number,
            "side": "exhaust",
            "x": m(f"{centre + 24.0} mm", "0.05 mm"),
            "y": m("0 mm", "0.05 mm"),
            "head_diameter": m("40 mm", "0.05 mm"),
        },
    ]


def casting_body(cylinders: int = CYLINDERS, tag: str = "HEAD") -> Body:
    return {
        "tag": tag,
        "family": "invented",
        "sort": "wide iron",
        "material": "iron",
        "condition": "used",
        "cylinders": cylinders,
        "thickness_now": m("100 mm", "0.05 mm"),
        "thickness_minimum": m("95 mm", "0.05 mm", "maker"),
        "bore_centres": [
            {
                "cylinder": number,
                "x": m(f"{(number - 1) * SPACING_MM} mm", "0.05 mm"),
                "y": m("0 mm", "0.05 mm"),
            }
            for number in range(1, cylinders + 1)
        ],
        "chambers": [
            {
                "cylinder": number,
                "volume": m("64 cc", "0.2 cc"),
                "face_area": m("55 cm2", "0.5 cm2"),
            }
            for number in range(1, cylinders + 1)
        ],
        "valves": [valve for n in range(1, cylinders + 1) for valve in valves_of(n)],
    }


def build_body() -> Body:
    return {
        "tag": "BUILD",
        "purpose": "a test",
        "short_block": "BLOCK",
        "casting": "HEAD",
        "targets": {"compression_ratio": "10:1", "maximum_speed": "7000 rpm"},
    }


def block(changes: Mapping[str, Any] | None = None, cylinders: int = CYLINDERS) -> ShortBlock:
    return ShortBlock.read(merged(block_body(cylinders), changes or {}))


def casting(changes: Mapping[str, Any] | None = None, cylinders: int = CYLINDERS) -> Casting:
    return Casting.read(merged(casting_body(cylinders), changes or {}))


def build(changes: Mapping[str, Any] | None = None) -> Build:
    return Build.read(merged(build_body(), changes or {}))


def cam(changes: Mapping[str, Any] | None = None) -> Cam:
    """A cam whose intake lifts in a straight line up and down, 10 mm at the lobe."""
    lobe = {
        "side": "intake",
        "closes": m("60 deg", "0.5 deg"),
        "lift_angles": {"values": [0.0, 120.0, 240.0], "unit": "deg", "provenance": "measured"},
        "lifts": {"values": [0.0, 10.0, 0.0], "unit": "mm", "provenance": "measured"},
    }
    return Cam.read(merged({"tag": "CAM", "family": "invented", "lobes": [lobe]}, changes or {}))


def rocker(ratio: str = "1.5") -> Rocker:
    return Rocker.read({"tag": "ROCKER", "ratio": m(ratio, "0.005")})


def valve_gear() -> ValveGear:
    return ValveGear.read({"tag": "GEAR", "cam": "CAM", "rocker": "ROCKER"})


def limits(changes: Mapping[str, Any] | None = None) -> Limits:
    return Limits.read({"tag": "RULES", **(changes or {})})


def rule(value: str, source: str = "the class, rule 1") -> Body:
    """Write a limit with whose it is."""
    return {"value": value, "provenance": "maker", "source": source}


def shelf_valve(side: str, head: str, tag: str = "VALVE") -> Valve:
    return Valve.read({"tag": tag, "side": side, "head_diameter": m(head, "0.01 mm", "maker")})


def ideal_flow(area: float, depression: float, pressure: float, temperature: float) -> float:
    """Volume flow at the upstream density through an ideal nozzle, unchoked air [m3/s].

    Saint-Venant and Wantzel: mass flux from rest through an isentropic expansion.
    """
    gamma, gas = 1.4, 287.05
    ratio = 1.0 - depression / pressure
    speed = math.sqrt(
        2.0 * gamma / (gamma - 1.0) * gas * temperature * (1.0 - ratio ** ((gamma - 1.0) / gamma))
    )
    return area * speed * ratio ** (1.0 / gamma)


def flow_test(
    areas: Iterable[tuple[float, float]],
    *,
    depression: float = 28 * 249.08891,
    head: str | None = "48 mm",
    tag: str = "FLOW",
    on: str = "HEAD",
    spread: float | None = None,
) -> FlowTest:
    """Make the flow test of a port with known effective areas [m2] at lifts [m]."""
    pressure, temperature = 101_325.0, 293.15
    rows = []
    for lift, area in areas:
        flow: Body = {
            "value": ideal_flow(area, depression, pressure, temperature),
            "unit": "m3/s",
            "provenance": "measured",
        }
        if spread is not None:
            flow["uncertainty"] = spread * flow["value"]
        rows.append({"lift": {"value": lift, "unit": "m", "provenance": "measured"}, "flow": flow})
    body: Body = {
        "tag": tag,
        "casting": on,
        "cylinder": 1,
        "side": "intake",
        "depression": {"value": depression, "unit": "Pa", "provenance": "measured"},
        "air_pressure": {"value": pressure, "unit": "Pa", "provenance": "measured"},
        "air_temperature": {"value": temperature, "unit": "K", "provenance": "measured"},
        "rows": rows,
    }
    if head is not None:
        body["valve_head_diameter"] = m(head, "0.02 mm")
    return FlowTest.read(body)


def curtain_test(coefficient: float, head: float = HEAD_MM, **more: Any) -> FlowTest:
    """Make the flow test of a port with one discharge coefficient of the curtain at all lifts."""
    lifts = [n * 1e-3 for n in range(1, 19)]
    return flow_test(
        [(lift, coefficient * math.pi * head * 1e-3 * lift) for lift in lifts],
        head=f"{head} mm",
        **more,
    )


def bundle(
    *,
    of_block: Mapping[str, Any] | None = None,
    of_casting: Mapping[str, Any] | None = None,
    of_build: Mapping[str, Any] | None = None,
    cylinders: int = CYLINDERS,
    **parts: Any,
) -> Bundle:
    return Bundle(
        build=build(of_build),
        short_block=block(of_block, cylinders),
        casting=casting(of_casting, cylinders),
        **parts,
    )


def trial(**changes: Any) -> Trial:
    return make_trial(bundle(**changes))


def exact(value: float, name: str = "depth_of_cut", path: str = "chosen") -> Fact:
    """Make a fact the builder chose."""
    return Fact(name, path, path, value)


def with_spreads(facts: Mapping[str, Fact], factor: float) -> dict[str, Fact]:
    """Return the facts with every uncertainty multiplied."""
    return {
        key: replace(fact, uncertainty=fact.uncertainty * factor) for key, fact in facts.items()
    }
