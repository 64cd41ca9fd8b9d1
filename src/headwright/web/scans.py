"""A scan of a casting's chambers: sent, read at every depth of cut, kept if wanted."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import UploadFile

from headwright import actions
from headwright.errors import InputError
from headwright.quantities import System, parse
from headwright.views.scan import ACCURACY, ScanView, scan_view
from headwright.web.book import PageQuery, frame_for, open_book_of
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.contexts import PageContext
from headwright.web.editing import author_of, remember_author
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import Sent, SentForm, form_token

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

UNITS = ("mm", "in", "cm", "m")


@dataclass(frozen=True, slots=True)
class ScanPage(PageContext):
    """The page where a scan is read."""

    template: ClassVar[str] = "scan.html"
    tag: str
    author: str
    unit: str = "mm"
    accuracy: str = ""
    cylinders: str = ""
    units: Sequence[str] = UNITS
    view: ScanView | None = None
    figures: tuple[DrawnFigure, ...] = ()
    trouble: str = ""


@router.get("/castings/{tag}/scan")
def scan_page(request: Request, tag: str, query: PageQuery) -> str:
    """Ask for a scan of a casting's chambers."""
    return _page(request, tag, system=query.system)


@router.post("/castings/{tag}/scan", response_model=None)
def read_scan(request: Request, tag: str, sent: SentForm) -> Response:
    """Read a scan, and keep its volumes in the casting where that was asked for."""
    files = [file for file in sent.files if file.filename]
    try:
        with open_book_of(request) as book:
            actions.show_record(book, "casting", tag)
            system = actions.shop_system(book)
            if len(files) != 1:
                raise InputError("file: choose one STL or PLY file first")
            cylinders = _cylinders(sent["cylinders"])
            accuracy = sent["accuracy"].strip()
            with _on_disk(files[0]) as path:
                scan = actions.scan_chambers(
                    path,
                    unit=sent["unit"] or "mm",
                    accuracy=parse(accuracy, ACCURACY, system=system).value if accuracy else None,
                )
                beside = actions.scan_of_casting(book, tag, scan, cylinders)
                if sent["~keep"]:
                    author = sent["~author"].strip() or author_of(request)
                    actions.keep_scan(
                        book,
                        tag,
                        scan,
                        cylinders,
                        path=path,
                        name=_name(files[0]),
                        author=author,
                    )
                    remember_author(request, author)
                    return RedirectResponse(Links().record("casting", tag), 303)
    except InputError as error:
        return HTMLResponse(_page(request, tag, sent=sent, trouble=str(error)), 422)
    view = scan_view(scan, cylinders, beside, system)
    return HTMLResponse(_page(request, tag, sent=sent, view=view))


def _name(file: UploadFile) -> str:
    return Path((file.filename or "scan.stl").replace("\\", "/")).name[:120]


@contextmanager
def _on_disk(file: UploadFile) -> Iterator[Path]:
    """Put what was sent into a file of our own naming, gone afterwards."""
    suffix = Path(_name(file)).suffix.lower()
    if suffix not in {".stl", ".ply"}:
        raise InputError("file: a scan must be an STL or PLY file, by its name too")
    with tempfile.TemporaryDirectory(prefix="headwright-") as folder:
        path = Path(folder) / f"scan{suffix}"
        with path.open("wb") as out:
            shutil.copyfileobj(file.file, out)
        yield path


def _cylinders(text: str) -> tuple[int, ...]:
    words = text.replace(",", " ").split()
    if not all(word.isascii() and word.isdigit() and len(word) <= 2 for word in words):
        raise InputError(f"cylinders: {text[:40]!r} must be numbers such as 1 2 3 4")
    return tuple(int(word) for word in words)


def _page(
    request: Request,
    tag: str,
    *,
    system: System | None = None,
    sent: Sent | None = None,
    view: ScanView | None = None,
    trouble: str = "",
) -> str:
    with open_book_of(request) as book:
        actions.show_record(book, "casting", tag)
        shop = actions.shop_system(book)
    page = ScanPage(
        heading=f"Scan of casting {tag}",
        tag=tag,
        author=author_of(request),
        unit=(sent["unit"] or "mm") if sent else "mm",
        accuracy=sent["accuracy"] if sent else "",
        cylinders=sent["cylinders"] if sent else "",
        view=view,
        figures=tuple(drawn(figure) for figure in view.figures) if view else (),
        trouble=trouble,
    )
    return render(page, frame_for(request, shop, system, token=form_token(request)))
