"""From a record to the fields of its form, and back to the body of a record.

A field's name is its dotted path, ``chambers.0.volume``; what belongs to a figure besides its
value has the same name and an ending, ``chambers.0.volume~from``. An entry of a list carries
``chambers.0~was``, the place it had in the revision the form was made from, empty for a new one.

What was not touched is kept exactly: a text that is still what the form was filled with stands
for the figure in the book with all its digits, not for the digits shown.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, cast

from pydantic import BaseModel

from headwright.errors import Problem, QuantityError
from headwright.quantities import GLOSSARY, Quantity, System
from headwright.quantities.spread import spread_of
from headwright.records.figure_text import read_figure
from headwright.records.measured import PROVENANCES, Measured
from headwright.records.series import Series
from headwright.records.shapes import Shape, shapes_of
from headwright.records.shown import shown

__all__ = ["FIGURE_ENDINGS", "Reader", "entries_of", "fill", "read_text_figure", "split_figures"]

FIGURE_ENDINGS: Final = ("from", "spread", "readings", "with", "source", "note")
"""What a figure has besides its value: provenance, uncertainty, readings, instrument ..."""

_TRAILING_PROVENANCE: Final = re.compile(r"^(.*?)\s*\(\s*([A-Za-z]+)\s*\)\s*$", re.DOTALL)
_BETWEEN: Final = re.compile(r"[;\n]")
_PLACES: Final = re.compile(r"[0-9]{1,5}")
_LONGEST_FIELD: Final = 200_000
_NOTHING: Final = object()


# ------------------------------------------------------------------ record -> fields


def fill(part: BaseModel | None, model: type[BaseModel], system: System) -> dict[str, str]:
    """Return the fields of a form that shows a record.

    Args:
        part: the record; None gives the fields of an empty form.
        model: its model.
        system: whose units the figures are written in.
    """
    fields: dict[str, str] = {}
    _fill(part, model, "", system, fields)
    return fields


def _fill(
    part: BaseModel | None,
    model: type[BaseModel],
    before: str,
    system: System,
    fields: dict[str, str],
) -> None:
    for shape in shapes_of(model):
        value = shape.default if part is None else getattr(part, shape.name)
        path = before + shape.name
        if shape.sort == "part":
            _fill(value, shape.part, f"{path}.", system, fields)
        elif shape.sort == "parts":
            for place, entry in enumerate(value or ()):
                fields[f"{path}.{place}~was"] = str(place)
                _fill(entry, shape.part, f"{path}.{place}.", system, fields)
        elif shape.sort == "figure":
            _fill_figure(value, GLOSSARY[shape.quantity], path, system, fields)
        elif shape.sort == "series":
            _fill_series(value, GLOSSARY[shape.quantity], path, system, fields)
        elif shape.sort == "readings":
            fields[path] = _readings_text(part, value)
        else:
            fields[path] = _plain_text(value)


def _plain_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return ", ".join(str(item) for item in value)
    return str(value)


def _fill_figure(
    figure: Measured | None, quantity: Quantity, path: str, system: System, fields: dict[str, str]
) -> None:
    texts = dict.fromkeys(FIGURE_ENDINGS, "")
    fields[path] = ""
    if figure is not None:
        fields[path] = _number_text(figure.value, quantity, system)
        texts["from"] = figure.provenance
        if figure.uncertainty is not None:
            texts["spread"] = _spread_text(figure.uncertainty, quantity, system)
        texts["readings"] = "; ".join(
            _number_text(reading, quantity, system) for reading in figure.readings
        )
        texts["with"] = figure.instrument or ""
        texts["source"] = figure.source
        texts["note"] = figure.note
    for ending, text in texts.items():
        fields[f"{path}~{ending}"] = text


def _number_text(value: float, quantity: Quantity, system: System) -> str:
    """Write a figure with two more digits than are shown elsewhere, less noughts at the end."""
    unit = quantity.unit_in(system)
    decimals = quantity.decimals_in(system)
    text = f"{unit.from_si(value):z.{decimals + 2}f}"
    for _ in range(2):
        if decimals + 2 > 0 and text.endswith("0") and "." in text:
            text = text[:-1]
    return unit.after(text.removesuffix("."))


def _spread_text(uncertainty: float, quantity: Quantity, system: System) -> str:
    unit = spread_of(quantity).unit_in(system)
    return unit.after(f"{unit.spread_from_si(uncertainty):.4g}")


def _fill_series(
    series: Series | None, quantity: Quantity, path: str, system: System, fields: dict[str, str]
) -> None:
    values = series.values if series else ()
    fields[path] = "\n".join(_number_text(value, quantity, system) for value in values)
    fields[f"{path}~from"] = series.provenance if series else ""
    spread = series.uncertainty if series else None
    fields[f"{path}~spread"] = "" if spread is None else _spread_text(spread, quantity, system)
    fields[f"{path}~source"] = series.source if series else ""


def _readings_text(part: BaseModel | None, values: Iterable[float] | None) -> str:
    unit = getattr(part, "unit", None) or ""
    return "; ".join(f"{value!r} {unit}".strip() for value in values or ())


# ------------------------------------------------------------------ fields -> body


def entries_of(fields: Iterable[str], path: str) -> list[int]:
    """Return the numbers under which the entries of a list stand in a form, in their order."""
    start, end = f"{path}.", "~was"
    found: dict[int, None] = {}
    for name in fields:
        if name.startswith(start) and name.endswith(end):
            number = name[len(start) : -len(end)]
            if _PLACES.fullmatch(number):
                found[int(number)] = None
    return list(found)


def split_figures(text: str) -> list[str]:
    """Return the figures of a list of readings, written with semicolons or on lines."""
    return [piece.strip() for piece in _BETWEEN.split(text) if piece.strip()]


def read_text_figure(
    text: str, quantity: Quantity, system: System
) -> tuple[float, float | None, str, bool]:
    """Read a figure with its provenance behind it: value, uncertainty, provenance, unit assumed.

    Raises:
        QuantityError: it is no such figure.
    """
    provenance = ""
    match = _TRAILING_PROVENANCE.match(text) if len(text) <= 200 else None
    if match:
        provenance = match[2].lower()
        if provenance not in PROVENANCES:
            raise QuantityError(
                quantity.name,
                shown(text),
                f"({match[2]}) is no provenance; use one of: {', '.join(PROVENANCES)}",
            )
        text = match[1]
    reading = read_figure(text, quantity, system=system)
    return reading.value, reading.uncertainty, provenance, reading.assumed_unit


@dataclass
class Reader:
    """Reads a form into a body.

    Attributes:
        fields: as sent.
        base: the fields of the revision the form was made from.
        system: whose units bare figures are in.
        problems: what cannot be read, by field.
        names: the field of each path of the body, to bring the record's problems home.
    """

    fields: Mapping[str, str]
    base: Mapping[str, str]
    system: System
    problems: list[Problem] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)

    def read(self, model: type[BaseModel], part: BaseModel | None) -> dict[str, Any]:
        """Return the body of a record; see :attr:`problems` for what could not be read."""
        return self._part(model, part, "", "", "")

    def _text(self, name: str) -> str:
        text = self.fields.get(name, "")
        return text if len(text) <= _LONGEST_FIELD else text[:_LONGEST_FIELD]

    def _untouched(self, name: str, was: str) -> bool:
        return self._text(name).strip() == self.base.get(was, "").strip()

    def _part(
        self, model: type[BaseModel], part: BaseModel | None, name: str, was: str, path: str
    ) -> dict[str, Any]:
        """Read the fields under ``name``.

        Args:
            model: what is there.
            part: what was there.
            name: its fields begin so.
            was: its fields began so in the base.
            path: its paths in the body begin so.
        """
        body: dict[str, Any] = {}
        for shape in shapes_of(model):
            here, there, place = name + shape.name, was + shape.name, path + shape.name
            self.names[place] = here
            old = getattr(part, shape.name) if part is not None else None
            found: Any
            if shape.sort == "part":
                found = self._part(shape.part, old, f"{here}.", f"{there}.", f"{place}.")
                if not found and not shape.required:
                    found = _NOTHING
            elif shape.sort == "parts":
                found = self._parts(shape, old or (), here, there, place) or _NOTHING
            elif shape.sort == "figure":
                found = self._figure(shape, old, here, there)
            elif shape.sort == "series":
                found = self._series(shape, old, here, there)
            elif shape.sort == "readings":
                found = self._readings(old, part, here, there)
            else:
                found = self._plain(shape, here)
            if found is not _NOTHING:
                body[shape.name] = found
        return body

    def _parts(
        self, shape: Shape, old: Sequence[BaseModel], name: str, was: str, path: str
    ) -> list[dict[str, Any]]:
        bodies: list[dict[str, Any]] = []
        for number in entries_of(self.fields, name):
            mark = self._text(f"{name}.{number}~was")
            before = old[int(mark)] if mark.isdecimal() and int(mark) < len(old) else None
            place = f"{path}[{len(bodies)}]"
            self.names[place] = f"{name}.{number}"
            entry = self._part(
                shape.part,
                before,
                f"{name}.{number}.",
                f"{was}.{mark}." if before is not None else "~.",
                f"{place}.",
            )
            if before is not None or _says_something(shape.part, entry):
                bodies.append(entry)
        return bodies

    # -------------------------------------------------------------- plain fields

    def _plain(self, shape: Shape, name: str) -> Any:
        text = self._text(name)
        if shape.sort == "text":
            return text if text.strip() else _NOTHING
        text = text.strip()
        if not text:
            return _NOTHING
        if shape.sort == "flag":
            return {"yes": True, "no": False}.get(text, text)
        if shape.sort == "whole":
            return int(text) if re.fullmatch(r"[+-]?[0-9]{1,18}", text) else text
        if shape.sort == "number":
            return _number(text)
        if shape.sort == "several":
            pieces = [piece for piece in re.split(r"[,;\s]+", text) if piece]
            if not shape.whole:
                return pieces
            return [int(one) if re.fullmatch(r"[0-9]{1,18}", one) else one for one in pieces]
        return text

    def _readings(
        self, old: Sequence[float] | None, part: BaseModel | None, name: str, was: str
    ) -> Any:
        if old and self._untouched(name, was):
            unit = getattr(part, "unit", None) or ""
            return [f"{value!r} {unit}".strip() for value in old]
        return split_figures(self._text(name)) or _NOTHING

    # -------------------------------------------------------------- figures

    def _refused(self, name: str, reason: str) -> None:
        self.problems.append(Problem(name, reason))

    def _one(self, text: str, quantity: Quantity, name: str, what: str = "") -> float | None:
        """Read a figure that stands for itself."""
        try:
            reading = read_figure(text, quantity, system=self.system)
        except QuantityError as error:
            self._refused(name, what + error.reason)
            return None
        if reading.uncertainty is not None:
            self._refused(name, f"{what}{shown(text)} has an uncertainty of its own")
        return reading.value

    def _figure(self, shape: Shape, old: Measured | None, name: str, was: str) -> Any:
        endings = {ending: f"{name}~{ending}" for ending in FIGURE_ENDINGS}
        kept = {ending: self._untouched(endings[ending], f"{was}~{ending}") for ending in endings}
        kept["value"] = self._untouched(name, was)
        if old is not None and all(kept.values()):
            return old.model_dump()
        text = self._text(name).strip()
        said = {ending: self._text(field_name).strip() for ending, field_name in endings.items()}
        rest = [end for end in FIGURE_ENDINGS if said[end] and end != "from"]
        if not text and all(kept[end] and end != "readings" for end in rest):
            return _NOTHING  # emptied: what belonged to it goes with it
        quantity = GLOSSARY[shape.quantity]
        table: dict[str, Any] = {"unit": quantity.si_unit}
        known = len(self.problems)
        readings = self._figure_readings(quantity, old, said, kept, endings["readings"])
        if readings:
            table["readings"] = readings
        anew = bool(readings) and kept["value"] and not (kept["readings"] and kept["with"])
        if text and not anew:
            spread = self._figure_value(table, text, quantity, old, name, kept=kept["value"])
            if old is not None and readings and kept["readings"] and not kept["value"]:
                self._refused(
                    name, "is not the mean of its readings: change the readings, or empty them"
                )
        else:
            spread = None
        if not text and not readings:
            self._refused(name, "has no value: give one, or clear what belongs to it")
        self._figure_spread(table, quantity, old, said, kept, endings, spread, anew=anew)
        if said["from"] and not (table.get("provenance") and kept["from"]):
            table["provenance"] = said["from"]
        for ending, key in (("with", "instrument"), ("source", "source"), ("note", "note")):
            if said[ending]:
                table[key] = said[ending]
        if len(self.problems) > known:
            return _NOTHING if not shape.required else table if "value" in table else _NOTHING
        return table

    def _figure_readings(
        self,
        quantity: Quantity,
        old: Measured | None,
        said: Mapping[str, str],
        kept: Mapping[str, bool],
        name: str,
    ) -> list[float]:
        if old is not None and kept["readings"]:
            return list(old.readings)
        found = [
            self._one(piece, quantity, name, f"reading {place}: ")
            for place, piece in enumerate(split_figures(said["readings"])[:201], start=1)
        ]
        return [value for value in found if value is not None]

    def _figure_value(
        self,
        table: dict[str, Any],
        text: str,
        quantity: Quantity,
        old: Measured | None,
        name: str,
        *,
        kept: bool,
    ) -> float | None:
        """Put the value into the table; return the uncertainty written beside it."""
        if old is not None and kept:
            table["value"] = old.value
            return None
        try:
            value, spread, provenance, _ = read_text_figure(text, quantity, self.system)
        except QuantityError as error:
            self._refused(name, error.reason)
            return None
        table["value"] = value
        if provenance:
            table["provenance"] = provenance
        return spread

    def _figure_spread(
        self,
        table: dict[str, Any],
        quantity: Quantity,
        old: Measured | None,
        said: Mapping[str, str],
        kept: Mapping[str, bool],
        endings: Mapping[str, str],
        spread: float | None,
        *,
        anew: bool,
    ) -> None:
        if said["spread"] and not kept["spread"]:
            if spread is not None:
                self._refused(endings["spread"], "the uncertainty is given twice")
            value = self._one(said["spread"], spread_of(quantity), endings["spread"])
            if value is not None:
                table["uncertainty"] = value
        elif spread is not None:
            table["uncertainty"] = spread
        elif old is not None and old.uncertainty is not None and kept["spread"] and not anew:
            table["uncertainty"] = old.uncertainty
            if old.dof is not None:
                table["dof"] = old.dof

    def _series(self, shape: Shape, old: Series | None, name: str, was: str) -> Any:
        endings = ("from", "spread", "source")
        kept = {
            ending: self._untouched(f"{name}~{ending}", f"{was}~{ending}") for ending in endings
        }
        kept["value"] = self._untouched(name, was)
        if old is not None and all(kept.values()):
            return old.model_dump()
        quantity = GLOSSARY[shape.quantity]
        pieces = split_figures(self._text(name))
        if not pieces:
            return _NOTHING
        table: dict[str, Any] = {"unit": quantity.si_unit}
        known = len(self.problems)
        if old is not None and kept["value"]:
            table["values"] = list(old.values)
        else:
            table["values"] = [
                self._one(piece, quantity, name, f"line {place}: ")
                for place, piece in enumerate(pieces[:4001], start=1)
            ]
        spread = self._text(f"{name}~spread").strip()
        if old is not None and kept["spread"] and old.uncertainty is not None:
            table["uncertainty"] = old.uncertainty
        elif spread:
            table["uncertainty"] = self._one(spread, spread_of(quantity), f"{name}~spread")
        for ending, key in (("from", "provenance"), ("source", "source")):
            if text := self._text(f"{name}~{ending}").strip():
                table[key] = text
        return table if len(self.problems) == known else _NOTHING


def _number(text: str) -> Any:
    try:
        return float(text)
    except ValueError:
        return text


def _says_something(model: type[BaseModel], entry: Mapping[str, Any]) -> bool:
    """Tell whether a new entry holds more than what its fields hold by themselves."""
    defaults = {shape.name: shape.default for shape in shapes_of(model)}
    return any(value != cast("Any", defaults.get(name)) for name, value in entry.items())
