"""Valid records of any kind, drawn from the models' own annotations and the glossary's ranges.

:func:`bodies` draws what a builder may write: figures as text or tables, in any unit, with or
without uncertainty, provenance and repeat readings. Where fields bind each other (a firing order
must name the cylinders there are) :data:`_AGREE` brings the drawn body into agreement.
"""

from __future__ import annotations

import datetime as dt
import types
import typing
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from hypothesis import strategies as st
from pydantic import BaseModel, StringConstraints
from pydantic.fields import FieldInfo

from headwright.quantities import DIMENSIONS, GLOSSARY, Quantity, Unit
from headwright.records import KINDS
from headwright.records.measured import PROVENANCES, In, Measured
from headwright.records.series import InSeries, Series
from headwright.records.shop import MeasuredFeature

__all__ = ["bodies", "figure_paths", "figures", "readable_units", "tags", "texts"]

Draw = Callable[[st.SearchStrategy[Any]], Any]

LONGEST_LIST = 2
"""Entries drawn for a list; limits of the models are tested apart."""

_TEXT = st.characters(
    codec="utf-8", exclude_categories=("Cc", "Cs", "Cn"), exclude_characters="\x85"
)

tags = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,20}", fullmatch=True)


def texts(least: int = 0, most: int = 30, *, lines: bool = False) -> st.SearchStrategy[str]:
    """Draw printable text in any script; not blank where some is needed."""
    alphabet = st.one_of(_TEXT, st.sampled_from("\n\t")) if lines else _TEXT
    drawn = st.text(alphabet, min_size=least, max_size=most)
    return drawn.filter(str.strip) if least else drawn


def readable_units(quantity: Quantity) -> list[Unit]:
    """Return the units a figure of this quantity may be written in."""
    dimension = DIMENSIONS[quantity.dimension]
    if dimension.scales_differ:
        return [quantity.unit_in("inch")]
    if dimension.name == "fraction":  # a bare 1 could be one per cent or the whole
        return [quantity.unit_in("inch")]
    return list(dimension.units)


@st.composite
def figures(draw: Draw, quantity: Quantity) -> Any:
    """Draw one figure as a builder may write it."""
    unit = draw(st.sampled_from(readable_units(quantity)))
    width = quantity.high - quantity.low
    value = draw(st.floats(quantity.low, quantity.high))
    written = _written(value, unit)
    form = draw(st.sampled_from(("text", "number", "table", "readings")))
    spread = draw(st.none() | st.floats(0.0, 0.01).map(lambda share: share * width))
    if form == "text":
        text = f"{written} {unit.symbol}".strip()
        if spread is not None:
            text = f"{written} +/- {unit.spread_from_si(spread)!r} {unit.symbol}".strip()
        provenance = draw(st.none() | st.sampled_from(PROVENANCES))
        return text if provenance is None else f"{text} ({provenance})"
    if form == "number" and not unit.symbol:
        return float(written)
    table: dict[str, Any] = {"unit": unit.symbol}
    if form == "readings":
        among = st.floats(quantity.low, quantity.high).map(lambda one: float(_written(one, unit)))
        table["readings"] = draw(st.lists(among, min_size=1, max_size=4))
    else:
        table["value"] = draw(st.sampled_from((float(written), f"{written} {unit.symbol}".strip())))
    if spread is not None:
        table["uncertainty"] = f"{unit.spread_from_si(spread)!r} {unit.symbol}".strip()
        table["dof"] = draw(st.none() | st.floats(1.0, 1e6))
    table["provenance"] = draw(st.none() | st.sampled_from(PROVENANCES))
    table["instrument"] = draw(st.none() | tags)
    table["source"] = draw(texts())
    table["note"] = draw(texts(lines=True))
    return {key: entry for key, entry in table.items() if entry is not None}


def _written(value: float, unit: Unit) -> str:
    return repr(unit.from_si(value))


@st.composite
def _series(draw: Draw, quantity: Quantity) -> dict[str, Any]:
    unit = draw(st.sampled_from(readable_units(quantity)))
    value = st.floats(quantity.low, quantity.high)
    values = draw(st.lists(value, min_size=1, max_size=6, unique=True))
    table: dict[str, Any] = {
        "values": [unit.from_si(one) for one in sorted(values)],
        "unit": unit.symbol,
        "provenance": draw(st.sampled_from(PROVENANCES)),
        "source": draw(texts()),
    }
    if draw(st.booleans()):
        table["uncertainty"] = unit.spread_from_si(draw(st.floats(0.0, 0.01)) * quantity.high)
    return table


def _mark(field: FieldInfo, sort: type[Any]) -> Any:
    return next((item for item in field.metadata if isinstance(item, sort)), None)


@dataclass(frozen=True)
class _Bounds:
    """Limits on one field, gathered from however many layers of annotation."""

    metadata: tuple[Any, ...]

    def first(self, sort: type[Any], name: str, otherwise: Any) -> Any:
        for item in self.metadata:
            if isinstance(item, sort) and getattr(item, name) is not None:
                return getattr(item, name)
        return otherwise


def _flat(metadata: typing.Iterable[Any]) -> Iterator[Any]:
    for item in metadata:
        if isinstance(item, FieldInfo):
            yield from _flat(item.metadata)
        else:
            yield item


def _of_annotation(
    annotation: Any, metadata: tuple[Any, ...], full: bool
) -> st.SearchStrategy[Any]:
    """Draw what an annotation allows."""
    while get_origin(annotation) is typing.Annotated:
        annotation, *further = get_args(annotation)
        metadata = (*_flat(further), *metadata)
    bounds = _Bounds(metadata)
    origin = get_origin(annotation)
    if origin is Literal:
        return st.sampled_from(get_args(annotation))
    if origin in {Union, types.UnionType}:
        inner = next(part for part in get_args(annotation) if part is not type(None))
        drawn = _of_annotation(inner, metadata, full)
        return drawn if full else st.none() | drawn
    if origin is tuple:
        least = bounds.first(MinLen, "min_length", 1 if full else 0)
        most = min(bounds.first(MaxLen, "max_length", LONGEST_LIST), LONGEST_LIST)
        entry = get_args(annotation)[0]
        return st.lists(_of_annotation(entry, (), full), min_size=least, max_size=most)
    if annotation is MeasuredFeature:
        return _features()
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return parts(annotation, full=full)
    if annotation is bool:
        return st.booleans()
    if annotation is int:
        return st.integers(bounds.first(Ge, "ge", 0), bounds.first(Le, "le", 100))
    if annotation is float:
        least = bounds.first(Ge, "ge", bounds.first(Gt, "gt", 0.0))
        return st.floats(least, bounds.first(Le, "le", 1e6), exclude_min=least == 0.0)
    if annotation is dt.date:
        return st.dates(dt.date(1900, 1, 1), dt.date(2200, 1, 1)).map(dt.date.isoformat)
    if annotation is str:
        if bounds.first(StringConstraints, "pattern", None):
            return tags
        least = bounds.first(StringConstraints, "min_length", 0)
        return texts(1 if full else least, lines=not least)
    raise AssertionError(f"no way to draw {annotation!r}")


def _of_field(field: FieldInfo, full: bool) -> st.SearchStrategy[Any]:
    if (mark := _mark(field, In)) is not None:
        return figures(mark.quantity)
    if (mark := _mark(field, InSeries)) is not None:
        return _series(mark.quantity)
    return _of_annotation(field.annotation, tuple(_flat(field.metadata)), full)


@st.composite
def parts(draw: Draw, model: type[BaseModel], *, full: bool = False) -> dict[str, Any]:
    """Draw the fields of one model; all of them when ``full``."""
    body: dict[str, Any] = {}
    for name, field in model.model_fields.items():
        if name == "schema_version" or not (full or field.is_required() or draw(st.booleans())):
            continue
        drawn = draw(_of_field(field, full))
        if drawn is not None:
            body[name] = drawn
    return body


@st.composite
def _features(draw: Draw) -> dict[str, Any]:
    quantity = draw(st.sampled_from(list(GLOSSARY.values())))
    unit = draw(st.sampled_from(readable_units(quantity)))
    value = st.floats(quantity.low, quantity.high)
    readings = draw(st.lists(value, min_size=1, max_size=4))
    return {
        "path": draw(texts(1)),
        "quantity": quantity.name,
        "readings": [unit.from_si(one) for one in readings],
        "unit": unit.symbol,
        "instrument": draw(tags),
        "note": draw(texts(lines=True)),
    }


@st.composite
def bodies(draw: Draw, kind: str, *, full: bool = False) -> dict[str, Any]:
    """Draw a valid record of one kind as plain data; with every field filled when ``full``."""
    model = KINDS[kind]
    body = draw(parts(model, full=full))
    if agree := _AGREE.get(kind):
        agree(draw, body)
    return {"kind": kind, **body}


def figure_paths(model: type[BaseModel], body: dict[str, Any], path: str) -> Iterator[Any]:
    """Yield ``(holder, key, path, quantity)`` of every figure present in a body."""
    for name, given in body.items():
        field = model.model_fields.get(name)
        if field is None:
            continue
        here = f"{path}.{name}"
        if (mark := _mark(field, In)) is not None:
            yield body, name, here, mark.quantity
            continue
        inner = _model_inside(field.annotation)
        if inner in {None, Measured, Series, MeasuredFeature}:
            continue
        entries = given if isinstance(given, list) else [given]
        for place, entry in enumerate(entries):
            step = f"{here}[{place}]" if isinstance(given, list) else here
            yield from figure_paths(inner, entry, step)


def _model_inside(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in get_args(annotation):
        if (found := _model_inside(part)) is not None:
            return found
    return None


# -- bringing fields into agreement -------------------------------------------------------------


def _si(quantity: str, value: float) -> dict[str, Any]:
    entry = GLOSSARY[quantity]
    return {"value": value, "unit": entry.si_unit, "provenance": "measured"}


def _rising(draw: Draw, quantity: str, count: int, most: float | None = None) -> list[float]:
    entry = GLOSSARY[quantity]
    high = entry.high if most is None else min(entry.high, most)
    steps = draw(st.lists(st.floats(0.01, 1.0), min_size=count, max_size=count))
    total = sum(steps) + 0.01
    reached, values = 0.0, []
    for step in steps:
        reached += step
        values.append(entry.low + (high - entry.low) * reached / total)
    return values


def _distinct(entries: list[dict[str, Any]], *keys: str) -> list[dict[str, Any]]:
    seen: dict[tuple[Any, ...], dict[str, Any]] = {}
    for entry in entries:
        seen.setdefault(tuple(entry[key] for key in keys), entry)
    return list(seen.values())


def _casting(draw: Draw, body: dict[str, Any]) -> None:
    count = body["cylinders"] = draw(st.integers(1, 12))
    for name in ("bore_centres", "chambers", "valves", "pushrod_holes", "damage"):
        for entry in body.get(name, []):
            if "cylinder" in entry:
                entry["cylinder"] = min(entry["cylinder"], count)
    for name, keys in (
        ("bore_centres", ("cylinder",)),
        ("chambers", ("cylinder",)),
        ("valves", ("cylinder", "side")),
        ("pushrod_holes", ("cylinder", "side")),
    ):
        if name in body:
            body[name] = _distinct(body[name], *keys)
    free = {side: list(range(1, count + 1)) for side in ("intake", "exhaust")}
    ports = []
    for port in body.get("ports", []):
        left = free[port["side"]]
        served = [left.pop(0) for _ in range(min(len(port["serves"]), len(left)))]
        if served:
            ports.append({**port, "serves": served})
    if "ports" in body:
        body["ports"] = ports
    if "thickness_new" in body:
        body["thickness_new"] = _si("casting_thickness", GLOSSARY["casting_thickness"].high)


def _short_block(draw: Draw, body: dict[str, Any]) -> None:
    for number, cylinder in enumerate(body["cylinders"], start=1):
        cylinder["cylinder"] = number
    if "firing_order" in body:
        body["firing_order"] = draw(st.permutations(range(1, len(body["cylinders"]) + 1)))
    if "rod_length" in body:
        body["rod_length"] = _si("rod_length", draw(st.floats(0.13, 0.5)))


def _cam(draw: Draw, body: dict[str, Any]) -> None:
    body_lobes = _distinct(body.get("lobes", []), "side")
    for lobe in body_lobes:
        if "lift_angles" in lobe and "lifts" in lobe:
            count = len(lobe["lifts"]["values"])
            angles = _rising(draw, "crank_angle", count)
            lobe["lift_angles"] |= {"values": angles, "unit": "rad"}
        else:
            lobe.pop("lift_angles", None)
            lobe.pop("lifts", None)
    if "lobes" in body:
        body["lobes"] = body_lobes


def _breathing(draw: Draw, body: dict[str, Any]) -> None:
    groups = [body.get(name, []) for name in ("pipes", "joints", "throttles")]
    for number, entry in enumerate(entry for group in groups for entry in group):
        entry["name"] = f"{entry['name']} {number}"
    joints = [entry["name"] for entry in body.get("joints", [])]
    ends = st.sampled_from([*joints, "atmosphere", "intake 1", "exhaust 12"])
    for entry in (*body.get("pipes", []), *body.get("throttles", [])):
        entry["start"], entry["finish"] = draw(ends), draw(ends)
    for pipe in body.get("pipes", []):
        length = draw(st.floats(0.01, 10.0))
        pipe["length"] = _si("pipe_length", length)
        sections = pipe.get("sections", [])
        places = _rising(draw, "pipe_distance", len(sections), most=length)
        for section, place in zip(sections, places, strict=True):
            section["distance"] = _si("pipe_distance", place)
        if not sections:
            pipe["diameter"] = "1 1/2 in"


def _build(draw: Draw, body: dict[str, Any]) -> None:
    if "targets" in body:
        names = ("working_speed_low", "working_speed_high", "maximum_speed")
        for name, speed in zip(names, _rising(draw, "engine_speed", 3), strict=True):
            if name in body["targets"]:
                body["targets"][name] = _si("engine_speed", speed)
    if "reliefs" in body.get("cuts", {}):
        body["cuts"]["reliefs"] = _distinct(body["cuts"]["reliefs"], "cylinder")
    _plan(body.get("plan", {}))
    points = body.get("ignition", [])
    for point, speed in zip(points, _rising(draw, "engine_speed", len(points)), strict=True):
        point["speed"] = _si("engine_speed", speed)


def _fuel(draw: Draw, body: dict[str, Any]) -> None:
    ethanol = draw(st.floats(0.0, 1.0))
    if "ethanol_fraction" in body:
        body["ethanol_fraction"] = _si("volume_fraction", ethanol)
    if "methanol_fraction" in body:
        body["methanol_fraction"] = _si("volume_fraction", 1.0 - ethanol)


def _spring(draw: Draw, body: dict[str, Any]) -> None:
    if "free_length" in body and "bind_height" in body:
        body["free_length"] = "5 in"
        body["bind_height"] = _si("spring_bind_height", draw(st.floats(0.005, 0.1)))


def _flow_test(draw: Draw, body: dict[str, Any]) -> None:
    rows = body["rows"]
    for row, lift in zip(rows, _rising(draw, "valve_lift", len(rows)), strict=True):
        row["lift"] = _si("valve_lift", lift)


def _power_pull(draw: Draw, body: dict[str, Any]) -> None:
    for row in body["rows"]:
        speed, torque = draw(st.floats(100.0, 1000.0)), draw(st.floats(1.0, 1000.0))
        row["speed"] = _si("engine_speed", speed)
        row["torque"] = _si("torque", torque)
        if "power" in row:
            row["power"] = _si("power", speed * torque * draw(st.floats(0.98, 1.02)))


def _limits(draw: Draw, body: dict[str, Any]) -> None:
    for name in KINDS["limits"].model_fields:
        given = body.get(name)
        if given is not None and name not in {"tag", "note", "story"}:
            table = dict(given) if isinstance(given, dict) else {"value": given}
            if isinstance(given, str):
                table["value"] = given.partition("(")[0].strip()
            body[name] = table | {"source": "class rule 4"}
    for name in ("compression_minimum", "compression_maximum", "squish_minimum", "squish_maximum"):
        if name in body:
            quantity = "compression_ratio" if "compression" in name else "squish_clearance"
            low, high = _rising(draw, quantity, 2)
            value = GLOSSARY[quantity].low if name.endswith("minimum") else high
            body[name] = _si(quantity, value) | {"source": f"shop, {low:.3g}"}


def _instrument(draw: Draw, body: dict[str, Any]) -> None:
    measures = body["measures"]
    steps = {
        "length": "length_step", "volume": "volume_step", "force": "force_step",
        "volume_flow": "flow_step", "pressure": "pressure_step", "mass": "mass_step",
        "angle": "angle_step",
    }  # fmt: skip
    for other in steps:
        for part in ("resolution", "calibration"):
            if other != measures:
                body.pop(f"{other}_{part}", None)
    body.setdefault(f"{measures}_resolution", draw(figures(GLOSSARY[steps[measures]])))
    if "calibrated" in body and "calibration_due" in body:
        days = sorted((body["calibrated"], body["calibration_due"]))
        body["calibrated"], body["calibration_due"] = days


def _measurement(draw: Draw, body: dict[str, Any]) -> None:
    body["subject_kind"] = draw(st.sampled_from(list(KINDS)))


_PINNED_BY = {
    "gasket": "part",
    "intake_valve": "part",
    "exhaust_valve": "part",
    "relief": "volume",
    "plug_boss": "volume",
}


def _plan(plan: dict[str, Any]) -> None:
    """Keep the pins that can be, with their amounts; forbid nothing that is pinned."""
    kept = []
    for pin in _distinct(plan.get("pinned", []), "step"):
        step = pin["step"]
        if step in {"pushrods", "stand_shim"}:
            continue
        amount = _PINNED_BY.get(step, "depth")
        pin.setdefault(amount, "x" if amount == "part" else "1 mm" if amount == "depth" else "1 cc")
        if step not in {"relief", "plug_boss"}:
            pin.pop("cylinder", None)
        kept.append(pin)
    if "pinned" in plan:
        plan["pinned"] = kept
    steps = {pin["step"] for pin in kept}
    if "forbidden" in plan:
        plan["forbidden"] = [step for step in plan["forbidden"] if step not in steps]
    if "order" in plan:
        plan["order"] = list(dict.fromkeys(plan["order"]))


def _shop(draw: Draw, body: dict[str, Any]) -> None:
    for name, key in (("operations", "step"), ("gaskets", "name")):
        if name in body:
            body[name] = _distinct(body[name], key)


_AGREE: dict[str, Callable[[Draw, dict[str, Any]], None]] = {
    "casting": _casting,
    "short_block": _short_block,
    "cam": _cam,
    "breathing": _breathing,
    "build": _build,
    "fuel": _fuel,
    "spring": _spring,
    "flow_test": _flow_test,
    "power_pull": _power_pull,
    "limits": _limits,
    "instrument": _instrument,
    "measurement": _measurement,
    "shop": _shop,
}
