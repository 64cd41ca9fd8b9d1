"""The rows of the revision table: adding, finding, suggesting, checking. No transactions here."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import sqlalchemy as sa

from headwright.errors import BookError, InputError, StaleRevisionError, UnknownRecordError
from headwright.storage.canonical import body_hash, canonical_text, from_canonical
from headwright.storage.engine import now
from headwright.storage.schema import revision as table

__all__ = [
    "Entry",
    "Revision",
    "append",
    "check_line",
    "counts",
    "damaged",
    "entries",
    "find",
    "history",
    "latest",
    "search",
    "withdraw",
]

MAX_TAG: Final = 64
MAX_NOTE: Final = 4000
_SUGGESTIONS: Final = 3


@dataclass(frozen=True, slots=True)
class Entry:
    """What the book says of one revision, without the record itself."""

    kind: str
    tag: str
    revision: int
    author: str
    time: str
    note: str
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class Revision:
    """One revision of a record. ``time`` is UTC; a withdrawal has no body."""

    kind: str
    tag: str
    revision: int
    author: str
    time: str
    note: str
    schema_version: int
    body_text: str | None = field(repr=False)
    body_hash: str | None

    @property
    def withdrawn(self) -> bool:
        """Tell whether this revision takes the record off the rack."""
        return self.body_text is None

    def read_body(self) -> dict[str, Any]:
        """Return the body, checked against its hash.

        Raises:
            BookError: the text in the book is not what was saved, or this is a withdrawal.
        """
        name = f"{self.kind} {self.tag!r} revision {self.revision}"
        if self.body_text is None:
            raise BookError(f"{name} is a withdrawal and holds no record")
        if body_hash(self.body_text) != self.body_hash:
            raise BookError(f"{name} is damaged in the book; restore the book from a backup")
        return from_canonical(self.body_text)


_COLUMNS: Final = [
    table.c[name]
    for name in (
        "kind", "tag", "revision", "author", "time", "note", "schema_version", "body", "body_hash",
    )
]  # fmt: skip


def check_line(field_name: str, text: str, limit: int, *, empty: bool = False) -> str:
    """Return one line of text, trimmed.

    Raises:
        InputError: not text, empty, too long, or with control characters.
    """
    if not isinstance(text, str):
        raise InputError(f"{field_name}: {text!r} must be text")
    line = text.strip()
    if not line and not empty:
        raise InputError(f"{field_name}: must not be empty; give 1 to {limit} characters")
    if len(line) > limit:
        raise InputError(f"{field_name}: {len(line)} characters; at most {limit} are allowed")
    if any(not char.isprintable() and char not in "\n\t" for char in line):
        raise InputError(f"{field_name}: control characters are not allowed")
    return line


def entries(connection: sa.Connection, kind: str | None = None) -> list[Entry]:
    """List the newest revision of every record, by kind and tag."""
    columns = [column for column in _COLUMNS if column.name in Entry.__dataclass_fields__]
    query = _newest(sa.select(*columns, table.c.body.is_(None).label("withdrawn")), kind)
    return [Entry(**row) for row in connection.execute(query).mappings()]


def latest(connection: sa.Connection, kind: str) -> list[Revision]:
    """Return the newest revision of every record of a kind, by tag."""
    return [Revision(*row) for row in connection.execute(_newest(sa.select(*_COLUMNS), kind))]


def counts(connection: sa.Connection) -> dict[str, int]:
    """Count the records of each kind that are on the rack."""
    found = _newest(sa.select(table.c.kind), None).where(table.c.body.is_not(None)).subquery()
    query = sa.select(found.c.kind, sa.func.count()).group_by(found.c.kind)
    return {row[0]: row[1] for row in connection.execute(query)}


def search(
    connection: sa.Connection,
    kind: str,
    words: Sequence[str],
    *,
    fields: Mapping[str, str],
    first: int,
    most: int,
) -> tuple[int, list[Revision]]:
    """Find the records of a kind whose body holds every word; return their count and a page.

    The body is searched as it is written, keys and all, so a search for ``iron`` finds what is
    made of iron and what is called so.
    """
    query = _newest(sa.select(*_COLUMNS), kind).where(table.c.body.is_not(None))
    for word in words:
        text = json.dumps(word, ensure_ascii=False)[1:-1]
        for sign in ("\\", "%", "_"):
            text = text.replace(sign, f"\\{sign}")
        query = query.where(table.c.body.like(f"%{text}%", escape="\\"))
    for name, text in fields.items():
        query = query.where(sa.func.json_extract(table.c.body, f"$.{name}") == text)
    total = connection.execute(
        sa.select(sa.func.count()).select_from(query.subquery())
    ).scalar_one()
    rows = connection.execute(query.limit(most).offset(first))
    return total, [Revision(*row) for row in rows]


def _newest(query: sa.Select[Any], kind: str | None) -> sa.Select[Any]:
    """Keep the newest revision of each record."""
    other = table.alias("other")
    newest = (
        sa.select(sa.func.max(other.c.revision))
        .where(other.c.kind == table.c.kind, other.c.tag == table.c.tag)
        .scalar_subquery()
    )
    query = query.where(table.c.revision == newest).order_by(table.c.kind, table.c.tag)
    return query if kind is None else query.where(table.c.kind == kind)


def _newest_of(connection: sa.Connection, kind: str, tag: str) -> Revision | None:
    query = (
        sa.select(*_COLUMNS)
        .where(table.c.kind == kind, table.c.tag == tag)
        .order_by(table.c.revision.desc())
        .limit(1)
    )
    row = connection.execute(query).first()
    return Revision(*row) if row else None


def find(
    connection: sa.Connection,
    kind: str,
    tag: str,
    number: int | None = None,
    *,
    allow_withdrawn: bool = False,
) -> Revision:
    """Return one revision of a record; the newest if no number is given.

    Raises:
        UnknownRecordError: no such record or revision, or it is withdrawn.
    """
    newest = _newest_of(connection, kind, tag)
    if newest is None:
        raise _unknown(connection, kind, tag)
    wanted = newest
    if number is not None and number != newest.revision:
        query = sa.select(*_COLUMNS).where(
            table.c.kind == kind, table.c.tag == tag, table.c.revision == number
        )
        within = isinstance(number, int) and 1 <= number < newest.revision
        row = connection.execute(query).first() if within else None
        if row is None:
            raise UnknownRecordError(
                f"{kind} {tag!r} has no revision {number}; it has 1 to {newest.revision}"
            )
        wanted = Revision(*row)
    if wanted.withdrawn and not allow_withdrawn:
        raise UnknownRecordError(
            f"{kind} {tag!r} was withdrawn by {wanted.author} on {wanted.time[:16]} UTC "
            f"(revision {wanted.revision}); restore revision {wanted.revision - 1} to use it again"
        )
    return wanted


def history(connection: sa.Connection, kind: str, tag: str) -> list[Revision]:
    """Return all revisions of a record, oldest first.

    Raises:
        UnknownRecordError: no such record.
    """
    query = (
        sa.select(*_COLUMNS)
        .where(table.c.kind == kind, table.c.tag == tag)
        .order_by(table.c.revision)
    )
    found = [Revision(*row) for row in connection.execute(query)]
    if not found:
        raise _unknown(connection, kind, tag)
    return found


def _unknown(connection: sa.Connection, kind: str, tag: str) -> UnknownRecordError:
    """Make the error for a tag that is not there, naming what may have been meant."""
    present = [(entry.kind, entry.tag) for entry in entries(connection) if not entry.withdrawn]
    same_kind = {other.casefold(): other for of, other in present if of == kind}
    close = difflib.get_close_matches(str(tag).casefold(), same_kind, n=_SUGGESTIONS, cutoff=0.5)
    if close:
        hint = "did you mean " + " or ".join(repr(same_kind[name]) for name in close) + "?"
    elif elsewhere := [of for of, other in present if other == tag]:
        hint = f"there is a {' and a '.join(_in_words(of) for of in elsewhere)} of that tag"
    elif same_kind:
        hint = f"the book has {len(same_kind)} of that kind; list them to see their tags"
    else:
        hint = "the book has none of that kind"
    return UnknownRecordError(f"no {_in_words(kind)} {str(tag)[:80]!r} in the book; {hint}")


def _in_words(kind: str) -> str:
    return kind.replace("_", " ")


def append(
    connection: sa.Connection,
    body: Mapping[str, Any],
    *,
    author: str,
    note: str = "",
    expected_revision: int | None = None,
) -> int:
    """Add a revision holding ``body``, unless the newest holds the same already.

    Returns:
        The number of the revision that now holds the body.

    Raises:
        RecordError: the body is not plain data.
        StaleRevisionError: the newest revision is not the expected one.
        InputError: kind, tag, author or note cannot be accepted.
    """
    kind = check_line("kind", body.get("kind", ""), MAX_TAG)
    tag = check_line("tag", body.get("tag", ""), MAX_TAG)
    text = canonical_text(body, kind)
    newest = _newest_of(connection, kind, tag)
    if newest is not None and newest.body_text == text:
        return newest.revision
    return _insert(connection, kind, tag, newest, expected_revision, author, note, body, text)


def withdraw(
    connection: sa.Connection,
    kind: str,
    tag: str,
    *,
    author: str,
    note: str,
    expected_revision: int | None,
) -> int:
    """Add a revision without a body, and return its number.

    Raises:
        UnknownRecordError: no such record, or it is withdrawn already.
        StaleRevisionError: the newest revision is not the expected one.
    """
    newest = find(connection, kind, tag)
    return _insert(connection, kind, tag, newest, expected_revision, author, note, None, None)


def _insert(
    connection: sa.Connection,
    kind: str,
    tag: str,
    newest: Revision | None,
    expected: int | None,
    author: str,
    note: str,
    body: Mapping[str, Any] | None,
    text: str | None,
) -> int:
    """Write the row that follows ``newest``."""
    there = newest.revision if newest else 0
    if expected is not None and expected != there:
        raise _stale(kind, tag, expected, newest)
    version = body.get("schema_version", 1) if body is not None else 0
    if newest is not None and body is None:
        version = newest.schema_version
    connection.execute(
        table.insert().values(
            kind=kind,
            tag=tag,
            revision=there + 1,
            author=check_line("author", author, 100),
            time=now(),
            note=check_line("note", note, MAX_NOTE, empty=True),
            schema_version=version,
            body=text,
            body_hash=None if text is None else body_hash(text),
        )
    )
    return there + 1


def _stale(kind: str, tag: str, expected: int, newest: Revision | None) -> StaleRevisionError:
    if newest is None:
        return StaleRevisionError(
            f"{kind} {tag!r} is not in the book, but revision {expected} was expected; "
            "save it as new"
        )
    did = "withdrawn" if newest.withdrawn else "saved"
    note = f" ({newest.note[:80]!r})" if newest.note else ""
    change = f"revision {expected} was expected" if expected else "it was expected to be new"
    return StaleRevisionError(
        f"{kind} {tag!r} is at revision {newest.revision}, {did} by {newest.author} on "
        f"{newest.time[:19]} UTC{note}, but {change}; nothing was saved. "
        f"Look at what changed, then save again from revision {newest.revision}"
    )


def damaged(connection: sa.Connection) -> list[str]:
    """Name every revision whose text no longer matches its hash."""
    found = []
    for row in connection.execute(sa.select(*_COLUMNS).order_by(table.c.id)):
        entry = Revision(*row)
        if entry.body_text is not None and body_hash(entry.body_text) != entry.body_hash:
            found.append(f"{entry.kind} {entry.tag!r} revision {entry.revision} is damaged")
    return found
