"""Files kept with records: stored once by the hash of their content, in a folder beside the book.

The place of a file follows from its SHA-256 alone, ``<book>.files/ab/abcdef...``; the name the
user gave is only ever text in a row. A file is written under a passing name, flushed to the disk
and then given its own name, so what is there is whole; and it is checked again whenever read.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import mimetypes
import os
import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO, Final

import sqlalchemy as sa

from headwright.errors import BookError, InputError, UnknownRecordError
from headwright.storage import revisions
from headwright.storage.book_file import attachments_folder
from headwright.storage.engine import now
from headwright.storage.schema import attachment as table

__all__ = [
    "MAX_ATTACHMENT_BYTES",
    "Attachment",
    "AttachmentSource",
    "blob_path",
    "check_name",
    "damaged",
    "ever_linked",
    "link",
    "listed",
    "read",
    "store",
    "unknown",
    "unlink",
]

MAX_ATTACHMENT_BYTES: Final = 256 * 1024 * 1024
"""The largest file that can be attached: room for a dense scan of a head."""

_CHUNK: Final = 1024 * 1024
_MEDIA_TYPE: Final = re.compile(r"[a-z0-9][a-z0-9!#$&^_.+-]{0,62}/[a-z0-9][a-z0-9!#$&^_.+-]{0,62}")
_NO_NAME: Final = frozenset('/\\:*?"<>|')

AttachmentSource = bytes | str | os.PathLike[str] | BinaryIO


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file kept with a record. ``size`` in bytes; ``sha256`` in hexadecimal; ``time`` UTC."""

    name: str
    media_type: str
    size: int
    sha256: str
    author: str = ""
    time: str = ""
    note: str = ""


def check_name(name: str, media_type: str | None) -> tuple[str, str]:
    """Return a name and a media type that can be accepted.

    Raises:
        InputError: the name is empty, too long or holds more than a name; or no such type.
    """
    checked = revisions.check_line("attachment name", name, 200)
    if bad := sorted(_NO_NAME & set(checked)) or checked.strip(". ") == "":
        shown = " ".join(bad) if isinstance(bad, list) else "dots"
        raise InputError(
            f"attachment name {checked[:80]!r}: a name only, no path; {shown} cannot be in it"
        )
    if "\n" in checked or "\t" in checked:
        raise InputError(f"attachment name {checked[:80]!r}: must be one line")
    guessed = media_type or mimetypes.guess_type(checked)[0] or "application/octet-stream"
    if not isinstance(guessed, str) or not _MEDIA_TYPE.fullmatch(guessed.lower()):
        raise InputError(
            f"media type {str(guessed)[:80]!r}: write it like image/jpeg or application/pdf"
        )
    return checked, guessed.lower()


def blob_path(book: Path, sha256: str) -> Path:
    """Return where content of this hash lies."""
    if not re.fullmatch(r"[0-9a-f]{64}", sha256):
        raise BookError(f"{sha256[:80]!r} in {book} is no SHA-256; restore the book from a backup")
    return attachments_folder(book) / sha256[:2] / sha256


def _opened(source: AttachmentSource) -> contextlib.AbstractContextManager[BinaryIO]:
    """Return the content as a stream; one that was given stays open afterwards."""
    if isinstance(source, bytes):
        return io.BytesIO(source)
    if isinstance(source, str | os.PathLike):
        try:
            return Path(source).open("rb")
        except (OSError, ValueError) as error:
            raise InputError(f"attachment {str(source)[:200]!r} cannot be read: {error}") from None
    return contextlib.nullcontext(source)


def store(book: Path, source: AttachmentSource) -> tuple[int, str]:
    """Write content to its place, unless it is there already; return its size and hash.

    Raises:
        InputError: too large, empty, or it cannot be read.
        BookError: the folder cannot be written.
    """
    folder = attachments_folder(book)
    draft = folder / f".{secrets.token_hex(8)}.new"
    with _opened(source) as stream:
        try:
            folder.mkdir(exist_ok=True)
            size, sha256 = _copy(stream, draft)
            if size == 0:
                raise InputError("the attachment is empty")
            place = blob_path(book, sha256)
            if not (place.is_file() and _hash_of(place) == sha256):
                place.parent.mkdir(exist_ok=True)
                draft.replace(place)
                _flush_folder(place.parent)
        except OSError as error:
            raise BookError(
                f"could not write to {folder}: {error.strerror or error}; nothing was attached"
            ) from error
        finally:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)
    return size, sha256


def _copy(stream: BinaryIO, target: Path) -> tuple[int, str]:
    """Copy a stream to a new file, down to the disk, and return its size and hash."""
    digest = hashlib.sha256()
    size = 0
    with target.open("xb") as file:
        while chunk := stream.read(_CHUNK):
            size += len(chunk)
            if size > MAX_ATTACHMENT_BYTES:
                limit = MAX_ATTACHMENT_BYTES // 1024**2
                raise InputError(f"the attachment is larger than the {limit} MiB allowed")
            digest.update(chunk)
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())
    return size, digest.hexdigest()


def _flush_folder(folder: Path) -> None:
    """Make a new name durable, where the system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _hash_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def read(book: Path, attachment: Attachment) -> bytes:
    """Return the content of an attachment, checked against its hash.

    Raises:
        BookError: missing or damaged.
    """
    place = blob_path(book, attachment.sha256)
    try:
        content = place.read_bytes()
    except OSError as error:
        raise BookError(
            f"attachment {attachment.name!r} is missing from {place.parent} "
            f"({error.strerror or error}); restore it from a backup"
        ) from None
    if hashlib.sha256(content).hexdigest() != attachment.sha256:
        raise BookError(f"attachment {attachment.name!r} is damaged; restore it from a backup")
    return content


def link(connection: sa.Connection, kind: str, tag: str, attachment: Attachment) -> Attachment:
    """Note that a stored file belongs to a record.

    Raises:
        UnknownRecordError: no such record.
        InputError: the author or the note cannot be accepted.
    """
    record = revisions.find(connection, kind, tag)
    written = replace(
        attachment,
        author=revisions.check_line("author", attachment.author, 100),
        time=now(),
        note=revisions.check_line("note", attachment.note, revisions.MAX_NOTE, empty=True),
    )
    connection.execute(
        table.insert().values(
            kind=kind,
            tag=tag,
            revision=record.revision,
            name=written.name,
            author=written.author,
            time=written.time,
            note=written.note,
            media_type=written.media_type,
            size=written.size,
            sha256=written.sha256,
        )
    )
    return written


def unlink(
    connection: sa.Connection, kind: str, tag: str, name: str, *, author: str, note: str
) -> None:
    """Note that a file no longer belongs to a record."""
    record = revisions.find(connection, kind, tag, allow_withdrawn=True)
    connection.execute(
        table.insert().values(
            kind=kind,
            tag=tag,
            revision=record.revision,
            name=name,
            author=revisions.check_line("author", author, 100),
            time=now(),
            note=revisions.check_line("note", note, revisions.MAX_NOTE, empty=True),
        )
    )


_COLUMNS: Final = [table.c[name] for name in Attachment.__dataclass_fields__]


def listed(connection: sa.Connection, kind: str, tag: str) -> list[Attachment]:
    """List the files a record has now, by name."""
    query = (
        sa.select(*_COLUMNS).where(table.c.kind == kind, table.c.tag == tag).order_by(table.c.id)
    )
    newest = {row.name: row for row in connection.execute(query)}
    return [Attachment(*row) for _, row in sorted(newest.items()) if row.sha256 is not None]


def ever_linked(connection: sa.Connection) -> list[Attachment]:
    """List every file the book has ever referred to."""
    query = sa.select(*_COLUMNS).where(table.c.sha256.is_not(None)).order_by(table.c.id)
    return [Attachment(*row) for row in connection.execute(query)]


def damaged(book: Path, attachments: Sequence[Attachment]) -> list[str]:
    """Name the files that are missing or not what they were."""
    found = []
    for sha256, name in {entry.sha256: entry.name for entry in attachments}.items():
        place = blob_path(book, sha256)
        if not place.is_file():
            found.append(f"attachment {name!r} is missing ({place.name[:12]}...)")
        elif _hash_of(place) != sha256:
            found.append(f"attachment {name!r} is damaged ({place.name[:12]}...)")
    return found


def unknown(kind: str, tag: str, name: str, present: Sequence[Attachment]) -> UnknownRecordError:
    """Make the error for a file that is not kept with a record."""
    names = ", ".join(repr(entry.name) for entry in present[:10]) or "none"
    return UnknownRecordError(f"{kind} {tag!r} has no file {name[:80]!r}; it has: {names}")
