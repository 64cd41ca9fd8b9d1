"""What stands between the browser and the pages: host check, reading only, strict headers.

The book lies open to whoever can reach the server, so the server answers this computer alone.
A page elsewhere on the web could still have the browser ask for it under a name of its own
(rebinding); the Host header gives that away and such a request is refused before anything runs.
"""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

from headwright.errors import InputError

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["LOOPBACK_NAMES", "SECURITY_HEADERS", "Guard", "require_loopback"]

LOOPBACK_NAMES: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})
"""The names under which this computer may be asked."""

_POLICY: Final = "; ".join(
    (
        "default-src 'none'",
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
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    }
)
"""Sent with every answer, whatever it is."""

_HOST: Final = re.compile(r"(?P<name>\[[0-9A-Fa-f:.]+\]|[^:\[\]\s]+)(?::(?P<port>[0-9]{1,5}))?")


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
            f"host: {host[:60]!r} would open the book to other computers, and there is no "
            "access check yet; use 127.0.0.1, ::1 or localhost"
        )
    return str(address)


class Guard:
    """Refuse foreign hosts and every method that could change something; set the headers."""

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = LOOPBACK_NAMES) -> None:
        """Stand before ``app`` and let in requests for ``hosts`` only."""
        self._app = app
        self._hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        method = scope["method"]

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, text in SECURITY_HEADERS.items():
                    headers[name] = text
                headers.setdefault("Cache-Control", "no-store")
            elif message["type"] == "http.response.body" and method == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        if not self._knows(Headers(scope=scope).getlist("host")):
            answer = PlainTextResponse(
                "This server answers only to the name of this computer, such as localhost.\n", 400
            )
        elif method not in {"GET", "HEAD"}:
            answer = PlainTextResponse(
                "The book can only be read here.\n", 405, headers={"Allow": "GET, HEAD"}
            )
        else:
            # The routes know GET alone; HEAD is the same answer without its body.
            await self._app({**scope, "method": "GET"}, receive, send_guarded)
            return
        await answer(scope, receive, send_guarded)

    def _knows(self, hosts: list[str]) -> bool:
        if len(hosts) != 1:
            return False
        parts = _HOST.fullmatch(hosts[0])
        return parts is not None and parts["name"].lower() in self._hosts
