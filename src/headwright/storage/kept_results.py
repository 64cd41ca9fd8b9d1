"""Results kept beside the book, by the hash of what they rest on.

They can always be computed again: a missing, damaged or foreign file only means another run.
"""

from __future__ import annotations

import contextlib
import json
import re
import secrets
from pathlib import Path
from typing import Any, Final

__all__ = ["keep_result", "kept_result"]

_HASH: Final = re.compile(r"[0-9a-f]{64}")
MOST_BYTES: Final = 16 * 1024 * 1024


def _place(book: Path, kind: str, input_hash: str) -> Path:
    if not _HASH.fullmatch(input_hash) or not kind.isidentifier():
        raise ValueError("a kept result is named by a kind and a sha256 hash")
    return book.with_name(f"{book.name}.results") / f"{kind}-{input_hash}.json"


def kept_result(book: Path, kind: str, input_hash: str) -> dict[str, Any] | None:
    """Return what was kept under a hash, or None."""
    place = _place(book, kind, input_hash)
    try:
        if place.stat().st_size > MOST_BYTES:
            return None
        body = json.loads(place.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    return body if isinstance(body, dict) else None


def keep_result(book: Path, kind: str, input_hash: str, body: dict[str, Any]) -> bool:
    """Keep a result; return False where the folder cannot be written, which does no harm."""
    place = _place(book, kind, input_hash)
    draft = place.with_name(f".{secrets.token_hex(8)}.new")
    try:
        place.parent.mkdir(exist_ok=True)
        draft.write_text(json.dumps(body, allow_nan=False), encoding="utf-8")
        draft.replace(place)
    except OSError:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
        return False
    return True
