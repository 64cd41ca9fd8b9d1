"""How kernels are compiled, and how their cache is kept honest.

Every kernel is an ordinary function under :data:`compiled`; small ones called inside loops are
under :data:`inlined`, which asks LLVM to inline them so that the loop can be vectorised. With
``NUMBA_DISABLE_JIT=1`` both leave the plain Python function.

The cache on disk belongs to single files, while compiled code contains what it called from other
files. So that an edit to one kernel never leaves a stale copy inside another, a stamp of all
kernel sources is kept beside the cache, and the cache is dropped when the stamp no longer fits.
Numba itself is asked where the cache lies: ``NUMBA_CACHE_DIR`` moves it, and so does a folder of
sources that cannot be written to.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar, cast

import numba
from numba.core.caching import FunctionCache

__all__ = ["cache_folder", "compiled", "drop_stale_cache", "inlined"]

_OPTIONS: Final[dict[str, Any]] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nsz"},
    "boundscheck": False,
    "_nrt": False,
}
"""Fused multiply-add and unsigned zeros are allowed; nothing that hides a NaN or reorders sums.

Kernels allocate nothing, so reference counting (``_nrt``) is off: it took a fifth of the run time
of a network.
"""

Function = TypeVar("Function", bound=Callable[..., object])


def compiled(function: Function) -> Function:
    """Compile a kernel on first use, keeping the result on disk."""
    return cast("Function", numba.njit(**_OPTIONS)(function))


def inlined(function: Function) -> Function:
    """As :func:`compiled`, always inlined into compiled callers."""
    return cast("Function", numba.njit(forceinline=True, **_OPTIONS)(function))


_STAMP_NAME = "kernel_sources.sha256"


def _probe() -> None:
    """Never called: where numba would keep it is where it keeps every kernel of this folder."""


def cache_folder() -> Path:
    """Return the folder numba keeps this package's compiled kernels in."""
    return Path(cast("Any", FunctionCache)(_probe).cache_path)


def drop_stale_cache(sources: Path = Path(__file__).parent, cache: Path | None = None) -> bool:
    """Remove compiled kernels that were built from other sources than those in ``sources``.

    Args:
        sources: folder of the kernels' sources.
        cache: folder of the compiled kernels; numba's own for this package if None.

    Returns:
        True if the cache was dropped (or there was none yet).
    """
    if cache is None:
        try:
            cache = cache_folder()
        except RuntimeError:  # no folder can be written to: numba keeps nothing
            return False
    digest = hashlib.sha256(numba.__version__.encode())
    for source in sorted(sources.glob("*.py")):
        digest.update(source.read_bytes())
    stamp = cache / _STAMP_NAME
    try:
        if stamp.read_text(encoding="ascii") == digest.hexdigest():
            return False
    except OSError:
        pass
    with contextlib.suppress(OSError):  # a read-only installation keeps what it has
        stamp.parent.mkdir(exist_ok=True)
        for stale in [*stamp.parent.glob("*.nbi"), *stamp.parent.glob("*.nbc")]:
            stale.unlink(missing_ok=True)
        stamp.write_text(digest.hexdigest(), encoding="ascii")
    return True


drop_stale_cache()
