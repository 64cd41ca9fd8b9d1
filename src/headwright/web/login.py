"""Log in and out, where the server is open to the shop network."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict
from starlette.exceptions import HTTPException

from headwright.web.book import frame_for
from headwright.web.contexts import LoginPage
from headwright.web.rendering import render
from headwright.web.security_access import SESSION_COOKIE, Access
from headwright.web.security_forms import SentForm, add_cookie, form_token

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid")


@router.get("/login")
def login_page(request: Request, query: Annotated[_Asked, Query()]) -> str:
    """Ask for the password."""
    del query
    _access(request)
    return _page(request, "")


@router.post("/login", response_model=None)
def log_in(request: Request, sent: SentForm) -> Response:
    """Let in whoever knows the password."""
    access = _access(request)
    address = request.client.host if request.client else "unknown"
    word = access.log_in(sent["password"], address)
    if word is not None:
        add_cookie(request, SESSION_COOKIE, word)
        return RedirectResponse("/", 303)
    wait = access.wait_for(address)
    told = f" The next try is heard in {wait:.0f} seconds." if wait >= 1.0 else ""
    return HTMLResponse(_page(request, f"That is not the password.{told}"), 403)


@router.post("/logout", response_model=None)
def log_out(request: Request, sent: SentForm) -> Response:
    """End this window's session."""
    del sent
    _access(request).log_out(request.headers)
    add_cookie(request, SESSION_COOKIE, "", seconds=0)
    return RedirectResponse("/login", 303)


def _access(request: Request) -> Access:
    access: Access | None = request.app.state.access
    if access is None:
        raise HTTPException(404)
    return access


def _page(request: Request, trouble: str) -> str:
    frame = frame_for(request, "inch", None, token=form_token(request))
    return render(LoginPage(heading="Log in", trouble=trouble), frame)
