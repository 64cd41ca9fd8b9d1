"""Photographs of a record: shown, added, taken off."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from headwright import actions
from headwright.errors import InputError
from headwright.quantities import System
from headwright.records import KINDS, kind_named
from headwright.web.book import PageQuery, frame_for, open_book_of
from headwright.web.contexts import PageContext
from headwright.web.editing import author_of, remember_author
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import SentForm, form_token

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

_HASH: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Photo:
    """One photograph."""

    name: str
    note: str
    author: str
    time: str
    sha256: str


@dataclass(frozen=True, slots=True)
class PhotosPage(PageContext):
    """The photographs of a record."""

    template: ClassVar[str] = "photos.html"
    kind: str
    tag: str
    photos: Sequence[Photo]
    author: str
    trouble: str = ""


@router.get("/{plural}/{tag}/photos")
def photos_page(request: Request, plural: str, tag: str, query: PageQuery) -> str:
    """Show the photographs of a record."""
    kind = kind_named(plural)
    return _page(request, kind, tag, system=query.system)


@router.post("/{plural}/{tag}/photos", response_model=None)
def add_photos(request: Request, plural: str, tag: str, sent: SentForm) -> Response:
    """Keep photographs with a record, each made plain first."""
    kind = kind_named(plural)
    author = sent["~author"].strip() or author_of(request)
    files = [file for file in sent.files if file.filename]
    trouble = "" if files else "Choose one or more photographs first."
    with open_book_of(request) as book:
        for file in files:
            try:
                actions.keep_photo(
                    book,
                    kind,
                    tag,
                    file.filename or "",
                    _content(file),
                    author=author,
                    note=sent["~note"],
                )
            except InputError as error:
                trouble = f"{(file.filename or '')[:80]}: {error}"
                break
    remember_author(request, author)
    if trouble:
        return HTMLResponse(_page(request, kind, tag, trouble=trouble), 422)
    return RedirectResponse(Links().to(KINDS[kind].plural, tag, "photos"), 303)


@router.post("/{plural}/{tag}/photos/{sha256}/take-off", response_model=None)
def take_off(request: Request, plural: str, tag: str, sha256: str, sent: SentForm) -> Response:
    """Take a photograph off a record."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        author = sent["~author"].strip() or author_of(request)
        actions.remove_photo(book, kind, tag, _hash(sha256), author=author)
    return RedirectResponse(Links().to(KINDS[kind].plural, tag, "photos"), 303)


@router.get("/{plural}/{tag}/photos/{sha256}", response_model=None)
def photo(request: Request, plural: str, tag: str, sha256: str) -> Response:
    """Return one photograph of a record."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        content = actions.read_photo(book, kind, tag, _hash(sha256))
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(content, media_type="image/jpeg", headers=headers)


def _hash(text: str) -> str:
    if not _HASH.fullmatch(text):
        raise HTTPException(404)
    return text


def _content(file: UploadFile) -> bytes:
    return file.file.read()


def _page(
    request: Request, kind: str, tag: str, *, system: System | None = None, trouble: str = ""
) -> str:
    with open_book_of(request) as book:
        actions.show_record(book, kind, tag)
        photos = [
            Photo(entry.name, entry.note, entry.author, entry.time, entry.sha256)
            for entry in actions.photos_of(book, kind, tag)
        ]
        shop = actions.shop_system(book)
    page = PhotosPage(
        heading=f"Photographs of {KINDS[kind].title.lower()} {tag}",
        kind=kind,
        tag=tag,
        photos=photos,
        author=author_of(request),
        trouble=trouble,
    )
    return render(page, frame_for(request, shop, system, token=form_token(request)))
