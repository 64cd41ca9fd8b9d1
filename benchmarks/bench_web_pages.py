"""How heavy the pages are and how soon they are ready, on a book of 500 castings and 200 builds.

Every page is opened in Chromium, with nothing cached: until its load event is over, and with what
came over the wire, compressed, and the server's processor time, which other work on the machine
changes little. Run it on a machine that does nothing else:

    .venv/bin/python benchmarks/bench_web_pages.py

Set HEADWRIGHT_BROWSER to the path of Chromium where it is not found by itself.
"""

from __future__ import annotations

import os
import shutil
import socket
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any, Final

import uvicorn
from playwright.sync_api import Browser, sync_playwright

from headwright import actions
from headwright.records import Record
from headwright.web.app import create_app

CASTINGS: Final = 500
BUILDS: Final = 200
REPEATS: Final = 3
WANTED_S: Final = 1.0
WANTED_KB: Final = 400.0

PAGES: Final = (
    "/",
    "/castings",
    "/castings?words=iron&page=3",
    "/builds",
    "/castings/AL-01",
    "/castings/AL-01/face",
    "/castings/AL-01/edit",
    "/castings/EI-03/edit?at=chambers.1.volume",
    "/builds/sprint-2025",
    "/builds/sprint-2025/edit",
    "/builds/sprint-2025/check",
    "/builds/sprint-2025/power",
    "/builds/sprint-2025/compare?with=long-rod-1555",
    "/builds/sprint-1500/rank",
    "/flow_tests/FT-LI02-I2/curve",
    "/settings",
)


def large_book(path: Path) -> None:
    """Fill a book with the demo shop, and copies of its castings and builds."""
    actions.load_demo(path)
    with actions.open_book(path) as book:
        for kind, wanted in (("casting", CASTINGS), ("build", BUILDS)):
            own = actions.list_records(book, kind)
            copies: list[Record] = [
                own[number % len(own)].model_copy(update={"tag": f"N-{number:04d}"})
                for number in range(wanted - len(own))
            ]
            book.save_many(copies, author="benchmark")


def opened(browser: Browser, address: str) -> tuple[float, float, float, float]:
    """Open a page afresh: seconds to ready, kB over the wire, kB of the page, server's CPU [s]."""
    with browser.new_context(viewport={"width": 1440, "height": 900}) as context:
        page = context.new_page()
        session = context.new_cdp_session(page)
        session.send("Network.enable")
        sizes: list[float] = []

        def count(event: dict[str, Any]) -> None:
            sizes.append(event["encodedDataLength"])

        session.on("Network.loadingFinished", count)
        begun, busy = time.perf_counter(), time.process_time()
        answer = page.goto(address, wait_until="load", timeout=180_000)
        ready, worked = time.perf_counter() - begun, time.process_time() - busy
        if answer is None or answer.status != 200:
            raise SystemExit(f"{address} answered {answer and answer.status}")
        page.wait_for_timeout(200)
        return ready, sum(sizes) / 1e3, len(answer.body()) / 1e3, worked


def main() -> None:
    """Print a table, and say what is above what is wanted."""
    named = os.environ.get("HEADWRIGHT_BROWSER")
    path = named or shutil.which("chromium") or shutil.which("google-chrome")
    if path is None:
        raise SystemExit("no Chromium: set HEADWRIGHT_BROWSER to its path")
    above = []
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "large.db"
        large_book(book)
        with socket.create_server(("127.0.0.1", 0)) as listener, sync_playwright() as playwright:
            server = uvicorn.Server(uvicorn.Config(create_app(book), log_level="error"))
            thread = threading.Thread(target=server.run, args=([listener],), daemon=True)
            thread.start()
            here = f"http://127.0.0.1:{listener.getsockname()[1]}"
            browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
            print(f"{'page':52s} {'ready s':>8s} {'wire kB':>8s} {'html kB':>8s} {'CPU s':>8s}")
            pages = sys.argv[1:] or PAGES
            opened(
                browser, f"{here}/builds/sprint-2025/edit"
            )  # the first pays for what is read once
            for place in pages:
                found = [opened(browser, here + place) for _ in range(REPEATS)]
                ready = statistics.median(one[0] for one in found)
                cpu = statistics.median(one[3] for one in found)
                wire = max(one[1] for one in found)
                print(
                    f"{place:52s} {ready:8.2f} {wire:8.1f} {found[0][2]:8.1f} {cpu:8.2f}",
                    flush=True,
                )
                if ready > WANTED_S or wire > WANTED_KB:
                    above.append(place)
            browser.close()
            server.should_exit = True
            thread.join(timeout=30)
    print(f"above {WANTED_S:g} s or {WANTED_KB:g} kB: {', '.join(above) or 'none'}")


if __name__ == "__main__":
    main()
