"""Server time of what the pages ask while a builder types, and of pages over a large book.

Run as a script to print the 95th percentiles, without the network; it fails where one is missed::

    .venv/bin/python benchmarks/bench_web_editing.py
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fastapi.testclient import TestClient

from headwright import actions
from headwright.records import Record
from headwright.web.app import create_app
from headwright.web.editing_fields import fill
from headwright.web.security_forms import COOKIE, TOKEN

WORD = "0" * 32
PAGES = (
    "/",
    "/castings",
    "/castings?words=iron&condition=used",
    "/castings?page=10",
    "/builds",
    "/api/kinds",
    "/castings/EI-03",
    "/castings/EI-03/edit",
)


def client_of(path: Path) -> TestClient:
    return TestClient(
        create_app(path), base_url="http://localhost", cookies={COOKIE: WORD}
    ).__enter__()


def enlarge(path: Path, castings: int = 500, builds: int = 200) -> None:
    """Fill the demo book up with copies under other tags."""
    with actions.open_book(path) as book:
        for kind, wanted in (("casting", castings), ("build", builds)):
            records = list(actions.list_records(book, kind))
            more: list[Record] = []
            for number in range(wanted - len(records)):
                old = records[number % len(records)]
                more.append(old.model_copy(update={"tag": f"{old.tag}-{number:03d}"}))
            book.save_many(more, author="bench")


def percentile_95(ask: Callable[[int], None], times: int) -> float:
    """Return the 95th percentile of a request's time [s], after one to warm up."""
    ask(0)
    taken = []
    for number in range(times):
        began = time.perf_counter()
        ask(number)
        taken.append(time.perf_counter() - began)
    return sorted(taken)[int(0.95 * (times - 1))]


def draft(client: TestClient, path: Path) -> Callable[[int], None]:
    with actions.open_book(path) as book:
        build = book.get("build", "sprint-2025")
    fields = fill(build, type(build), "inch")
    fields |= {TOKEN: WORD, "~of": "sprint-2025", "~base": "1", "~system": "inch"}

    def ask(number: int) -> None:
        cut = {"cuts.head_cut": f"{0.2 + 0.01 * number:.2f} mm"}
        answer = client.post("/draft/build", data={**fields, **cut})
        assert "Evidence" in answer.text

    return ask


def echo(client: TestClient) -> Callable[[int], None]:
    def ask(number: int) -> None:
        answer = client.get("/reading/casting", params={"thickness_now": f"{70 + number} mm"})
        assert answer.status_code == 200

    return ask


def page(client: TestClient, address: str) -> Callable[[int], None]:
    def ask(_number: int) -> None:
        assert client.get(address).status_code == 200

    return ask


def main() -> int:
    missed = 0

    def tell(what: str, seconds: float, allowed: float) -> None:
        nonlocal missed
        missed += seconds > allowed
        print(f"{1e3 * seconds:7.0f} ms of {1e3 * allowed:5.0f} ms allowed: {what}")

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        path = Path(folder) / "book.db"
        actions.load_demo(path)
        client = client_of(path)
        tell("findings of a build while typing", percentile_95(draft(client, path), 100), 0.2)
        tell("echo of a figure while typing", percentile_95(echo(client), 100), 0.2)
        enlarge(path)
        tell("findings, 500 castings", percentile_95(draft(client, path), 20), 1.0)
        for address in PAGES:
            taken = percentile_95(page(client, address), 15)
            tell(f"{address}, 500 castings and 200 builds", taken, 1.0)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
