"""The way into the browser's face: make the app, or serve a book on this computer."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterable
from pathlib import Path

import uvicorn
from fastapi import FastAPI
from fastapi.middleware.gzip import GZipMiddleware

from headwright import actions
from headwright.errors import HeadwrightError, InputError
from headwright.web import (
    api,
    api_writing,
    charts,
    charts_clearance,
    charts_compare,
    charts_drain,
    charts_faces,
    charts_gear,
    charts_pages,
    charts_plan,
    charts_power,
    charts_repair,
    charts_valve_train,
    charts_waves,
    editing,
    editing_history,
    first_run,
    jobs_pages,
    login,
    pages,
    photos,
    ranked,
    scans,
    settings,
    static_files,
    troubles,
)
from headwright.web.security import (
    LOOPBACK_NAMES,
    Guard,
    names_to_answer,
    require_address,
    require_loopback,
)
from headwright.web.security_access import Access

__all__ = ["create_app", "serve"]


def create_app(
    book_path: Path,
    *,
    access: Access | None = None,
    hosts: Iterable[str] = LOOPBACK_NAMES,
    author: str = "",
) -> FastAPI:
    """Return the app over the book at ``book_path``, which is opened anew for every request.

    Args:
        book_path: the shop book; it need not be there yet.
        access: the door with its password, where other computers may come in.
        hosts: names the server may be asked under.
        author: whose hand changes are written in, where a form names nobody.
    """
    app = FastAPI(
        title="headwright",
        description="A shop book of cylinder heads. All figures are estimates to verify.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=jobs_pages.lifespan,
    )
    app.state.book_path = book_path
    app.state.access = access
    app.state.author = author
    app.add_middleware(GZipMiddleware, minimum_size=2000)
    app.add_middleware(Guard, hosts=hosts, access=access)
    troubles.add_handlers(app)
    app.include_router(static_files.router)
    app.include_router(login.router)
    app.include_router(charts.router)
    app.include_router(charts_pages.data_router)
    app.include_router(charts_pages.router)
    app.include_router(charts_compare.data_router)
    app.include_router(charts_compare.router)
    app.include_router(charts_clearance.data_router)
    app.include_router(charts_clearance.router)
    app.include_router(charts_faces.data_router)
    app.include_router(charts_faces.router)
    app.include_router(charts_drain.data_router)
    app.include_router(charts_drain.router)
    app.include_router(charts_repair.data_router)
    app.include_router(charts_repair.router)
    app.include_router(charts_gear.data_router)
    app.include_router(charts_gear.router)
    app.include_router(charts_plan.data_router)
    app.include_router(charts_plan.router)
    app.include_router(charts_power.data_router)
    app.include_router(charts_power.router)
    app.include_router(charts_valve_train.data_router)
    app.include_router(charts_valve_train.router)
    app.include_router(charts_waves.data_router)
    app.include_router(charts_waves.router)
    app.include_router(jobs_pages.data_router)
    app.include_router(jobs_pages.router)
    app.include_router(api.router)
    app.include_router(api_writing.router)
    app.include_router(settings.router)
    app.include_router(first_run.router)
    app.include_router(editing.router)
    app.include_router(editing_history.router)
    app.include_router(photos.router)
    app.include_router(scans.router)
    app.include_router(ranked.router)
    app.include_router(pages.router)
    return app


def serve(
    book: Path,
    host: str,
    port: int,
    *,
    password: str | None = None,
    names: Iterable[str] = (),
    author: str = "",
) -> None:
    """Serve the pages over a book until stopped, to this computer alone unless asked otherwise.

    Args:
        book: the shop book; it must be there.
        host: ``127.0.0.1``, ``::1`` or ``localhost``; with a password any address of this
            computer.
        port: where to listen, 1 to 65535; 0 takes any free one.
        password: what everybody must give first; None asks nobody.
        names: further names other computers know this one by.
        author: whose hand changes are written in, where a form names nobody.

    Raises:
        BookError: there is no such book, or it cannot be read.
        InputError: the host would let in other computers without a password, the password is too
            short, or the port cannot be had.
    """
    actions.open_book(book).close()
    address = require_address(host) if password else require_loopback(host)
    app = create_app(
        book,
        access=Access(password) if password else None,
        hosts=names_to_answer(address, names),
        author=author,
    )
    charts.warm_up()
    threading.Thread(target=_read_ahead, args=(book,), name="reading", daemon=True).start()
    with _listen(address, port) as listener:
        server = uvicorn.Server(
            uvicorn.Config(
                app,
                log_level="warning",
                access_log=False,
                server_header=False,
                proxy_headers=False,
                timeout_graceful_shutdown=3,
            )
        )
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[listener])


def _read_ahead(path: Path) -> None:
    """Read the castings and their tests once, so that the first page need not wait for it."""
    with contextlib.suppress(HeadwrightError), actions.open_book(path) as book:
        for kind in ("casting", "flow_test"):
            actions.list_records(book, kind)


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
