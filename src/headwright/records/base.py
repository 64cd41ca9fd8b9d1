"""What every record has, and how its problems are told."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Iterator, Mapping, Set
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, Final, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
)
from pydantic_core import ErrorDetails, PydanticCustomError

from headwright.errors import Problem, RecordError
from headwright.records.shown import one_line, shown

__all__ = [
    "CylinderNumber",
    "Day",
    "Line",
    "Name",
    "Part",
    "Record",
    "Tag",
    "Text",
    "dotted_path",
    "problems_from",
]

MAX_PROBLEMS: Final = 100


def _plain(text: str) -> str:
    """Refuse control characters; write line ends as one newline."""
    text = text.replace("\r\n", "\n")
    if any((ord(char) < 32 and char not in "\n\t") or 127 <= ord(char) < 160 for char in text):
        raise PydanticCustomError("text", "control characters are not allowed in text")
    return text


def _one_line(text: str) -> str:
    if "\n" in text or "\t" in text:
        raise PydanticCustomError("text", "must stand on one line, without tabs")
    return text


def _not_blank(text: str) -> str:
    if not text.strip():
        raise PydanticCustomError("text", "is blank")
    return text


def _written_day(given: Any) -> Any:
    """Take a date or the text of one; a bare number would be read as a count of seconds."""
    if isinstance(given, str):
        try:
            return dt.date.fromisoformat(given)
        except ValueError:
            given = None
    if not isinstance(given, dt.date) or isinstance(given, dt.datetime):
        raise PydanticCustomError("date", "must be a date, written as 2026-05-31")
    return given


Tag = Annotated[
    str,
    StringConstraints(strict=True, pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"),
]
"""A tag: 1 to 64 letters, digits, dots, dashes or underscores, starting with letter or digit."""

Text = Annotated[str, StringConstraints(strict=True, max_length=8000), AfterValidator(_plain)]
"""Text of any number of lines."""

Line = Annotated[
    str,
    StringConstraints(strict=True, max_length=400),
    AfterValidator(_plain),
    AfterValidator(_one_line),
]
"""Text on one line; may be empty."""

Name = Annotated[
    str,
    StringConstraints(strict=True, min_length=1, max_length=120),
    AfterValidator(_plain),
    AfterValidator(_one_line),
    AfterValidator(_not_blank),
]
"""A name: 1 to 120 characters on one line."""

CylinderNumber = Annotated[int, Field(strict=True, ge=1, le=12)]
Day = Annotated[
    dt.date,
    BeforeValidator(_written_day),
    Field(ge=dt.date(1900, 1, 1), le=dt.date(2200, 1, 1)),
]


class Part(BaseModel):
    """A piece of a record. Frozen; unknown fields are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=False)


class Record(Part):
    """A document of the shop book: a kind, a tag and what is known.

    Subclasses set ``kind``. ``schema_version`` says which form of the document was written.
    """

    kind: ClassVar[str]
    title: ClassVar[str]
    plural: ClassVar[str]

    schema_version: Annotated[int, Field(strict=True, ge=1, le=1)] = 1
    tag: Tag
    note: Text = ""

    @classmethod
    def read(cls, body: Mapping[str, Any], **context: Any) -> Self:
        """Read a record of this kind from plain data, or list every problem with its path.

        Args:
            body: the fields; a ``kind`` entry is allowed and must agree.
            context: ``system`` ("inch" or "metric") to read bare numbers in; ``instruments``, a
                mapping from tag to instrument, to evaluate repeat readings. Where instruments
                are given, be it none, the record counts as entered now: figures that contradict
                their readings and the like (:mod:`headwright.records.entering`) are refused,
                which is not asked of records that are in the book already.

        Raises:
            RecordError: with all problems found.
        """
        if not isinstance(body, Mapping):
            raise RecordError([Problem(cls.kind, "a record must be a table of fields")])
        fields = {key: value for key, value in body.items() if key != "kind"}
        kind = body.get("kind", cls.kind)
        if not isinstance(kind, str) or kind != cls.kind:
            raise RecordError([Problem(f"{cls.kind}.kind", f"{shown(kind)} is not {cls.kind!r}")])
        try:
            record = cls.model_validate(fields, context=context)
        except ValidationError as error:
            from headwright.records.partial import contradictions_beside

            problems = problems_from(error, cls)
            faults = [detail["loc"] for detail in error.errors(include_url=False)]
            beside = contradictions_beside(cls, fields, faults, context)
            known = {problem.path for problem in problems}
            problems += [problem for problem in beside if problem.path not in known]
            raise RecordError(problems) from None
        problems = list(record.contradictions())
        if "instruments" in context:
            from headwright.records.entering import doubts

            problems += record.doubtful()
            problems += doubts(record, context["instruments"] or {}, context.get("system"))
        if problems:
            raise RecordError(problems)
        return record

    def contradictions(self) -> Iterator[Problem]:
        """Yield what cannot all be true at once; records without such rules yield nothing."""
        return iter(())

    def doubtful(self) -> Iterator[Problem]:
        """Yield what cannot be so, asked only of what is entered now, not of what is kept."""
        return iter(())

    @classmethod
    def stands_alone(cls, problem: Problem, faults: Set[str]) -> bool:
        """Tell whether a contradiction holds although some fields could not be read.

        Args:
            problem: found in what is left of the record.
            faults: paths of the fields that were left out.
        """
        return not any(
            fault == problem.path or fault.startswith((f"{problem.path}.", f"{problem.path}["))
            for fault in faults
        )

    def to_body(self) -> dict[str, Any]:
        """Return plain JSON-able data in SI, with the kind first; empty parts are left out."""
        dumped = self.model_dump(mode="json", exclude_defaults=True)
        return {"kind": self.kind, "schema_version": self.schema_version, **dumped}


def dotted_path(root: str, location: tuple[int | str, ...]) -> str:
    """Write a location as a path: ``casting.valves[2].seat_width`` (lists count from zero)."""
    path = root
    for step in location:
        path += f"[{step}]" if isinstance(step, int) else f".{one_line(step)}"
    return path


def _field_names(model: type[BaseModel], seen: set[type]) -> set[str]:
    """Collect the names of all fields in a model and the models inside it."""
    if model in seen:
        return set()
    seen.add(model)
    names = set(model.model_fields)
    for field in model.model_fields.values():
        pending = [field.annotation]
        while pending:
            annotation = pending.pop()
            if isinstance(annotation, type) and issubclass(annotation, BaseModel):
                names |= _field_names(annotation, seen)
            pending.extend(getattr(annotation, "__args__", ()))
    return names


_PLAIN_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "string_pattern_mismatch": (
            "{given} is not a tag: use 1 to 64 letters, digits, dots, dashes or underscores, "
            "starting with a letter or digit"
        ),
        "literal_error": "{given} is not one of: {expected}",
        "tuple_type": "{given} must be a list",
        "model_type": "{given} must be a table of fields",
        "int_type": "{given} must be a whole number",
        "float_type": "{given} must be a number",
        "finite_number": "{given} must be a finite number",
        "string_type": "{given} must be text",
        "string_unicode": "{given} must be text, and holds characters that cannot be written",
        "string_too_short": "{given} is too short: at least {min_length} characters",
        "string_too_long": "{given} is too long: at most {max_length} characters",
        "bool_type": "{given} must be true or false",
        "bool_parsing": "{given} must be true or false",
        "greater_than": "{given} must be above {gt}",
        "greater_than_equal": "{given} must be at least {ge}",
        "less_than_equal": "{given} must be at most {le}",
        "too_short": "needs at least {min_length} in the list",
        "too_long": "has too many in the list: at most {max_length}",
        "missing": "is missing and needed",
        "invalid_key": "{given}: the names of fields must be text",
    }
)


def _message(detail: ErrorDetails, known: set[str]) -> str:
    """Put one of pydantic's complaints into the shop's words."""
    sort, given = detail["type"], shown(detail["input"])
    if sort in OWN_ERRORS:
        return detail["msg"]
    if sort == "extra_forbidden":
        close = difflib.get_close_matches(str(detail["loc"][-1])[:60], known, n=1)
        return "no such field here" + (f"; did you mean {close[0]!r}?" if close else "")
    words = _PLAIN_WORDS.get(sort)
    if words is None:
        return f"{given}: {detail['msg'].removeprefix('Value error, ')}"
    return words.format(given=given, **(detail.get("ctx") or {}))


OWN_ERRORS: Final = frozenset({"date", "quantity", "reading", "text"})


def problems_from(error: ValidationError, model: type[Record]) -> list[Problem]:
    """Turn pydantic's list of complaints into problems with a path each."""
    known = _field_names(model, set())
    details = error.errors(include_url=False)
    blamed = {detail["loc"][:length] for detail in details for length in range(len(detail["loc"]))}
    # A list whose entries all failed is not too short on top of that.
    details = [
        item for item in details if not (item["type"] == "too_short" and item["loc"] in blamed)
    ]
    problems = [
        Problem(dotted_path(model.kind, detail["loc"]), _message(detail, known))
        for detail in details[:MAX_PROBLEMS]
    ]
    if len(details) > MAX_PROBLEMS:
        problems.append(Problem(model.kind, f"and {len(details) - MAX_PROBLEMS} more problems"))
    return problems
