"""The bibliography is complete and usable."""

from __future__ import annotations

import pytest

from headwright.errors import InputError
from headwright.references import REFERENCES, cite


def test_every_entry_is_complete() -> None:
    assert len(REFERENCES) > 30
    for key, entry in REFERENCES.items():
        assert key == entry.key
        assert key == key.lower()
        assert entry.authors
        assert entry.title
        assert entry.where
        assert 1900 <= entry.year <= 2100
        assert entry.checked in {"read", "library", "memory"}
        assert str(entry.year) in cite(key)
        assert entry.title in cite(key)


def test_unknown_key_lists_the_known_ones() -> None:
    with pytest.raises(InputError, match="known are anderson-octane, annand"):
        cite("nobody")
