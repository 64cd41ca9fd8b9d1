"""Writing through the API: new records, new revisions, off the rack and on again.

The same records, the same reading and the same complaints as the forms. Every change of a record
names the revision it began from; where somebody was faster the answer is 409, with what differs.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, Final, cast

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from headwright import actions
from headwright.errors import Problem, RecordError, StaleRevisionError
from headwright.quantities import System
from headwright.records import KINDS, Instrument, Record, kind_named
from headwright.views.changes import change_rows
from headwright.views.records import record_json
from headwright.web.api_words import CONFLICT, REFUSED
from headwright.web.book import open_book_of, read_revision
from headwright.web.editing import author_of
from headwright.web.links import Links
from headwright.web.security_json import MayWrite

if TYPE_CHECKING:
    from headwright.storage.repository import Book

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["writing"])

_Number = Annotated[int, Field(ge=1, le=2_000_000_000, strict=True)]
_Line = Annotated[str, Field(max_length=4000)]
_MOST_CHANGES: Final = 500


class Signed(BaseModel):
    """Who changes, and why."""

    model_config = ConfigDict(extra="forbid")

    author: Annotated[str, Field(max_length=100, description="Whose hand it is in.")] = ""
    note: Annotated[_Line, Field(description="Why, for the history.")] = ""


class RecordSent(Signed):
    """A record to be put into the book."""

    record: Annotated[
        dict[str, Any],
        Field(
            description="The fields of the record, as GET gives them or as a builder writes them: "
            'figures may be {"value": 0.0375, "unit": "m"} or text such as "37.5 mm (measured)".'
        ),
    ]
    system: Annotated[
        System | None,
        Field(description="Whose units figures without one are in; the shop's when left out."),
    ] = None


class RevisionSent(RecordSent):
    """A record as it is to be from now on."""

    expected_revision: Annotated[
        _Number, Field(description="The revision that was read before the change.")
    ]


class WithdrawalSent(Signed):
    """A record to be taken off the rack."""

    expected_revision: _Number


class ReturnSent(Signed):
    """An old revision to be made the newest again."""

    revision: Annotated[_Number, Field(description="The revision to bring back.")]
    expected_revision: Annotated[_Number, Field(description="The newest that was seen.")]


def _read(book: Book, kind: str, sent: RecordSent, tag: str = "") -> Record:
    """Return the record that was sent.

    Raises:
        RecordError: with everything that is wrong with it, each with its path.
    """
    body = {name: part for name, part in sent.record.items() if name != "kind"}
    said = sent.record.get("kind", kind)
    if said != kind:
        raise RecordError([Problem(f"{kind}.kind", f"must be {kind}, as the address says")])
    if tag and body.setdefault("tag", tag) != tag:
        raise RecordError([Problem(f"{kind}.tag", f"must be {tag}, as the address says")])
    instruments = {
        record.tag: cast("Instrument", record)
        for record in actions.list_records(book, "instrument")
    }
    system = sent.system or actions.shop_system(book)
    return KINDS[kind].read(body, system=system, instruments=instruments)


def _answer(book: Book, kind: str, tag: str, status: int = 200) -> Response:
    body = record_json(*read_revision(book, kind, tag, None))
    place = Links().to("api", KINDS[kind].plural, tag)
    return JSONResponse(body, status, headers={"Location": place})


def _author(request: Request, sent: Signed) -> str:
    return sent.author.strip() or author_of(request)


@router.post("/{plural}", status_code=201, response_model=None, responses=REFUSED | CONFLICT)
def create(request: Request, plural: str, sent: RecordSent, allowed: MayWrite) -> Response:
    """Put a new record into the book.

    409 where its tag is taken already, on the rack or off it.
    """
    del allowed
    kind = kind_named(plural)
    with open_book_of(request) as book:
        record = _read(book, kind, sent)
        try:
            actions.save_record(
                book, record, author=_author(request, sent), note=sent.note, expected_revision=0
            )
        except StaleRevisionError:
            return _conflict(book, kind, record.tag, 0)
        return _answer(book, kind, record.tag, 201)


@router.post("/{plural}/{tag}", response_model=None, responses=REFUSED | CONFLICT)
def save(
    request: Request, plural: str, tag: str, sent: RevisionSent, allowed: MayWrite
) -> Response:
    """Save a record as a new revision; what is in the book already adds none.

    409 where somebody saved a newer revision than the expected one, with what differs.
    """
    del allowed
    kind = kind_named(plural)
    with open_book_of(request) as book:
        actions.history_of(book, kind, tag)
        record = _read(book, kind, sent, tag)
        try:
            actions.save_record(
                book,
                record,
                author=_author(request, sent),
                note=sent.note,
                expected_revision=sent.expected_revision,
            )
        except StaleRevisionError:
            return _conflict(book, kind, tag, sent.expected_revision)
        return _answer(book, kind, tag)


@router.post("/{plural}/{tag}/withdraw", response_model=None, responses=REFUSED | CONFLICT)
def withdraw(
    request: Request, plural: str, tag: str, sent: WithdrawalSent, allowed: MayWrite
) -> Response:
    """Take a record off the rack; its history stays."""
    del allowed
    kind = kind_named(plural)
    with open_book_of(request) as book:
        try:
            number = actions.withdraw_record(
                book,
                kind,
                tag,
                author=_author(request, sent),
                note=sent.note,
                expected_revision=sent.expected_revision,
            )
        except StaleRevisionError:
            return _conflict(book, kind, tag, sent.expected_revision)
    body = {"kind": kind, "tag": tag, "revision": number, "withdrawn": True}
    return JSONResponse(body)


@router.post("/{plural}/{tag}/bring-back", response_model=None, responses=REFUSED | CONFLICT)
def bring_back(
    request: Request, plural: str, tag: str, sent: ReturnSent, allowed: MayWrite
) -> Response:
    """Make an old revision the newest again; what came between stays in the history."""
    del allowed
    kind = kind_named(plural)
    with open_book_of(request) as book:
        try:
            actions.bring_back(
                book,
                kind,
                tag,
                sent.revision,
                author=_author(request, sent),
                note=sent.note,
                expected_revision=sent.expected_revision,
            )
        except StaleRevisionError:
            return _conflict(book, kind, tag, sent.expected_revision)
        return _answer(book, kind, tag)


def _conflict(book: Book, kind: str, tag: str, expected: int) -> Response:
    """Tell what was saved meanwhile: the newest revision and what differs from the expected."""
    history = actions.history_of(book, kind, tag)
    newest = history[-1]
    begun = next((one for one in history if one.revision == expected), None)
    bodies: list[Mapping[str, Any]] = [
        {} if one is None or one.withdrawn else one.read_body() for one in (begun, newest)
    ]
    changes = actions.compare_bodies(*bodies)[:_MOST_CHANGES] if begun is not None else ()
    system = actions.shop_system(book)
    rows = change_rows(changes, KINDS[kind], system)
    words = {change.path: row for change, row in zip(changes, rows, strict=False)}
    did = "taken off the rack" if newest.withdrawn else "saved"
    told = f"revision {newest.revision} of {kind} {tag} was {did} by {newest.author} meanwhile"
    if expected == 0:
        where = "was taken off the rack" if newest.withdrawn else "is in the book already"
        told = f"a {KINDS[kind].title.lower()} tagged {tag!r} {where}; choose another tag"
    return JSONResponse(
        {
            "error": {
                "status": 409,
                "messages": [told],
                "nearest": [Links().to("api", KINDS[kind].plural, tag)],
                "problems": [],
                "newest_revision": newest.revision,
                "withdrawn": newest.withdrawn,
                "changes": [
                    {
                        "path": change.path,
                        "old": change.old,
                        "new": change.new,
                        "what": words[change.path].what if change.path in words else "",
                    }
                    for change in changes
                ],
            }
        },
        409,
    )
