"""The kernels' cache is dropped when a source changes, and only then."""

from __future__ import annotations

import numba

from headwright.kernels.compiling import cache_folder, compiled, drop_stale_cache


def test_cache_follows_the_sources(tmp_path):
    (tmp_path / "kernel.py").write_text("x = 1\n", encoding="utf-8")
    cache = tmp_path / "cache"
    assert drop_stale_cache(tmp_path, cache)
    machine_code = cache / "kernel.nbc"
    machine_code.write_bytes(b"machine code")
    assert not drop_stale_cache(tmp_path, cache)
    assert machine_code.exists()
    (tmp_path / "kernel.py").write_text("x = 2\n", encoding="utf-8")
    assert drop_stale_cache(tmp_path, cache)
    assert not machine_code.exists()


def test_a_cache_elsewhere_follows_the_sources_too(tmp_path, monkeypatch):
    """NUMBA_CACHE_DIR moves the compiled kernels; the stamp that drops stale ones goes along."""
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))

    @compiled
    def double(value: float) -> float:
        return 2.0 * value

    assert cache_folder().is_relative_to(tmp_path)
    assert drop_stale_cache()
    assert not drop_stale_cache()
    assert double(2.0) == 4.0
    kept = list(tmp_path.rglob("*.nbc"))
    assert numba.config.DISABLE_JIT or kept
    stale = cache_folder() / "kernel.nbc"
    stale.write_bytes(b"machine code")
    (cache_folder() / "kernel_sources.sha256").write_text("of other sources", encoding="ascii")
    assert drop_stale_cache()
    assert not stale.exists()
