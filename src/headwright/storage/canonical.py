"""One exact text for a record's body, so that equal bodies have equal hashes.

Keys sorted, no spaces, UTF-8, floats at the shortest text that reads back to the same bits.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from typing import Any, Final

from headwright.errors import Problem, RecordError

__all__ = ["MAX_BODY_BYTES", "body_hash", "canonical_text", "check_plain", "from_canonical"]

MAX_BODY_BYTES: Final = 16 * 1024 * 1024
MAX_DEPTH: Final = 40
MAX_INTEGER: Final = 2**63 - 1
MAX_PROBLEMS: Final = 50


def _check(entry: Any, path: str, depth: int, problems: list[Problem]) -> None:
    """Collect what cannot be written as plain data."""
    if len(problems) >= MAX_PROBLEMS:
        return
    if depth > MAX_DEPTH:
        problems.append(Problem(path, f"nested deeper than {MAX_DEPTH} levels"))
    elif entry is None or isinstance(entry, bool):
        return
    elif isinstance(entry, str):
        if any("\ud800" <= char <= "\udfff" for char in entry):
            problems.append(Problem(path, "the text holds half a character (lone surrogate)"))
    elif isinstance(entry, int):
        if abs(entry) > MAX_INTEGER:
            shown = str(entry) if entry.bit_length() < 200 else f"of {entry.bit_length()} bits"
            problems.append(
                Problem(path, f"the whole number {shown} is too big; at most 63 bits are kept")
            )
    elif isinstance(entry, float):
        if not math.isfinite(entry):
            problems.append(Problem(path, f"{entry} is not a finite number"))
    elif isinstance(entry, Mapping):
        for key, value in entry.items():
            if not isinstance(key, str):
                problems.append(Problem(path, f"the key {str(key)[:60]!r} is not text"))
                continue
            _check(key, path, depth, problems)
            _check(value, f"{path}.{key[:60]}" if path else key[:60], depth + 1, problems)
    elif isinstance(entry, list | tuple):
        for position, value in enumerate(entry):
            _check(value, f"{path}[{position}]", depth + 1, problems)
    else:
        problems.append(Problem(path, f"{type(entry).__name__} is not plain data"))


def check_plain(body: Any, path: str) -> None:
    """See that a body is plain data: tables, lists, text, finite numbers, true, false, null.

    Args:
        body: what is to be stored.
        path: what to call it in problems.

    Raises:
        RecordError: with the path of everything that is not.
    """
    problems: list[Problem] = []
    _check(body, path, 0, problems)
    if problems:
        raise RecordError(problems)


def canonical_text(body: Mapping[str, Any], path: str = "record") -> str:
    """Return the one text of a body.

    Args:
        body: plain data.
        path: what to call the body in problems.

    Raises:
        RecordError: the body is not plain data, or is larger than :data:`MAX_BODY_BYTES`.

    >>> canonical_text({"tag": "C-1", "bore": 0.07, "posts": [1, None]})
    '{"bore":0.07,"posts":[1,null],"tag":"C-1"}'
    """
    check_plain(body, path)
    text = json.dumps(
        body, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")
    )
    size = len(text.encode())
    if size > MAX_BODY_BYTES:
        limit = MAX_BODY_BYTES // 1024**2
        raise RecordError(
            [Problem(path, f"{size / 1e6:.1f} MB is more than a record may hold ({limit} MiB); "
                           "attach large files instead")]
        )  # fmt: skip
    return text


def from_canonical(text: str) -> dict[str, Any]:
    """Return the body a canonical text stands for."""
    body: dict[str, Any] = json.loads(text)
    return body


def body_hash(text: str) -> str:
    """Return the SHA-256 of a canonical text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()
