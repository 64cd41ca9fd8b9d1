"""How long ranking takes, warm: the demo shop's rack, and a rack of two hundred castings.

Run with ``pytest benchmarks/bench_rank.py --benchmark-enable``.
"""

from __future__ import annotations

from typing import Any, cast

import pytest

from headwright.assemble import Bundle, gather
from headwright.demo import demo_records
from headwright.records import Build, Casting, FlowTest, Record
from headwright.studies.check import check
from headwright.studies.rank import rank
from headwright.views.ranking import ranking_json, ranking_view

BUILD = "sprint-1500"
RACK = 200


@pytest.fixture(scope="module")
def shop() -> tuple[Bundle, list[Casting]]:
    records = demo_records()
    by_tag: dict[tuple[str, str], Record] = {(one.kind, one.tag): one for one in records}
    castings = [one for one in records if isinstance(one, Casting)]
    bundle = gather(
        cast("Build", by_tag["build", BUILD]),
        lambda kind, tag: by_tag.get((kind, tag)),
        [one for one in records if isinstance(one, FlowTest)],
        castings=castings,
    )
    rank(bundle, castings)
    return bundle, castings


def copies(castings: list[Casting], count: int) -> list[Casting]:
    return [
        castings[place % len(castings)].model_copy(update={"tag": f"C-{place:03d}"})
        for place in range(count)
    ]


def bench_demo_rack(benchmark: Any, shop: tuple[Bundle, list[Casting]]) -> None:
    bundle, castings = shop
    ranking = benchmark(rank, bundle, castings)
    assert len(ranking.candidates) == len(castings)


def bench_two_hundred_castings(benchmark: Any, shop: tuple[Bundle, list[Casting]]) -> None:
    bundle, castings = shop
    rack = copies(castings, RACK)
    ranking = benchmark.pedantic(rank, (bundle, rack), rounds=3, warmup_rounds=1)
    assert len(ranking.candidates) == RACK


def bench_one_check(benchmark: Any, shop: tuple[Bundle, list[Casting]]) -> None:
    bundle, castings = shop
    report = benchmark(check, bundle.on(castings[0]))
    assert report.findings


def bench_views_of_the_demo_rack(benchmark: Any, shop: tuple[Bundle, list[Casting]]) -> None:
    bundle, castings = shop
    ranking = rank(bundle, castings)

    def both() -> Any:
        return ranking_view(ranking, "inch"), ranking_json(ranking)

    view, document = benchmark(both)
    assert len(view.candidates) == len(document["ranking"])
