"""What goes wrong, told plainly: as a page to a reader, as JSON under ``/api``. No internals."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Final, cast

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from headwright.errors import (
    BookError,
    HeadwrightError,
    InputError,
    Problem,
    RecordError,
    UnknownRecordError,
)
from headwright.quantities import System
from headwright.records import KINDS, kind_named
from headwright.web.book import book_path, frame_for, near_tags
from headwright.web.contexts import ErrorPage
from headwright.web.rendering import render
from headwright.web.security import SECURITY_HEADERS

__all__ = ["add_handlers"]

_LONGEST_MESSAGE: Final = 600
_MOST_PROBLEMS: Final = 20
_OWN_WORDS: Final = frozenset({400, 403, 409, 415, 422})
"""Answers whose reason is told in the words they were refused with."""
_HEADINGS: Final = {
    400: "This cannot be read",
    404: "Not in the book",
    403: "This is refused",
    405: "There is no such way to ask",
    409: "Somebody was faster",
    422: "This cannot be worked out",
    503: "The book cannot be read",
}


def add_handlers(app: FastAPI) -> None:
    """Have every kind of trouble answered."""
    app.add_exception_handler(HeadwrightError, _own_error)
    app.add_exception_handler(HTTPException, _no_such_page)
    app.add_exception_handler(RequestValidationError, _bad_query)
    app.add_exception_handler(Exception, _fault)


def _own_error(request: Request, error: Exception) -> Response:
    message = _without_folders(request, str(error))
    if isinstance(error, BookError):
        return _answer(request, 503, [message])
    if isinstance(error, UnknownRecordError):
        return _answer(request, 404, [message], _near(request))
    if isinstance(error, RecordError):
        problems = error.problems[:_MOST_PROBLEMS]
        told = [str(problem) for problem in problems]
        return _answer(request, 422, told, problems=problems)
    if isinstance(error, InputError):
        # A word in the address that names no kind of record, or a build that lacks something.
        unknown_kind = "plural" in request.path_params and message.startswith("kind:")
        return _answer(request, 404 if unknown_kind else 422, [message])
    return _answer(request, 422, [message])


def _no_such_page(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 404
    told = getattr(error, "detail", "") if status in _OWN_WORDS else ""
    return _answer(request, status, [told or "There is no such page."])


def _bad_query(request: Request, error: Exception) -> Response:
    details = error.errors() if isinstance(error, RequestValidationError) else []
    messages = []
    for detail in details[:5]:
        name = str(detail["loc"][-1])[:60]
        if detail["type"] == "extra_forbidden":
            messages.append(f"{name}: no such question can be put to this page")
        else:
            messages.append(f"{name}: {detail['msg'][0].lower()}{detail['msg'][1:]}")
    return _answer(request, 400, messages)


def _fault(request: Request, error: Exception) -> Response:
    del error  # the server writes it to the terminal; none of it belongs on a page
    answer = _answer(
        request,
        500,
        ["A fault in the program, not in your book. The terminal that runs it says more."],
    )
    # This answer is made outside the guard that sets the headers on all others.
    answer.headers.update(SECURITY_HEADERS)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _without_folders(request: Request, message: str) -> str:
    path = book_path(request)
    for text in (str(path), str(path.resolve())):
        message = message.replace(text, path.name)
    return message[:_LONGEST_MESSAGE]


def _near(request: Request) -> Sequence[tuple[str, str]]:
    """Return kind and tag of what may have been meant."""
    tag = request.path_params.get("tag", "")
    kind = kind_named(request.path_params.get("plural", "builds"))
    return [(kind, near) for near in near_tags(book_path(request), kind, tag)]


def _answer(
    request: Request,
    status: int,
    messages: Sequence[str],
    near: Sequence[tuple[str, str]] = (),
    problems: Sequence[Problem] = (),
) -> Response:
    if request.url.path == "/api" or request.url.path.startswith("/api/"):
        nearest = [f"/api/{KINDS[kind].plural}/{tag}" for kind, tag in near]
        body = {
            "status": status,
            "messages": list(messages),
            "nearest": nearest,
            "problems": [{"path": one.path, "message": one.message} for one in problems],
        }
        return JSONResponse({"error": body}, status)
    heading = _HEADINGS.get(status) or HTTPStatus(status).phrase
    build = request.path_params.get("tag", "") if request.url.path.startswith("/builds/") else ""
    page = ErrorPage(
        heading=heading,
        status=status,
        messages=tuple(messages),
        near=tuple(near),
        build=build if status == 422 else "",
    )
    asked = request.query_params.get("system")
    chosen = cast("System", asked) if asked in {"inch", "metric"} else None
    return HTMLResponse(render(page, frame_for(request, "inch", chosen)), status)
