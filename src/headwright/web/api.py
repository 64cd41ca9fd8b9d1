"""The same figures as JSON: the documents the command line prints with ``--json``."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, ConfigDict, Field

from headwright import actions
from headwright.records import KINDS, kind_named
from headwright.views.findings import check_json
from headwright.views.ranking import ranking_json
from headwright.views.records import list_json, record_json
from headwright.web.api_words import READING
from headwright.web.book import RecordQuery, open_book_of, read_revision
from headwright.web.listing import narrowed

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["shop book"], responses=READING)


@router.get("/kinds")
def kinds(request: Request) -> dict[str, Any]:
    """List the kinds of record and how many of each the book holds."""
    with open_book_of(request) as book:
        counts = actions.count_records(book)
    return {
        "kinds": [
            {"kind": kind, "plural": KINDS[kind].plural, "count": count}
            for kind, count in counts.items()
        ]
    }


@router.get("/builds/{tag}/rank")
def rank(request: Request, tag: str) -> dict[str, Any]:
    """Rank every casting in the book for a build, best first; SI, keys ending in the unit."""
    with open_book_of(request) as book:
        return ranking_json(actions.rank_build(book, tag, engine=True, only_kept=True))


@router.get("/builds/{tag}/check")
def check(request: Request, tag: str) -> dict[str, Any]:
    """Run every check on a build as it is meant; SI, keys ending in the unit."""
    with open_book_of(request) as book:
        return check_json(actions.check_build(book, tag))


class _Page(BaseModel):
    """Which of the records to list: words in them, how many to pass over, how many to give."""

    model_config = ConfigDict(extra="allow")

    words: Annotated[str, Field(max_length=200, description="Each must stand in the record.")] = ""
    offset: Annotated[int, Field(ge=0, le=100_000_000)] = 0
    limit: Annotated[int, Field(ge=1, le=1000)] = 100


@router.get("/{plural}")
def list_of_kind(request: Request, plural: str, page: Annotated[_Page, Query()]) -> dict[str, Any]:
    """List the records of a kind by tag, a page at a time: tags and summary fields.

    ``total`` counts all that fit. A field with a choice of words narrows the list too, such as
    ``condition=virgin``.
    """
    kind = kind_named(plural)
    known = {"words", "offset", "limit"}
    chosen = {choice.name: choice.chosen for choice in narrowed(request, kind, known)}
    with open_book_of(request) as book:
        total, records = actions.find_records(
            book,
            kind,
            page.words.split(),
            fields={name: said for name, said in chosen.items() if said},
            first=page.offset,
            most=page.limit,
        )
    return {
        **list_json(records),
        "total": total,
        "offset": page.offset,
        "limit": page.limit,
    }


@router.get("/{plural}/{tag}")
def record(request: Request, plural: str, tag: str, query: RecordQuery) -> dict[str, Any]:
    """Return one record with its revision; every figure carries its SI unit."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        return record_json(*read_revision(book, kind, tag, query.revision))


@router.get("/{plural}/{tag}/history")
def history(request: Request, plural: str, tag: str) -> dict[str, Any]:
    """List every revision of a record, oldest first."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        return {
            "revisions": [
                {
                    "revision": entry.revision,
                    "time": entry.time,
                    "author": entry.author,
                    "note": entry.note,
                    "withdrawn": entry.withdrawn,
                }
                for entry in actions.history_of(book, kind, tag)
            ]
        }
