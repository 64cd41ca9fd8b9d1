"""Trials of the demo shop's builds, straight from its records."""

from __future__ import annotations

from functools import lru_cache
from typing import cast

from headwright.assemble import Trial, gather, make_trial
from headwright.demo import demo_records
from headwright.records import Build, Casting, FlowTest

__all__ = ["shop_trial"]


@lru_cache(maxsize=16)
def shop_trial(build: str, casting: str | None = None) -> Trial:
    """Return a demo build as it is meant, or on another casting."""
    records = {(record.kind, record.tag): record for record in demo_records()}
    bundle = gather(
        cast("Build", records["build", build]),
        lambda kind, tag: records.get((kind, tag)),
        [record for record in records.values() if isinstance(record, FlowTest)],
        castings=[record for record in records.values() if isinstance(record, Casting)],
    )
    if casting is not None:
        bundle = bundle.on(cast("Casting", records["casting", casting]))
    return make_trial(bundle)
