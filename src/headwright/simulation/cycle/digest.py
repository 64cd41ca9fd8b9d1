"""A fingerprint of a case, by which results can be kept and found again."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Mapping
from typing import Any

import numpy as np

__all__ = ["digest_of"]

_SHOWN_ONLY = frozenset({"name", "assumptions", "sources"})


def digest_of(case: Any) -> str:
    """SHA-256 of everything a case computes with, as hexadecimal digits.

    Names for messages and the lists of assumptions and sources are left out. Two cases with one
    digest give the same results from the same code.

    Args:
        case: An engine case.

    Raises:
        TypeError: Something in it has no defined form.
    """
    state = hashlib.sha256()
    _feed(state, case, top=True)
    return state.hexdigest()


def _feed(state: Any, item: Any, *, top: bool = False) -> None:
    if dataclasses.is_dataclass(item) and not isinstance(item, type):
        state.update(f"<{type(item).__name__}".encode())
        for field in dataclasses.fields(item):
            if top and field.name in _SHOWN_ONLY:
                continue
            state.update(f"|{field.name}=".encode())
            _feed(state, getattr(item, field.name))
        state.update(b">")
    elif isinstance(item, np.ndarray):
        state.update(f"[{item.dtype}{item.shape}".encode())
        state.update(np.ascontiguousarray(item).tobytes())
    elif isinstance(item, float):
        state.update(item.hex().encode())
    elif item is None or isinstance(item, bool | int | str):
        state.update(repr(item).encode())
    elif isinstance(item, tuple | list):
        state.update(f"({len(item)}".encode())
        for one in item:
            _feed(state, one)
            state.update(b",")
    elif isinstance(item, Mapping):
        for key in sorted(item):
            state.update(f"{key!r}:".encode())
            _feed(state, item[key])
    else:
        msg = f"no digest of a {type(item).__name__}"
        raise TypeError(msg)
