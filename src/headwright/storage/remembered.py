"""Records that were read before, by the hash of their body.

A record is frozen and its body is named by its SHA-256, so one that was read once need not be
read again, whatever book it comes from. Reading a casting takes milliseconds; a page over five
hundred of them would take seconds.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING, Final

from headwright.errors import BookError
from headwright.storage.canonical import body_hash

if TYPE_CHECKING:
    from headwright.records import Record
    from headwright.storage.revisions import Revision

__all__ = ["remember", "remembered"]

MOST: Final = 4000

_records: OrderedDict[tuple[str, str], Record] = OrderedDict()
_lock = threading.Lock()


def remembered(entry: Revision) -> Record | None:
    """Return the record of a revision if it was read before; its text is still held to its hash.

    Raises:
        BookError: the text in the book is not what was saved.
    """
    if entry.body_text is None or entry.body_hash is None:
        return None
    key = (entry.kind, entry.body_hash)
    with _lock:
        record = _records.get(key)
        if record is not None:
            _records.move_to_end(key)
    if record is not None and body_hash(entry.body_text) != entry.body_hash:
        raise BookError(
            f"{entry.kind} {entry.tag!r} revision {entry.revision} is damaged in the book; "
            "restore the book from a backup"
        )
    return record


def remember(entry: Revision, record: Record) -> Record:
    """Keep a record for the next time and return it."""
    if entry.body_hash is not None:
        with _lock:
            _records[entry.kind, entry.body_hash] = record
            while len(_records) > MOST:
                _records.popitem(last=False)
    return record
