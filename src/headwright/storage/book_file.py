"""What a shop book looks like from outside: told from the first bytes, before SQLite opens it.

A file that is not a book, or not a whole one, is refused without SQLite ever touching it. The
fields of the header are those of the SQLite file format, https://www.sqlite.org/fileformat2.html
section 1.3 "The Database Header".
"""

from __future__ import annotations

import os
import stat
import struct
from pathlib import Path
from typing import Final
from urllib.parse import quote

from headwright.errors import BookError

__all__ = [
    "APPLICATION_ID",
    "HEAD",
    "VERSIONS",
    "attachments_folder",
    "check_file",
    "check_folder",
    "resolve_book_path",
    "sqlite_uri",
]

APPLICATION_ID: Final = int.from_bytes(b"HWsb", "big")
"""The mark in the file's header (offset 68) that makes an SQLite file a shop book."""

VERSIONS: Final = ("0001", "0002")
"""Every layout of the book there has been, oldest first; append only."""

HEAD: Final = VERSIONS[-1]

_MAGIC: Final = b"SQLite format 3\x00"
_HEADER_BYTES: Final = 100
_SMALLEST_PAGE: Final = 512


def resolve_book_path(path: str | os.PathLike[str]) -> Path:
    """Return the absolute path of a book, links followed.

    Raises:
        BookError: the text cannot be a path at all.
    """
    try:
        place = Path(path).expanduser().resolve()
        place.exists()  # asks the system whether it could be a path at all
    except (OSError, ValueError, RuntimeError, TypeError) as error:
        why = getattr(error, "strerror", None) or error
        raise BookError(f"{str(path)[:200]!r} cannot be the path of a shop book: {why}") from None
    return place


def attachments_folder(book: Path) -> Path:
    """Return the folder beside the book that holds its attachments."""
    return book.with_name(book.name + ".files")


def sqlite_uri(path: Path, mode: str = "rw") -> str:
    """Return the URI by which SQLite opens exactly this file, never making a new one."""
    posix = path.as_posix()
    lead = "" if posix.startswith("/") else "/"
    root = "//" if posix.startswith("//") else ""
    text = os.fsencode(posix) if os.name != "nt" else posix.encode()
    return f"file:{root}{lead}{quote(text, safe='/:' if os.name == 'nt' else '/')}?mode={mode}"


def check_folder(path: Path) -> None:
    """See that the folder of a new book exists and can be written in.

    Raises:
        BookError: it does not exist, is no folder, or is read-only.
    """
    folder = path.parent
    if not folder.is_dir():
        raise BookError(f"the folder {folder} does not exist; make it first or name another one")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise BookError(
            f"the folder {folder} is read-only, and a shop book needs to write beside itself; "
            "copy the book to a folder you may write in, or change the folder's permissions"
        )


def check_file(path: Path) -> None:
    """See that a file is a whole shop book, as far as its header and size tell.

    Raises:
        BookError: missing, not a file, not readable, not SQLite, another program's database, or
            cut short. The file has only been read.
    """
    try:
        status = path.stat()
    except FileNotFoundError:
        raise BookError(
            f"there is no shop book at {path}; check the name, or begin one there: import a file "
            "of records into it, or serve it"
        ) from None
    except (OSError, ValueError) as error:
        raise BookError(f"{path} cannot be looked at: {error}") from None
    if stat.S_ISDIR(status.st_mode):
        raise BookError(f"{path} is a folder, not a shop book; name the file in it")
    if not stat.S_ISREG(status.st_mode):
        raise BookError(f"{path} is not an ordinary file, so it cannot be a shop book")
    try:
        with path.open("rb") as file:
            header = file.read(_HEADER_BYTES)
    except OSError as error:
        raise BookError(f"{path} cannot be read: {error.strerror or error}") from None
    _check_header(path, header, status.st_size)
    if not os.access(path, os.W_OK):
        raise BookError(
            f"{path} is read-only; change its permissions or copy it to where you may write"
        )
    check_folder(path)


def _check_header(path: Path, header: bytes, size: int) -> None:
    """Judge the first bytes of a file."""
    if not header:
        raise BookError(f"{path} is empty: not a shop book; delete it or name another file")
    if not header.startswith(_MAGIC[: len(header)]):
        raise BookError(f"{path} is not a shop book (nor any SQLite file); it was left untouched")
    if len(header) < _HEADER_BYTES:
        raise _cut_short(path, size)
    (application,) = struct.unpack_from(">I", header, 68)
    if application != APPLICATION_ID:
        raise BookError(
            f"{path} is an SQLite database of another program, not a shop book; "
            "it was left untouched"
        )
    (page,) = struct.unpack_from(">H", header, 16)
    page = 65536 if page == 1 else page
    if page < _SMALLEST_PAGE or page & (page - 1):
        raise BookError(f"{path} is damaged: its header gives a page size of {page}; {_MEND}")
    changes, pages = struct.unpack_from(">II", header, 24)
    (valid_for,) = struct.unpack_from(">I", header, 92)
    # After a crash the log beside the file may hold what the file lacks: SQLite mends that.
    mending = _size_of(path.with_name(path.name + "-wal")) > 0
    if not mending and changes == valid_for and size < pages * page:
        size = _size_of(path)  # another program may have written the end since our first look
    if not mending and changes == valid_for and size < pages * page:
        raise _cut_short(path, size, pages * page)


def _size_of(path: Path) -> int:
    """Return a file's size [bytes], 0 where there is none: it may vanish at any moment."""
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


_MEND = "restore it from a backup"


def _cut_short(path: Path, size: int, expected: int | None = None) -> BookError:
    """Make the error for a file that lacks its end."""
    of = f" of {expected}" if expected else ""
    return BookError(f"{path} is cut short: only {size}{of} bytes are there; {_MEND}")
