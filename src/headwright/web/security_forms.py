"""Forms that change something carry a token, which only our own pages can know.

The token is a random word in a cookie that scripts cannot read and other sites cannot send
(``HttpOnly``, ``SameSite=Strict``), repeated in every form; a form is taken only when both agree.
It lives as long as the browser's window, so a form left open over a restart of the server can
still be sent.
"""

from __future__ import annotations

import hmac
import re
import secrets
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass, field
from typing import Annotated, Final

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException

__all__ = ["COOKIE", "TOKEN", "WORD", "Sent", "SentForm", "add_cookie", "form_token", "sent_form"]

COOKIE: Final = "headwright-form"
TOKEN: Final = "~token"  # noqa: S105 - the name of the field, no secret
WORD: Final = re.compile(r"[0-9a-f]{32}")
_MOST_FIELDS: Final = 40_000
_MOST_FILES: Final = 12
_LARGEST_PART: Final = 2 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Sent:
    """A form as it was sent. Fields are text; a field sent several times counts once, the last."""

    fields: dict[str, str]
    files: tuple[UploadFile, ...] = field(default=())

    def __getitem__(self, name: str) -> str:
        """Return the text of a field, empty where it was not sent."""
        return self.fields.get(name, "")

    def with_fields(self, fields: dict[str, str]) -> Sent:
        """Return the form with other fields put over its own."""
        return Sent({**self.fields, **fields}, self.files)

    def __contains__(self, name: object) -> bool:
        """Tell whether a field was sent."""
        return name in self.fields

    def __iter__(self) -> Iterator[str]:
        """Iterate over the names of the fields in the order they were sent."""
        return iter(self.fields)


def add_cookie(request: Request, name: str, text: str, *, seconds: int | None = None) -> None:
    """Have the guard set a cookie with the answer: for this site alone, out of reach of scripts."""
    age = "" if seconds is None else f"; Max-Age={seconds}"
    cookies = request.scope["state"].setdefault("cookies", [])
    cookies.append(f"{name}={text}; Path=/; HttpOnly; SameSite=Strict{age}")


def form_token(request: Request) -> str:
    """Return the token for a form on the page being made, with a cookie where there is none."""
    word = request.cookies.get(COOKIE, "")
    if WORD.fullmatch(word):
        return word
    made = request.scope["state"].get("form_token") or secrets.token_hex(16)
    if "form_token" not in request.scope["state"]:
        request.scope["state"]["form_token"] = made
        add_cookie(request, COOKIE, made)
    return str(made)


async def sent_form(request: Request) -> AsyncIterator[Sent]:
    """Read the form that was sent and check its token; its files are closed afterwards.

    Raises:
        HTTPException: 400 where it is no form, 403 where the token is missing or another's.
    """
    try:
        form = await request.form(
            max_files=_MOST_FILES, max_fields=_MOST_FIELDS, max_part_size=_LARGEST_PART
        )
    except (MultiPartException, HTTPException, UnicodeDecodeError, ValueError):
        raise HTTPException(400, "This is no form that can be read; nothing was changed.") from None
    try:
        yield _checked(request, _plain(form))
    finally:
        await form.close()


def _checked(request: Request, sent: Sent) -> Sent:
    """Return a form whose token is that of this window.

    Raises:
        HTTPException: 403, it is not.
    """
    word = request.cookies.get(COOKIE, "")
    if not WORD.fullmatch(word) or not hmac.compare_digest(
        sent[TOKEN].encode("utf-8", "replace"), word.encode()
    ):
        raise HTTPException(
            403,
            "The form did not come from this window's own pages, or the window has been closed "
            "since; nothing was changed. Open the page again.",
        )
    return sent


def _plain(form: FormData) -> Sent:
    fields: dict[str, str] = {}
    files: list[UploadFile] = []
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            files.append(value)
        else:
            fields[name] = value.replace("\r\n", "\n")
    return Sent(fields, tuple(files))


SentForm = Annotated[Sent, Depends(sent_form)]
"""A form with the right token; every route that changes something takes one."""
