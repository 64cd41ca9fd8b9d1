"""What may be asked of the pages of a casting's face, and the valves moved on it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.exceptions import HTTPException

from headwright.quantities import System, parse
from headwright.records import Casting
from headwright.records.base import Tag
from headwright.records.casting import ValvePosition
from headwright.records.measured import Measured
from headwright.views.face_scene import LAYERS
from headwright.views.text import text_of

__all__ = [
    "AskedOfFace",
    "ValveField",
    "ValveFields",
    "asked_of_face",
    "moved_valves",
    "valve_fields",
]

_MOVED: Final = re.compile(r"(x|y|head|insert)\.(\d{1,2})\.(intake|exhaust)")
_FIELDS: Final[Mapping[str, tuple[str, str, str]]] = {
    "x": ("x", "face_position", "x"),
    "y": ("y", "face_position", "y"),
    "head": ("head_diameter", "valve_head_diameter", "head"),
    "insert": ("insert_diameter", "insert_diameter", "insert"),
}
_LONGEST: Final = 40
Layer = Literal[
    "bores",
    "gasket",
    "chambers",
    "valves",
    "inserts",
    "plugs",
    "pushrods",
    "studs",
    "water",
    "oil",
    "damage",
    "doubt",
    "dimensions",
    "findings",
]


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = ""
    build: Tag | Literal[""] = ""
    over: Tag | Literal[""] = ""
    beside: Tag | Literal[""] = ""
    hide: Annotated[tuple[Layer, ...], Field(max_length=len(LAYERS))] = ()


@dataclass(frozen=True, slots=True)
class AskedOfFace:
    """What was asked: units, block, build, another casting, layers to hide, valves as typed."""

    system: System | None
    on: str
    build: str
    over: str
    beside: str
    hide: tuple[str, ...]
    typed: Mapping[str, str]

    @property
    def kept(self) -> dict[str, str | list[str]]:
        """What stands in the address, for links; the units apart."""
        given: dict[str, str | list[str]] = {
            name: value
            for name in ("on", "build", "over", "beside")
            if (value := getattr(self, name))
        }
        if self.hide:
            given["hide"] = list(self.hide)
        return {**given, **self.typed}


def asked_of_face(items: Iterable[tuple[str, str]]) -> AskedOfFace:
    """Read the questions behind the question mark, or the fields of the form.

    Raises:
        HTTPException: 400 for a question these pages do not know.
    """
    plain: dict[str, str] = {}
    hide: list[str] = []
    typed: dict[str, str] = {}
    for name, value in items:
        if name.startswith("~") or name == "revision":  # of the form that moves the valves
            continue
        if _MOVED.fullmatch(name):
            if len(value) > _LONGEST:
                raise HTTPException(400, f"{name}: {_LONGEST} characters at most")
            if value.strip():
                typed[name] = value.strip()
        elif name == "hide":
            hide.append(value)
        else:
            plain[name] = value
    try:
        asked = _Asked.model_validate({**plain, "hide": tuple(dict.fromkeys(hide))})
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][0])[:60] if first["loc"] else "question"
        told = (
            "no such question can be put to this page"
            if first["type"] == "extra_forbidden"
            else first["msg"]
        )
        raise HTTPException(400, f"{name}: {told}") from None
    if asked.over and asked.beside:
        raise HTTPException(400, "over: give a casting to lay over or one to set beside, not both")
    return AskedOfFace(
        asked.system, asked.on, asked.build, asked.over, asked.beside, tuple(asked.hide), typed
    )


def _figure(valve: ValvePosition, field: str) -> Measured | None:
    figure: Measured | None = getattr(valve, field)
    return figure


def moved_valves(
    casting: Casting, typed: Mapping[str, str], system: System
) -> dict[tuple[int, str], dict[str, float]]:
    """Return what was typed otherwise than recorded, by valve, SI.

    Raises:
        InputError: what was typed is no length in the field's range.
    """
    valves = {(valve.cylinder, valve.side): valve for valve in casting.valves}
    moved: dict[tuple[int, str], dict[str, float]] = {}
    for name, text in typed.items():
        which, number, side = name.split(".")
        field, quantity, _ = _FIELDS[which]
        valve = valves.get((int(number), "intake" if side == "intake" else "exhaust"))
        before = _figure(valve, field) if valve else None
        if before is not None and text == text_of(before.value, quantity, system):
            continue
        value = parse(text, quantity, system=system).value
        moved.setdefault((int(number), side), {})[field] = value
    return moved


@dataclass(frozen=True, slots=True)
class ValveField:
    """One field of the form: its name, label and text."""

    name: str
    label: str
    text: str


@dataclass(frozen=True, slots=True)
class ValveFields:
    """The fields of one valve."""

    cylinder: int
    side: str
    fields: tuple[ValveField, ...]


def valve_fields(
    casting: Casting, typed: Mapping[str, str], system: System
) -> tuple[ValveFields, ...]:
    """Return the fields to place and size each valve of a casting, as typed or as recorded."""
    found = []
    for valve in sorted(casting.valves, key=lambda one: (one.cylinder, one.side != "intake")):
        fields = []
        for which, (field, quantity, label) in _FIELDS.items():
            figure = _figure(valve, field)
            if which == "insert" and not valve.insert:
                continue
            name = f"{which}.{valve.cylinder}.{valve.side}"
            recorded = text_of(figure.value, quantity, system) if figure else ""
            fields.append(ValveField(name, label, typed.get(name, recorded)))
        found.append(ValveFields(valve.cylinder, valve.side, tuple(fields)))
    return tuple(found)
