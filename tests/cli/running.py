"""Running commands, and judging what came of them."""

from __future__ import annotations

import contextlib
import hashlib
import json
import sqlite3
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from headwright.cli.main import cli
from headwright.quantities import DIMENSIONS, GLOSSARY

__all__ = [
    "bare_numbers",
    "book_hash",
    "complaint",
    "document",
    "invoke",
    "tree",
]

SUFFIXES = tuple(
    {dimension.json_suffix for dimension in DIMENSIONS.values()} - {""}
    | {"_bytes", "_probability", "_dof", "_rpm"}
)
BESIDE_UNIT = frozenset({"value", "uncertainty", "readings", "values", "dof"})
BESIDE_QUANTITY = frozenset({"value", "uncertainty", "margin", "limit"})
"""Of a finding on a figure without a dimension, such as a compression ratio."""
PLAIN = frozenset(
    {
        # counts, numbers of things
        "place", "cylinder", "serves", "count", "records", "revision", "revisions", "attachments",
        "chambers_known", "measured", "maker", "estimated", "assumed", "missing", "schema_version",
        "cylinders", "firing_order", "coils", "active_coils", "speeds_still_to_run",
        # figures without a dimension
        "measured_share", "score", "compression_ratio", "compression_ratio_uncertainty",
        "trapped_compression_ratio", "trapped_compression_ratio_uncertainty", "mach_index",
        "mach_index_uncertainty", "probability_of_breach", "dof",
        # the engine model
        "volumetric_efficiency", "trapped_residual", "knock_margin", "cylinder_spread", "cycles",
        "mass_balance", "energy_balance", "cycles_averaged", "cycle_scatter", "intake_peak_mach",
        # the valve gear at speed
        "share", "share_of_highest", "float_margin", "float_margin_uncertainty",
        # the valve gear at rest
        "ratios", "spring_reserve", "fatigue_reserve", "surge_order",
        # the head face
        "blocked", "arc", "fire_ring_share_hollow", "divider_step", "exhaust_over_intake",
        # oil on top, repairs
        "drain_margin", "drain_margin_uncertainty", "cost", "numbers",
        # the cutting plan
        "money", "gain", "aim_missed_by_share_of_tolerance", "compression_spread",
        "landing_samples",
    }
)  # fmt: skip


def invoke(*words: object, code: int | None = 0) -> Result:
    """Run a command line in this process; a traceback is never allowed."""
    result = CliRunner().invoke(cli, [str(word) for word in words])
    trouble = result.exception
    if trouble is not None and not isinstance(trouble, SystemExit):
        told = "".join(traceback.format_exception(trouble))
        raise AssertionError(f"{words} ended in a traceback:\n{told}")
    assert "Traceback" not in result.output
    if code is not None:
        assert result.exit_code == code, result.output
    if result.exit_code == 2:
        assert result.stdout == "" or not words, result.stdout
        assert result.stderr.strip()
    return result


def complaint(*words: object) -> str:
    """Run a command line that must be refused, and return what it says."""
    said = invoke(*words, code=2).stderr
    assert said.startswith(("error: ", "Error: ", "Usage: ")), said
    return said


def _no_constant(word: str) -> float:
    raise AssertionError(f"{word} is not JSON")


def document(result: Result) -> Any:
    """Return the one JSON document a command printed, and nothing beside it."""
    assert result.stderr == ""
    return json.loads(result.stdout, parse_constant=_no_constant)


def bare_numbers(data: Any, key: str = "", path: str = "$") -> Iterator[str]:
    """Yield the paths of figures whose key ends in no unit and that stand beside none."""
    if isinstance(data, bool):
        return
    if isinstance(data, dict):
        quantity = data.get("quantity")
        plain = isinstance(quantity, str) and GLOSSARY[quantity].json_suffix == ""
        for name, value in data.items():
            named = "unit" in data and name in BESIDE_UNIT
            if not named and not (plain and name in BESIDE_QUANTITY):
                yield from bare_numbers(value, name, f"{path}.{name}")
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from bare_numbers(value, key, f"{path}[{number}]")
    elif isinstance(data, int | float) and not key.endswith(SUFFIXES) and key not in PLAIN:
        yield path


def book_hash(path: Path) -> str:
    """Return a hash of everything a book holds."""
    digest = hashlib.sha256()
    with contextlib.closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as sql:
        tables = sql.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
        for (table,) in tables.fetchall():
            digest.update(table.encode())
            for row in sql.execute(f'SELECT * FROM "{table}" ORDER BY rowid'):  # noqa: S608
                digest.update(repr(row).encode())
    return digest.hexdigest()


def tree(folder: Path) -> dict[str, str]:
    """Return every file below a folder with a hash of its content, and every folder."""
    return {
        str(entry.relative_to(folder)): (
            hashlib.sha256(entry.read_bytes()).hexdigest() if entry.is_file() else "folder"
        )
        for entry in sorted(folder.rglob("*"))
    }
