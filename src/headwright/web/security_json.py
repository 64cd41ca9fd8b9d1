"""Who may write JSON: a page of ours with its token, or a program of the shop; never another site.

A browser sends JSON across sites only after asking (``OPTIONS``), and that is refused here; what it
sends without asking is no JSON, so the type of the content is insisted on. The guard refuses every
foreign ``Origin`` before that (:mod:`headwright.web.security`). Whatever comes from a browser, or
carries a cookie of ours, must repeat the window's token in a header besides, as the forms do in a
field. A program without cookies needs none: no browser can be made to look like it.
"""

from __future__ import annotations

import hmac
from typing import Annotated, Final

from fastapi import Depends, Request
from starlette.exceptions import HTTPException

from headwright.web.security_forms import COOKIE, WORD

__all__ = ["TOKEN_HEADER", "MayWrite", "may_write"]

TOKEN_HEADER: Final = "x-headwright-token"  # noqa: S105 - the name of the header, no secret
_SIGNS_OF_A_BROWSER: Final = ("cookie", "origin", "referer", "sec-fetch-site", "sec-fetch-mode")


def may_write(request: Request) -> None:
    """Let a request that writes pass, or refuse it.

    Raises:
        HTTPException: 415 where it is not JSON, 403 where its token is missing or another's.
    """
    media_type = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if media_type != "application/json":
        raise HTTPException(415, "Send JSON, with the header Content-Type: application/json.")
    if not any(name in request.headers for name in _SIGNS_OF_A_BROWSER):
        return
    word = request.cookies.get(COOKIE, "")
    said = request.headers.get(TOKEN_HEADER, "")
    if not WORD.fullmatch(word) or not hmac.compare_digest(
        said.encode("utf-8", "replace"), word.encode()
    ):
        raise HTTPException(
            403,
            f"With cookies, repeat the one named {COOKIE} in the header X-Headwright-Token; "
            "nothing was changed.",
        )


MayWrite = Annotated[None, Depends(may_write)]
"""Every route that takes JSON and changes something asks this first."""
