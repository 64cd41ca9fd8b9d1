"""Entering and editing records of every kind through forms made from their models."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, Final, cast
from urllib.parse import quote, unquote

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException

from headwright import actions
from headwright.errors import (
    InputError,
    RecordError,
    StaleRevisionError,
    UnknownRecordError,
)
from headwright.quantities import System
from headwright.records import KINDS, Build, Instrument, Record, kind_named, read_record
from headwright.records.shapes import find_shape, kinds_referred
from headwright.views.changes import change_rows
from headwright.views.findings import check_view
from headwright.web.book import frame_for, open_book_of
from headwright.web.editing_contexts import Clash, Draft, DraftPart, EchoPart, EditPage, EditPart
from headwright.web.editing_fields import Reader, fill, split_figures
from headwright.web.editing_layout import Echo, Layout, by_field, echo_of
from headwright.web.editing_lists import place_of, rearranged
from headwright.web.editing_merge import CannotMergeError, Merged, Merger
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import Sent, SentForm, add_cookie, form_token

if TYPE_CHECKING:
    from headwright.storage.repository import Book

__all__ = ["Desk", "author_of", "remember_author", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

_WHO: Final = "headwright-who"
_YEAR: Final = 365 * 24 * 3600
_SMALL: Final = 90
"""Forms with fewer inputs than this start with every group open."""
_OPENED: Final = {"build": frozenset({"targets", "cuts"})}
"""Groups that start open all the same: what a build is decided by."""


class _Asked(BaseModel):
    """What may be asked of a form: the units, and the field to open it at."""

    model_config = ConfigDict(extra="forbid")

    system: Annotated[str, Field(pattern="^(inch|metric)$")] | None = None
    at: Annotated[str, Field(max_length=200)] = ""
    like: Annotated[str, Field(max_length=64)] = ""


FormQuery = Annotated[_Asked, Query()]


# ------------------------------------------------------------------ who


def author_of(request: Request) -> str:
    """Return whose hand a change is in, as far as this browser or the server knows."""
    said = unquote(request.cookies.get(_WHO, ""))[:100].strip()
    return said if said.isprintable() and said else str(request.app.state.author or "unknown")


def remember_author(request: Request, author: str) -> None:
    """Have this browser remember who writes."""
    add_cookie(request, _WHO, quote(author[:100], safe=""), seconds=_YEAR)


# ------------------------------------------------------------------ pages


@router.get("/new/{word}")
def new_page(request: Request, word: str, query: FormQuery) -> str:
    """Show an empty form, or one filled like another record."""
    kind = kind_named(word)
    with open_book_of(request) as book:
        like = None
        if query.like:
            found = actions.show_record(book, kind, query.like)
            like = read_record(found.read_body())
        desk = Desk(request, book, kind, "", _system(query.system, book))
        desk.like = f"{query.like}:{found.revision}" if query.like else ""
        fields = fill(like, KINDS[kind], desk.system)
        if like is not None:
            fields["tag"] = ""
        return desk.page(fields, base=0, at=query.at)


@router.get("/{plural}/{tag}/edit")
def edit_page(request: Request, plural: str, tag: str, query: FormQuery) -> str:
    """Show a record's form."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        found = actions.show_record(book, kind, tag)
        desk = Desk(request, book, kind, tag, _system(query.system, book))
        fields = fill(read_record(found.read_body()), KINDS[kind], desk.system)
        at = place_of(fields, query.at, desk.model)
        return desk.page(fields, base=found.revision, at=at)


@router.post("/new/{word}", response_model=None)
def new_sent(request: Request, word: str, sent: SentForm) -> Response:
    """Put a new record into the book, or show its form again."""
    kind = kind_named(word)
    with open_book_of(request) as book:
        return Desk(request, book, kind, "", _system(sent["~system"], book)).take(sent)


@router.post("/{plural}/{tag}/edit", response_model=None)
def edit_sent(request: Request, plural: str, tag: str, sent: SentForm) -> Response:
    """Save a record as a new revision, or show its form again."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        return Desk(request, book, kind, tag, _system(sent["~system"], book)).take(sent)


@router.get("/reading/{kind}")
def reading(request: Request, kind: str) -> str:
    """Say what was read from one figure while it is typed."""
    model = KINDS[kind_named(kind)]
    asked = dict(request.query_params)
    system: System = "metric" if asked.pop("~system", "") == "metric" else "inch"
    name = next((key for key in asked if "~" not in key), "")
    shape = find_shape(model, name)
    if shape is None or not shape.quantity:
        raise InputError(f"field: {name[:80]!r} is no figure of a {kind[:40]}")
    texts = asked[name]
    provenance = asked.get(f"{name}~from", "")
    quantity = shape.quantity
    said: list[Echo | None] = []
    if shape.sort == "series":
        pieces = split_figures(texts)
        read = [echo_of(piece, quantity, system, provenance) for piece in pieces[:4000]]
        wrong = [echo for echo in read if echo and echo.is_error]
        said += wrong[:2] or [Echo(f"{len(read)} figures")]
    else:
        pieces = split_figures(asked.get(f"{name}~readings", ""))
        read = [echo_of(piece, quantity, system, "measured") for piece in pieces[:200]]
        wrong = [echo for echo in read if echo and echo.is_error]
        said.append(echo_of(texts, quantity, system, provenance, intended=shape.intended))
        if wrong:
            said += wrong[:1]
        elif pieces:
            said.append(Echo(f"{len(pieces)} readings; their mean counts once saved"))
    frame = frame_for(request, system, None)
    return render(EchoPart(heading="", said=[echo for echo in said if echo]), frame)


@router.get("/part/{kind}/{path}")
def part(request: Request, kind: str, path: str) -> str:
    """Show a part of a form that was left out of it, as it is in the revision begun from."""
    asked = request.query_params
    model = KINDS[kind_named(kind)]
    with open_book_of(request) as book:
        desk = Desk(
            request, book, kind, asked.get("~of", "")[:64], _system(asked.get("~system"), book)
        )
        desk.like = asked.get("~like", "")[:80]
        fields = desk.base_fields(_whole(asked.get("~base", "")))
        found = desk.layout(fields, fields).part_at(model, path[:200])
    if found is None:
        raise HTTPException(404)
    shape = find_shape(model, path.rpartition(".")[0])
    view = EditPart("", kind, found, shape.label if shape else "")
    return render(view, frame_for(request, desk.system, None))


@router.post("/draft/build", response_model=None)
def draft(request: Request, sent: SentForm) -> str:
    """Check a build as it stands in its form; nothing is saved."""
    with open_book_of(request) as book:
        desk = Desk(request, book, "build", sent["~of"][:64], _system(sent["~system"], book))
        desk.like = sent["~like"][:80]
        base = _whole(sent["~base"])
        part = DraftPart(heading="", draft=desk.draft_of(desk.whole(sent.fields, base), base))
        return render(part, frame_for(request, desk.system, None))


def _system(said: str | None, book: Book) -> System:
    if said in {"inch", "metric"}:
        return cast("System", said)
    return actions.shop_system(book)


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


# ------------------------------------------------------------------ at work on one record


class Desk:
    """One form at work: what was sent, what is in the book, what to show."""

    def __init__(self, request: Request, book: Book, kind: str, tag: str, system: System) -> None:
        self.request = request
        self.book = book
        self.kind = kind
        self.tag = tag
        self.system: System = system
        self.model = KINDS[kind]
        self.like = ""  # tag and revision of the record a new one is copied from
        self._filled: dict[int, Mapping[str, str]] = {}

    # ---- reading

    def base_record(self, revision: int) -> Record | None:
        """Return the record a form was made from, if there is one."""
        tag = self.tag
        if not tag:
            tag, _, number = self.like.rpartition(":")
            revision = _whole(number)
        if not revision or not tag:
            return None
        try:
            found = actions.show_record(self.book, self.kind, tag, revision)
        except UnknownRecordError:
            return None
        return read_record(found.read_body())

    def base_fields(self, revision: int) -> Mapping[str, str]:
        """Return the fields of the revision a form was made from; empty where there is none."""
        if revision not in self._filled:
            old = self.base_record(revision)
            self._filled[revision] = {} if old is None else fill(old, self.model, self.system)
        return self._filled[revision]

    def whole(self, fields: Mapping[str, str], base: int) -> dict[str, str]:
        """Return a form with the parts that were left out of it, as they were.

        Raises:
            InputError: parts were left out, and what they were cannot be found.
        """
        shut = [name.removesuffix("~shut") for name in fields if name.endswith("~shut")]
        found = {name: text for name, text in fields.items() if not name.endswith("~shut")}
        if not shut:
            return found
        before = self.base_fields(base)
        if not before:
            raise InputError("form: the revision it was made from cannot be found; open it again")
        inside = tuple(f"{name}." for name in shut)
        for name, text in before.items():
            if name.startswith(inside):
                found.setdefault(name, text)
        return found

    def read(
        self, fields: Mapping[str, str], base: int
    ) -> tuple[Record | None, dict[str, Sequence[str]]]:
        """Return the record a form describes, or what is wrong with it, by field."""
        record, problems, _ = self._read(fields, base)
        return record, problems

    def _read(
        self, fields: Mapping[str, str], base: int
    ) -> tuple[Record | None, dict[str, Sequence[str]], dict[str, Any]]:
        old = self.base_record(base)
        # A figure is compared with what the form was filled with, in the same units.
        before = self.base_fields(base) if old is not None else fill(None, self.model, self.system)
        reader = Reader(fields, before, self.system)
        body = reader.read(self.model, old)
        if self.tag:
            body["tag"] = self.tag
        problems: dict[str, list[str]] = {}
        for problem in reader.problems:
            problems.setdefault(problem.path, []).append(problem.message)
        record: Record | None = None
        try:
            record = self.model.read(body, system=self.system, instruments=self.instruments())
        except RecordError as error:
            for name, told in by_field(error.problems, reader.names, self.kind).items():
                # A figure that could not be read is missing from the body; once is enough.
                if not any(place.partition("~")[0] == name for place in problems):
                    problems.setdefault(name, []).extend(told)
        if problems:
            record = None
        return record, {name: tuple(told) for name, told in problems.items()}, body

    def instruments(self) -> dict[str, Instrument]:
        """Return the shop's instruments by tag, to evaluate readings."""
        return {
            record.tag: cast("Instrument", record)
            for record in actions.list_records(self.book, "instrument")
        }

    # ---- answering

    def take(self, sent: Sent) -> Response:
        """Do what the pressed button asks."""
        doing, _, what = sent["~do"].partition(":")
        base = _whole(sent["~base"])
        self.like = sent["~like"][:80]
        sent = Sent(self.whole(sent.fields, base), sent.files)
        fields = dict(sent.fields)
        if doing == "open":
            return HTMLResponse(self.page(fields, base=base, at=what[:200], sent=sent))
        if doing in {"add", "drop", "like"}:
            at = rearranged(fields, doing, what[:200], self.model)
            page = self.page(fields, base=base, at=at, sent=sent)
            return HTMLResponse(page)
        if doing == "merge":
            return self._merge(sent, base, _whole(what))
        record, problems = self.read(fields, base)
        if doing == "look":
            told = "Nothing is saved yet. Every field can be read." if record else ""
            page = self.page(fields, base=base, problems=problems, sent=sent, told=told)
            return HTMLResponse(page)
        if record is None:
            return HTMLResponse(self.page(fields, base=base, problems=problems, sent=sent), 422)
        expected = _whole(what) if doing == "over" else base
        return self._save(record, sent, base, expected)

    def _save(self, record: Record, sent: Sent, base: int, expected: int) -> Response:
        fields = dict(sent.fields)
        author = sent["~author"].strip() or author_of(self.request)
        try:
            actions.save_record(
                self.book,
                record,
                author=author,
                note=sent["~note"],
                expected_revision=expected,
            )
        except StaleRevisionError:
            return self._clash(record, sent, base)
        except InputError as error:
            page = self.page(fields, base=base, problems={"": (str(error),)}, sent=sent)
            return HTMLResponse(page, 422)
        remember_author(self.request, author)
        place = Links().record(self.kind, record.tag)
        return RedirectResponse(place, 303)

    def _clash(self, record: Record, sent: Sent, base: int) -> Response:
        """Show what was saved meanwhile, and the form as it was sent."""
        history = actions.history_of(self.book, self.kind, record.tag)
        newest = history[-1]
        if not self.tag:
            did = "was taken off the rack; choose another tag, or bring it back from its history"
            if not newest.withdrawn:
                did = "is in the book already; choose another tag"
            words = f"a {self.model.title.lower()} tagged {record.tag!r} {did}"
            page = self.page(sent.fields, base=0, problems={"tag": (words,)}, sent=sent)
            return HTMLResponse(page, 409)
        old = next((entry for entry in history if entry.revision == base), None)
        before = old.read_body() if old is not None and not old.withdrawn else {}
        after = {} if newest.withdrawn else newest.read_body()
        did = "taken off the rack" if newest.withdrawn else "saved"
        words = (
            f"Revision {newest.revision} was {did} by {newest.author} on "
            f"{newest.time[:16].replace('T', ' ')} UTC"
            + (f" ({newest.note})." if newest.note else ".")
        )
        changes = change_rows(actions.compare_bodies(before, after), self.model, self.system)
        cannot = ""
        try:
            self._merged(sent, base)
        except CannotMergeError as error:
            cannot = str(error)
        page = self.page(
            sent.fields,
            base=base,
            sent=sent,
            clash=Clash(newest.revision, words, cannot),
            changes=changes,
            older_words=f"revision {base}, yours began here",
            newer_words=f"revision {newest.revision}, in the book now",
        )
        return HTMLResponse(page, 409)

    def _merged(self, sent: Sent, base: int) -> Merged:
        """Return the form with theirs wherever it was left alone.

        Raises:
            CannotMergeError: it cannot be said which entry of a list is which.
        """
        newest = actions.history_of(self.book, self.kind, self.tag)[-1]
        before = self.base_fields(base)
        if not before or newest.withdrawn:
            raise CannotMergeError("there is nothing to take in")
        after = self.base_fields(newest.revision)
        return Merger(self.model, dict(sent.fields), before, after).merge()

    def _merge(self, sent: Sent, base: int, seen: int) -> Response:
        newest = actions.history_of(self.book, self.kind, self.tag)[-1].revision
        try:
            merged = self._merged(sent, base)
        except CannotMergeError as error:
            told = f"Their changes cannot be taken in: {error}. Compare by hand."
            return HTMLResponse(self.page(sent.fields, base=base, sent=sent, told=told), 409)
        _, problems = self.read(merged.fields, newest)
        told = f"Their changes up to revision {newest} are in. Look it over, then save."
        if newest != seen:
            told = f"It was saved once more meanwhile: revision {newest} is in. Look it over."
        page = self.page(
            merged.fields,
            base=newest,
            problems=problems,
            sent=sent,
            told=told,
            merged=merged.told,
        )
        return HTMLResponse(page)

    # ---- showing

    def draft_of(self, fields: Mapping[str, str], base: int) -> Draft:
        """Check a build as it stands in its form."""
        if not self.tag:
            fields = {**fields, "tag": fields.get("tag", "").strip() or "draft"}
        record, problems = self.read(fields, base)
        if record is None:
            names = [name.partition("~")[0].replace("_", " ") for name in problems if name]
            return Draft(None, (f"To be put right first: {', '.join(names[:8]) or 'the form'}.",))
        try:
            report = actions.check_draft(self.book, cast("Build", record))
        except RecordError as error:
            return Draft(None, tuple(problem.message for problem in error.problems[:8]))
        except InputError as error:
            return Draft(None, (str(error),))
        return Draft(check_view(report, self.system))

    def page(
        self,
        fields: Mapping[str, str],
        *,
        base: int,
        at: str = "",
        problems: Mapping[str, Sequence[str]] | None = None,
        sent: Sent | None = None,
        told: str = "",
        **more: Any,
    ) -> str:
        """Return the page with the form as it stands."""
        layout = self.layout(fields, self.base_fields(base), problems or {}, at)
        form = layout.of(self.model, self.model.title, skip=("tag",) if self.tag else ())
        title = self.model.title.lower()
        listed = [(name, words) for name, told_ in (problems or {}).items() for words in told_]
        page = EditPage(
            heading=f"Edit {title} {self.tag}" if self.tag else f"New {title}",
            kind=self.kind,
            tag=self.tag,
            action=self._action(),
            base=base,
            like=self.like,
            form=form,
            author=(sent["~author"] if sent else "") or author_of(self.request),
            note=sent["~note"] if sent else "",
            told=told,
            problems=listed,
            instruments=layout.tags["instrument"],
            draft=self.draft_of(fields, base) if self.kind == "build" else None,
            **more,
        )
        frame = frame_for(self.request, self.system, None, token=form_token(self.request))
        return render(page, frame)

    def layout(
        self,
        fields: Mapping[str, str],
        base: Mapping[str, str],
        problems: Mapping[str, Sequence[str]] = MappingProxyType({}),
        at: str = "",
    ) -> Layout:
        """Return what lays the form out."""
        tags = {
            kind: actions.tags_of(self.book, kind)
            for kind in {*kinds_referred(self.model), "instrument"}
        }
        return Layout(
            fields,
            self.system,
            tags,
            problems=problems,
            at=at,
            wide_open=len(fields) < _SMALL,
            opened=_OPENED.get(self.kind, frozenset()),
            all_told=self.kind == "limits",
            base=base or None,
        )

    def _action(self) -> str:
        if self.tag:
            return Links().to(self.model.plural, self.tag, "edit")
        return Links().to("new", self.kind)
