"""What is in a backup archive, trusted no further than its list of contents goes."""

from __future__ import annotations

import hashlib
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from headwright.errors import FileFormatError
from headwright.storage import attachments

__all__ = [
    "ARCHIVE_ERRORS",
    "BOOK",
    "FOLDER",
    "FORMAT",
    "MANIFEST",
    "Part",
    "checked_chunks",
    "read_manifest",
]

FORMAT: Final = 1
MAX_BOOK_BYTES: Final = 16 * 1024**3
MAX_MANIFEST_BYTES: Final = 64 * 1024**2
MAX_ENTRIES: Final = 200_000

MANIFEST: Final = "manifest.json"
BOOK: Final = "book.db"
FOLDER: Final = "attachments/"
_CHUNK: Final = 1024 * 1024
_PACKINGS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
ARCHIVE_ERRORS: Final = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OverflowError,
    RuntimeError,  # of which is NotImplementedError: a packing Python does not know
    ValueError,
)
"""What :mod:`zipfile` raises over an archive that is damaged or made to harm."""
_SHA256: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Part:
    """One file of the archive: its name there, its size [bytes] and its hash."""

    name: str
    size: int
    sha256: str


def read_manifest(reader: zipfile.ZipFile, name: str) -> tuple[str, list[Part]]:
    """Return when a backup was made and what it holds, held against what is in the archive.

    Args:
        reader: the open archive.
        name: what to call it in messages.

    Raises:
        FileFormatError: no backup, or its list and its contents do not agree.
    """
    entries = {entry.filename: entry for entry in reader.infolist()}
    if len(reader.infolist()) > MAX_ENTRIES or len(entries) != len(reader.infolist()):
        raise FileFormatError(f"{name}: not a backup: too many files, or one of them twice")
    if odd := [key for key, entry in entries.items() if entry.compress_type not in _PACKINGS]:
        raise FileFormatError(f"{name}: {odd[0][:80]!r} is packed in a way backups are not")
    if MANIFEST not in entries:
        raise FileFormatError(f"{name}: not a backup: it has no {MANIFEST}")
    if entries[MANIFEST].file_size > MAX_MANIFEST_BYTES:
        raise FileFormatError(f"{name}: its {MANIFEST} is too large")
    try:
        manifest: Any = json.loads(_read_at_most(reader, MANIFEST, MAX_MANIFEST_BYTES))
        number = manifest["headwright_backup"]
        if number != FORMAT:
            raise FileFormatError(f"{name}: a backup of format {str(number)[:20]}; not known here")
        made = str(manifest["made"])[:40]
        parts = [
            Part(str(part["name"]), int(part["size"]), str(part["sha256"]))
            for part in manifest["parts"]
        ]
    except (*ARCHIVE_ERRORS, OSError, KeyError, TypeError) as error:
        raise FileFormatError(f"{name}: its {MANIFEST} cannot be read: {error!r:.200}") from None
    _check_parts(parts, entries, name)
    return made, parts


def _check_parts(parts: list[Part], entries: dict[str, zipfile.ZipInfo], name: str) -> None:
    """See that the list names what is there, nothing else, and nothing out of bounds."""
    listed = {part.name for part in parts}
    if listed != set(entries) - {MANIFEST} or len(listed) != len(parts) or BOOK not in listed:
        odd = sorted(listed ^ (set(entries) - {MANIFEST}))[:1]
        what = f": {odd[0][:80]!r}" if odd else ""
        raise FileFormatError(f"{name}: its list and its contents do not agree{what}")
    for part in parts:
        limit = MAX_BOOK_BYTES if part.name == BOOK else attachments.MAX_ATTACHMENT_BYTES
        proper = part.name in {BOOK, FOLDER + part.sha256} and _SHA256.fullmatch(part.sha256)
        if not proper or entries[part.name].flag_bits & 0x1:
            raise FileFormatError(f"{name}: {part.name[:80]!r} does not belong in a backup")
        if not 0 < part.size <= limit or entries[part.name].file_size != part.size:
            raise FileFormatError(f"{name}: {part.name[:80]!r} has an impossible size")


def _read_at_most(reader: zipfile.ZipFile, part: str, limit: int) -> bytes:
    with reader.open(part) as stream:
        content = stream.read(limit + 1)
    if len(content) > limit:
        raise ValueError("too large")
    return content


def checked_chunks(reader: zipfile.ZipFile, part: Part, name: str) -> Iterator[bytes]:
    """Yield one part, never more than its size, and check it against its hash at the end.

    Raises:
        FileFormatError: it is damaged.
    """
    digest = hashlib.sha256()
    left = part.size
    try:
        with reader.open(part.name) as stream:
            while chunk := stream.read(min(_CHUNK, left + 1)):
                left -= len(chunk)
                if left < 0:
                    break
                digest.update(chunk)
                yield chunk
    except (*ARCHIVE_ERRORS, OSError) as error:
        raise FileFormatError(f"{name}: {part.name[:80]!r} is damaged: {error}") from None
    if left != 0 or digest.hexdigest() != part.sha256:
        raise FileFormatError(f"{name}: {part.name[:80]!r} is damaged; use another backup")
