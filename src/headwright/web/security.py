"""What stands between the browser and the pages: hosts, origins, sizes, the door, strict headers.

The book lies open to whoever can reach the server, so the server answers this computer alone
unless asked otherwise, and then only to those who gave the password. A page elsewhere on the web
could have the browser ask for the book under a name of its own (rebinding): the Host header gives
that away. It could have the browser send a form here: the Origin header gives that away, and
every form carries a token besides (:mod:`headwright.web.security_forms`).
"""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response

from headwright.errors import InputError

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from headwright.web.security_access import Access

__all__ = [
    "LARGEST_FORM",
    "LARGEST_UPLOAD",
    "LOOPBACK_NAMES",
    "SECURITY_HEADERS",
    "Guard",
    "is_loopback",
    "names_to_answer",
    "require_address",
    "require_loopback",
]

LOOPBACK_NAMES: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})
"""The names under which this computer may be asked."""

LARGEST_FORM: Final = 4 * 1024 * 1024
"""Bytes of a form or a JSON document that are taken."""

LARGEST_UPLOAD: Final = 40 * 1024 * 1024
"""Bytes of a request that brings photographs."""

_POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "connect-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

SECURITY_HEADERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "Content-Security-Policy": _POLICY,
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    }
)
"""Sent with every answer, whatever it is."""

_METHODS: Final = ("GET", "HEAD", "POST")
_HOST: Final = re.compile(r"(?P<name>\[[0-9A-Fa-f:.]+\]|[^:\[\]\s]+)(?::(?P<port>[0-9]{1,5}))?")
_OPEN_TO_ALL: Final = re.compile(r"/login|/static/[^/]*")


def require_loopback(host: str) -> str:
    """Return an address of this computer alone to listen on.

    Args:
        host: ``localhost``, ``127.0.0.1``, ``::1``, with or without brackets.

    Raises:
        InputError: any other address; other computers are not let in.

    Examples:
        >>> require_loopback("localhost"), require_loopback("[::1]")
        ('127.0.0.1', '::1')
    """
    bare = host.strip().removeprefix("[").removesuffix("]")
    if bare.lower() == "localhost":
        return "127.0.0.1"
    try:
        address = ipaddress.ip_address(bare)
    except ValueError:
        address = None
    if address is None or str(address) not in {"127.0.0.1", "::1"}:
        raise InputError(
            f"host: {host[:60]!r} would open the book to other computers, which needs an access "
            "password (--password-file); without one use 127.0.0.1, ::1 or localhost"
        )
    return str(address)


def require_address(host: str) -> str:
    """Return an address of this computer to listen on, loopback or not.

    Args:
        host: an IP address, or ``localhost``.

    Raises:
        InputError: anything else.

    Examples:
        >>> require_address("192.168.1.5")
        '192.168.1.5'
    """
    bare = host.strip().removeprefix("[").removesuffix("]")
    if bare.lower() == "localhost":
        return "127.0.0.1"
    try:
        return str(ipaddress.ip_address(bare))
    except ValueError:
        raise InputError(
            f"host: {host[:60]!r} is no IP address; give one of this computer's, or all of them "
            "as 0.0.0.0"
        ) from None


def is_loopback(host: str) -> bool:
    """Tell whether an address to listen on is reached from this computer alone."""
    try:
        require_loopback(host)
    except InputError:
        return False
    return True


def names_to_answer(address: str, extra: Iterable[str] = ()) -> frozenset[str]:
    """Return the names under which a server that listens on ``address`` may be asked.

    Names are what rebinding abuses, so only this computer's own are added; a bare IP address
    cannot be rebound, and of those the guard takes any once the server is open to others.

    Args:
        address: where the server listens.
        extra: further names the shop gave this computer.
    """
    if ipaddress.ip_address(address).is_loopback:
        return LOOPBACK_NAMES
    own = socket.gethostname().lower()
    return LOOPBACK_NAMES | {own, f"{own}.local", *(name.strip().lower() for name in extra)}


class Guard:
    """Refuse foreign hosts and origins, what is too large, and those without the password."""

    def __init__(
        self,
        app: ASGIApp,
        hosts: Iterable[str] = LOOPBACK_NAMES,
        access: Access | None = None,
    ) -> None:
        """Stand before ``app``.

        Args:
            app: what is guarded.
            hosts: names it may be asked under.
            access: the door with its password; None lets in everybody who knows the name.
        """
        self._app = app
        self._hosts = frozenset(hosts)
        self._access = access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        method = scope["method"]
        # The routes know GET alone; HEAD is the same answer without its body.
        inner = {**scope, "method": "GET" if method == "HEAD" else method}
        state = inner["state"] = dict(scope.get("state") or {})
        started = False

        async def send_guarded(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, text in SECURITY_HEADERS.items():
                    headers[name] = text
                headers.setdefault("Cache-Control", "no-store")
                for cookie in state.get("cookies", ()):
                    headers.append("Set-Cookie", cookie)
            elif message["type"] == "http.response.body" and method == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        headers = Headers(scope=scope)
        answer = self._refusal(scope, headers)
        if answer is None:
            counted = _Counted(receive, _largest(scope["path"]))
            try:
                await self._app(inner, counted, send_guarded)
            except _TooLargeError:
                if started:
                    raise
                answer = _too_large(scope["path"])
        if answer is not None:
            await answer(scope, receive, send_guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        """Return the answer to a request that gets no further."""
        if not self._knows(headers.getlist("host")):
            return PlainTextResponse(
                "This server answers only to the name of this computer, such as localhost.\n", 400
            )
        method, path = scope["method"], scope["path"]
        if method not in _METHODS:
            return PlainTextResponse(
                "There is no such way to ask.\n", 405, headers={"Allow": ", ".join(_METHODS)}
            )
        if method == "POST":
            if not _from_here(headers):
                return PlainTextResponse(
                    "This was sent by another site and is refused; nothing was changed.\n", 403
                )
            length = headers.get("content-length", "0")
            if not (length.isascii() and length.isdigit() and len(length) < 20):
                return PlainTextResponse("The length of the request is no number.\n", 400)
            if int(length) > _largest(path):
                return _too_large(path)
        if self._access and not _OPEN_TO_ALL.fullmatch(path) and not self._access.lets_in(headers):
            if path == "/api" or path.startswith("/api/"):
                told = {
                    "status": 401,
                    "messages": ["Log in first, at /login."],
                    "nearest": [],
                    "problems": [],
                }
                return JSONResponse({"error": told}, 401)
            return RedirectResponse("/login", 303)
        return None

    def _knows(self, hosts: list[str]) -> bool:
        if len(hosts) != 1:
            return False
        parts = _HOST.fullmatch(hosts[0])
        if parts is None:
            return False
        name = parts["name"].lower()
        return name in self._hosts or (self._access is not None and _is_address(name))


def _is_address(name: str) -> bool:
    """Tell whether a host name is a bare IP address, as browsers write it."""
    bare = name[1:-1] if name.startswith("[") else name
    try:
        return str(ipaddress.ip_address(bare)) == bare
    except ValueError:
        return False


def _from_here(headers: Headers) -> bool:
    """Tell whether a form was sent by one of our own pages, as far as the browser says.

    Browsers say so; programs say nothing, and have no cookies of ours to be abused.
    """
    origins = headers.getlist("origin")
    if origins and (len(origins) > 1 or origins[0] != f"http://{headers.get('host', '')}"):
        return False
    return headers.get("sec-fetch-site", "same-origin") in {"same-origin", "none"}


def _largest(path: str) -> int:
    return LARGEST_UPLOAD if path.endswith(("/photos", "/scan")) else LARGEST_FORM


def _too_large(path: str) -> Response:
    limit = _largest(path) // 1024**2
    return PlainTextResponse(f"This is larger than the {limit} MiB that are taken.\n", 413)


class _TooLargeError(Exception):
    """More came in than is taken."""


class _Counted:
    """Hands on what comes in, until it is too much."""

    def __init__(self, receive: Receive, most: int) -> None:
        self._receive = receive
        self._left = most

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._left -= len(message.get("body", b""))
            if self._left < 0:
                raise _TooLargeError
        return message
