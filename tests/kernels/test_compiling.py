"""The kernels' cache is dropped when a source changes, and only then."""

from __future__ import annotations

from headwright.kernels.compiling import drop_stale_cache


def test_cache_follows_the_sources(tmp_path):
    (tmp_path / "kernel.py").write_text("x = 1\n", encoding="utf-8")
    assert drop_stale_cache(tmp_path)
    compiled = tmp_path / "__pycache__" / "kernel.nbc"
    compiled.write_bytes(b"machine code")
    assert not drop_stale_cache(tmp_path)
    assert compiled.exists()
    (tmp_path / "kernel.py").write_text("x = 2\n", encoding="utf-8")
    assert drop_stale_cache(tmp_path)
    assert not compiled.exists()
