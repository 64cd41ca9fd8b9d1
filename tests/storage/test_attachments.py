"""Files kept with records."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path
from typing import Any

import pytest

from headwright.errors import BookError, InputError, UnknownRecordError
from headwright.storage import attachments
from headwright.storage.repository import Book

from .conftest import Card

PICTURE = b"\x89PNG not really" * 1000


@pytest.fixture
def stocked(book: Book) -> Book:
    book.save(Card("C-1"), author="Ada")
    return book


def blobs(book: Book) -> list[Path]:
    folder = attachments.attachments_folder(book.path)
    return sorted(path for path in folder.rglob("*") if path.is_file()) if folder.exists() else []


@pytest.mark.parametrize("form", ["bytes", "path", "text", "stream"])
def test_content_lies_under_its_hash(stocked: Book, tmp_path: Path, form: str) -> None:
    file = tmp_path / "chamber 3.png"
    file.write_bytes(PICTURE)
    sources: dict[str, Any] = {
        "bytes": PICTURE, "path": file, "text": str(file), "stream": io.BytesIO(PICTURE),
    }  # fmt: skip
    kept = stocked.attach(
        "casting", "C-1", "chamber 3.png", sources[form], author="Ada", note="crack?"
    )
    digest = hashlib.sha256(PICTURE).hexdigest()
    assert (kept.media_type, kept.size, kept.sha256) == ("image/png", len(PICTURE), digest)
    assert blobs(stocked) == [stocked.path.parent / "shop.db.files" / digest[:2] / digest]
    assert stocked.read_attachment("casting", "C-1", "chamber 3.png") == PICTURE
    assert stocked.attachments("casting", "C-1") == [kept]
    assert (kept.author, kept.note) == ("Ada", "crack?")


def test_the_same_content_is_kept_once(stocked: Book) -> None:
    for name in ("a.png", "b.png"):
        stocked.attach("casting", "C-1", name, PICTURE, author="Ada")
    assert len(blobs(stocked)) == 1
    assert [entry.name for entry in stocked.attachments("casting", "C-1")] == ["a.png", "b.png"]


def test_a_newer_file_takes_the_place_and_the_older_is_not_lost(stocked: Book) -> None:
    stocked.attach("casting", "C-1", "a.txt", b"one", author="Ada")
    stocked.attach("casting", "C-1", "a.txt", b"two", author="Ada")
    assert stocked.read_attachment("casting", "C-1", "a.txt") == b"two"
    assert len(stocked.attachments("casting", "C-1")) == 1
    assert len(blobs(stocked)) == 2


def test_detach(stocked: Book) -> None:
    stocked.attach("casting", "C-1", "a.txt", b"one", author="Ada")
    stocked.detach("casting", "C-1", "a.txt", author="Ben", note="wrong head")
    assert stocked.attachments("casting", "C-1") == []
    assert len(blobs(stocked)) == 1
    for attempt in (
        lambda: stocked.detach("casting", "C-1", "a.txt", author="Ben"),
        lambda: stocked.read_attachment("casting", "C-1", "a.txt"),
    ):
        with pytest.raises(UnknownRecordError, match=r"has no file 'a.txt'; it has: none"):
            attempt()
    stocked.attach("casting", "C-1", "a.txt", b"one", author="Ben")
    assert stocked.read_attachment("casting", "C-1", "a.txt") == b"one"


@pytest.mark.parametrize(
    "name",
    ["", " ", ".", "..", "../x", "/etc/passwd", "a\\b", "C:x", "a\nb", "a\x00b", "x" * 201, "a*b"],
)
def test_names_that_are_no_names(stocked: Book, name: str) -> None:
    with pytest.raises(InputError, match="attachment name"):
        stocked.attach("casting", "C-1", name, b"text", author="Ada")
    assert blobs(stocked) == []


@pytest.mark.parametrize("media_type", ["png", "image/", "image/png; x=1", "a b/c", "x" * 200])
def test_media_types(stocked: Book, media_type: str) -> None:
    with pytest.raises(InputError, match="media type"):
        stocked.attach("casting", "C-1", "a", b"text", author="Ada", media_type=media_type)
    kept = stocked.attach("casting", "C-1", "a", b"x", author="Ada", media_type="Image/PNG")
    assert kept.media_type == "image/png"
    assert stocked.attach("casting", "C-1", "scan", b"x", author="Ada").media_type == (
        "application/octet-stream"
    )


def test_sizes(stocked: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(attachments, "MAX_ATTACHMENT_BYTES", 2 * 1024 * 1024)
    with pytest.raises(InputError, match="larger than the 2 MiB allowed"):
        stocked.attach("casting", "C-1", "a", bytes(2 * 1024 * 1024 + 1), author="Ada")
    with pytest.raises(InputError, match="is empty"):
        stocked.attach("casting", "C-1", "a", b"", author="Ada")
    assert blobs(stocked) == []
    stocked.attach("casting", "C-1", "a", bytes(2 * 1024 * 1024), author="Ada")


def test_what_cannot_be_attached(stocked: Book, tmp_path: Path) -> None:
    for source in (tmp_path / "nothing.png", tmp_path, "a\x00b"):
        with pytest.raises(InputError, match="cannot be read"):
            stocked.attach("casting", "C-1", "a", source, author="Ada")
    with pytest.raises(UnknownRecordError):
        stocked.attach("casting", "C-2", "a", b"text", author="Ada")
    with pytest.raises(InputError, match="author"):
        stocked.attach("casting", "C-1", "a", b"text", author="")
    assert stocked.attachments("casting", "C-1") == []


def test_damaged_and_missing_content_is_noticed(stocked: Book) -> None:
    stocked.attach("casting", "C-1", "a.txt", b"one", author="Ada")
    (blob,) = blobs(stocked)
    blob.write_bytes(b"0ne")
    with pytest.raises(BookError, match=r"'a.txt' is damaged"):
        stocked.read_attachment("casting", "C-1", "a.txt")
    assert [found.split(" (")[0] for found in stocked.verify()] == ["attachment 'a.txt' is damaged"]
    stocked.attach("casting", "C-1", "b.txt", b"one", author="Ada")
    assert stocked.read_attachment("casting", "C-1", "a.txt") == b"one"
    blob.unlink()
    with pytest.raises(BookError, match=r"'a.txt' is missing"):
        stocked.read_attachment("casting", "C-1", "a.txt")
    assert "is missing" in stocked.verify()[0]


def test_a_folder_that_cannot_be_written(stocked: Book) -> None:
    attachments.attachments_folder(stocked.path).write_text("a file in the way")
    with pytest.raises(BookError, match="nothing was attached"):
        stocked.attach("casting", "C-1", "a.txt", b"one", author="Ada")
    assert stocked.attachments("casting", "C-1") == []
