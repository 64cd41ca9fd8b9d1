"""How long the face of a casting takes: laid out, drawn, and tried with a valve moved.

Run with ``pytest benchmarks/bench_layout.py --benchmark-enable``. A drag asks for the last of these
again and again; it should stay under 200 ms.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.views.drawings_face import draw_faces
from headwright.views.face_scene import face_scene
from headwright.web.app import create_app


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("layout") / "shop.db"
    actions.load_demo(path)
    return path


@pytest.fixture(scope="module")
def client(book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(book), base_url="http://localhost") as found:
        yield found


@pytest.mark.parametrize("sizes", [False, True])
def bench_lay_out(benchmark: Any, book: Path, *, sizes: bool) -> None:
    with actions.open_book(book) as shop_book:

        def lay_out() -> object:
            return actions.layout_of_casting(shop_book, "AL-01", block="SB-STD", sizes=sizes)

        lay_out()
        benchmark(lay_out)


def bench_draw(benchmark: Any, book: Path) -> None:
    with actions.open_book(book) as shop_book:
        report = actions.layout_of_casting(shop_book, "AL-01", block="SB-STD", sizes=False)
    benchmark(lambda: draw_faces(face_scene(report, "inch")))


def bench_try_a_moved_valve(benchmark: Any, client: TestClient) -> None:
    address = "/castings/AL-01/face/try?on=SB-STD&x.1.intake=17.5+mm"
    client.get(address)
    benchmark(lambda: client.get(address).raise_for_status())
