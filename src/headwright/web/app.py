"""The way into the browser's face: make the app, or serve a book on this computer."""

from __future__ import annotations

import contextlib
import socket
from pathlib import Path

import uvicorn
from fastapi import FastAPI
from fastapi.middleware.gzip import GZipMiddleware

from headwright import actions
from headwright.errors import InputError
from headwright.web import api, pages, static_files, troubles
from headwright.web.security import Guard, require_loopback

__all__ = ["create_app", "serve"]


def create_app(book_path: Path) -> FastAPI:
    """Return the app over the book at ``book_path``, which is opened anew for every request.

    Args:
        book_path: the shop book; it need not be there yet.
    """
    app = FastAPI(
        title="headwright",
        description="A shop book of cylinder heads, to read. All figures are estimates to verify.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.state.book_path = book_path
    app.add_middleware(GZipMiddleware, minimum_size=2000)
    app.add_middleware(Guard)
    troubles.add_handlers(app)
    app.include_router(static_files.router)
    app.include_router(api.router)
    app.include_router(pages.router)
    return app


def serve(book: Path, host: str, port: int) -> None:
    """Serve the pages over a book until stopped, to this computer alone.

    Args:
        book: the shop book; it must be there.
        host: ``127.0.0.1``, ``::1`` or ``localhost``.
        port: where to listen, 1 to 65535; 0 takes any free one.

    Raises:
        BookError: there is no such book, or it cannot be read.
        InputError: the host would let in other computers, or the port cannot be had.
    """
    actions.open_book(book).close()
    with _listen(require_loopback(host), port) as listener:
        server = uvicorn.Server(
            uvicorn.Config(
                create_app(book),
                log_level="warning",
                access_log=False,
                server_header=False,
                proxy_headers=False,
                timeout_graceful_shutdown=3,
            )
        )
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[listener])


def _listen(address: str, port: int) -> socket.socket:
    """Take the port now, so that one in use is told plainly."""
    if not 0 <= port <= 65535:
        raise InputError(f"port: {port} is not between 0 and 65535")
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    try:
        return socket.create_server((address, port), family=family)
    except OSError as error:
        raise InputError(
            f"port: {port} on {address} cannot be had ({error.strerror}); try another with --port"
        ) from error
