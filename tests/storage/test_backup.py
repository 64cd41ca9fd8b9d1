"""Backup and restore: complete, checked, and nothing taken on trust from an archive."""

from __future__ import annotations

import hashlib
import json
import shutil
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from headwright.errors import BookError, FileFormatError
from headwright.storage import archive as archive_module
from headwright.storage import attachments, backup
from headwright.storage.backup import backup_book, restore_book
from headwright.storage.repository import Book

from .conftest import Card


@pytest.fixture
def stocked(book: Book) -> Book:
    for bore in (0.070, 0.071):
        book.save(Card("C-1", {"bore": bore}), author="Ada")
    book.save(Card("C-2"), author="Ben", note="new")
    book.withdraw("casting", "C-2", author="Ben")
    book.attach("casting", "C-1", "face.txt", b"flat", author="Ada")
    book.attach("casting", "C-1", "again.txt", b"flat", author="Ada")
    book.attach("casting", "C-1", "photo.jpg", bytes(range(256)) * 1000, author="Ada")
    book.detach("casting", "C-1", "photo.jpg", author="Ada")
    return book


@pytest.fixture
def archive(stocked: Book, tmp_path: Path) -> Path:
    place = tmp_path / "backup.zip"
    backup_book(stocked, place)
    return place


def rows(book: Book) -> list[tuple[Any, ...]]:
    with book._reading() as connection:
        return [
            tuple(row)
            for table in ("revision", "attachment")
            for row in connection.exec_driver_sql(f"SELECT * FROM {table} ORDER BY id")  # noqa: S608
        ]


def test_everything_comes_back(stocked: Book, tmp_path: Path) -> None:
    report = backup_book(stocked, tmp_path / "backup.zip")
    assert (report.revisions, report.attachments, report.missing) == (4, 2, ())
    assert report.size == (tmp_path / "backup.zip").stat().st_size
    target = tmp_path / "elsewhere" / "back.db"
    target.parent.mkdir()
    restored = restore_book(tmp_path / "backup.zip", target)
    assert (restored.path, restored.attachments, restored.set_aside) == (target, 2, None)
    with Book.open(target) as again:
        assert rows(again) == rows(stocked)
        assert again.verify() == []
        assert again.read_attachment("casting", "C-1", "face.txt") == b"flat"
        again.save(Card("C-3"), author="Ada")
    assert sorted(path.name for path in target.parent.iterdir()) == ["back.db", "back.db.files"]


def test_the_book_may_be_in_use_meanwhile(stocked: Book, tmp_path: Path) -> None:
    with stocked._writing("Ben") as connection:
        connection.exec_driver_sql("SELECT count(*) FROM revision")
        backup_book(stocked, tmp_path / "backup.zip")
    stocked.save(Card("C-9"), author="Ada")
    restore_book(tmp_path / "backup.zip", tmp_path / "back.db")
    with Book.open(tmp_path / "back.db") as again:
        assert [entry.tag for entry in again.list()] == ["C-1"]


def test_a_lost_attachment_does_not_stop_the_rest(stocked: Book, tmp_path: Path) -> None:
    attachments.blob_path(stocked.path, hashlib.sha256(b"flat").hexdigest()).unlink()
    report = backup_book(stocked, tmp_path / "backup.zip")
    assert (report.attachments, report.missing) == (1, ("again.txt",))
    restore_book(tmp_path / "backup.zip", tmp_path / "back.db")
    with Book.open(tmp_path / "back.db") as again:
        assert len(again.list()) == 1
        assert "is missing" in again.verify()[0]


def test_where_a_backup_cannot_go(stocked: Book, tmp_path: Path) -> None:
    (tmp_path / "taken.zip").write_text("mine")
    (tmp_path / "folder.zip").mkdir()
    for name, message in (
        ("taken.zip", "is there already"),
        ("nowhere/backup.zip", "does not exist"),
    ):
        with pytest.raises(BookError, match=message):
            backup_book(stocked, tmp_path / name)
    for place in (stocked.path, tmp_path / "folder.zip"):
        with pytest.raises(BookError, match="a file of its own"):
            backup_book(stocked, place, replace=True)
    assert (tmp_path / "taken.zip").read_text() == "mine"
    backup_book(stocked, tmp_path / "taken.zip", replace=True)
    assert zipfile.is_zipfile(tmp_path / "taken.zip")
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".new")] == []


def test_restoring_over_a_book_needs_asking_and_keeps_it(archive: Path, stocked: Book) -> None:
    path = stocked.path
    stocked.save(Card("C-4"), author="Ada")
    with pytest.raises(BookError, match="is there already"):
        restore_book(archive, path)
    with pytest.raises(BookError, match="open in another program"):
        restore_book(archive, path, replace=True)
    assert [entry.tag for entry in stocked.list()] == ["C-1", "C-4"]
    stocked.close()
    report = restore_book(archive, path, replace=True)
    assert report.set_aside == path.with_name("shop.db.replaced-1")
    with Book.open(path) as again, Book.open(report.set_aside) as before:
        assert [entry.tag for entry in again.list()] == ["C-1"]
        assert [entry.tag for entry in before.list()] == ["C-1", "C-4"]
    assert restore_book(archive, path, replace=True).set_aside == path.with_name(
        "shop.db.replaced-2"
    )


def test_restoring_over_a_damaged_book(archive: Path, stocked: Book) -> None:
    stocked.close()
    whole = stocked.path.read_bytes()
    stocked.path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BookError):
        Book.open(stocked.path)
    restore_book(archive, stocked.path, replace=True)
    with Book.open(stocked.path) as again:
        assert again.verify() == []


def test_restoring_beside_the_log_of_a_book_that_is_gone(archive: Path, tmp_path: Path) -> None:
    (tmp_path / "back.db-wal").write_bytes(b"left over")
    with pytest.raises(BookError, match="left over"):
        restore_book(archive, tmp_path / "back.db")
    restore_book(archive, tmp_path / "back.db", replace=True)
    assert (tmp_path / "back.db.replaced-1-wal").read_bytes() == b"left over"
    with Book.open(tmp_path / "back.db") as again:
        assert again.verify() == []


def remade(archive: Path, target: Path, change: Any) -> Path:
    """Write the archive anew, with its manifest and its files changed."""
    with zipfile.ZipFile(archive) as reader:
        files = {name: reader.read(name) for name in reader.namelist()}
    manifest = json.loads(files.pop("manifest.json"))
    result = change(manifest, files)
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as writer:
        for name, content in files.items():
            writer.writestr(name, content)
        if result is not False:
            writer.writestr("manifest.json", json.dumps(manifest))
    return target


def add(name: str, content: bytes = b"evil", *, listed: bool = True) -> Any:
    def change(manifest: Any, files: dict[str, bytes]) -> None:
        files[name] = content
        if listed:
            digest = hashlib.sha256(content).hexdigest()
            part = {"name": name, "size": len(content), "sha256": digest}
            manifest["parts"].append(part)

    return change


def set_part(**values: Any) -> Any:
    def change(manifest: Any, _files: dict[str, bytes]) -> None:
        manifest["parts"][-1].update(values)

    return change


def set_manifest(**values: Any) -> Any:
    def change(manifest: Any, _files: dict[str, bytes]) -> None:
        manifest.update(values)

    return change


def without_manifest(_manifest: Any, _files: dict[str, bytes]) -> bool:
    return False


def other_book(manifest: Any, files: dict[str, bytes]) -> None:
    files["book.db"] = b"not a book at all" * 100
    manifest["parts"][0]["size"] = len(files["book.db"])
    manifest["parts"][0]["sha256"] = hashlib.sha256(files["book.db"]).hexdigest()


def short_book(manifest: Any, files: dict[str, bytes]) -> None:
    files["book.db"] = files["book.db"][:-4096]
    manifest["parts"][0]["size"] = len(files["book.db"])
    manifest["parts"][0]["sha256"] = hashlib.sha256(files["book.db"]).hexdigest()


def drop_book(manifest: Any, files: dict[str, bytes]) -> None:
    del files["book.db"]
    manifest["parts"].pop(0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (add("../../evil.txt"), "does not belong"),
        (add("/etc/evil"), "does not belong"),
        (add("attachments/../../evil"), "does not belong"),
        (add("C:\\evil"), "does not belong"),
        (add("attachments/" + "0" * 64), "does not belong"),
        (add("extra.txt", listed=False), "do not agree: 'extra.txt'"),
        (set_part(size=10**12), "impossible size"),
        (set_part(size=-1), "impossible size"),
        (set_part(size=1), "impossible size"),
        (set_part(sha256="../../../evil"), "does not belong"),
        (set_part(sha256="0" * 64), "does not belong"),
        (set_part(name="book.db"), "do not agree"),
        (set_part(name=None), "do not agree"),
        (set_part(size="big"), "manifest.json cannot be read"),
        (set_manifest(headwright_backup=2), "format 2"),
        (set_manifest(parts=None), "manifest.json cannot be read"),
        (set_manifest(parts=[1]), "manifest.json cannot be read"),
        (set_manifest(parts=[]), "do not agree"),
        (without_manifest, "it has no manifest.json"),
        (drop_book, "do not agree"),
        (other_book, "not a shop book"),
        (short_book, "cut short"),
    ],
)
def test_archives_that_are_no_backup(
    archive: Path, tmp_path: Path, change: Any, message: str
) -> None:
    bad = remade(archive, tmp_path / "bad.zip", change)
    place = tmp_path / "deep" / "deeper" / "back.db"
    place.parent.mkdir(parents=True)
    with pytest.raises(FileFormatError, match=message):
        restore_book(bad, place)
    assert list(place.parent.iterdir()) == []
    assert [path.name for path in place.parent.parent.iterdir()] == ["deeper"]


def packed_anew(archive: Path, target: Path, packing: int, *, twice: bool = False) -> Path:
    with zipfile.ZipFile(archive) as reader, zipfile.ZipFile(target, "w", packing) as writer:
        for name in reader.namelist():
            writer.writestr(name, reader.read(name))
        if twice:
            with pytest.warns(UserWarning, match="Duplicate name"):
                writer.writestr("book.db", b"another")
    return target


def test_other_packings_and_names_given_twice(archive: Path, tmp_path: Path) -> None:
    bad = packed_anew(archive, tmp_path / "lzma.zip", zipfile.ZIP_LZMA)
    with pytest.raises(FileFormatError, match="packed in a way backups are not"):
        restore_book(bad, tmp_path / "back.db")
    bad = packed_anew(archive, tmp_path / "twice.zip", zipfile.ZIP_STORED, twice=True)
    with pytest.raises(FileFormatError, match="one of them twice"):
        restore_book(bad, tmp_path / "back.db")
    good = packed_anew(archive, tmp_path / "stored.zip", zipfile.ZIP_STORED)
    restore_book(good, tmp_path / "back.db")


def test_limits_of_an_archive(
    archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for limit, message in (
        ("MAX_BOOK_BYTES", "impossible size"),
        ("MAX_MANIFEST_BYTES", "is too large"),
        ("MAX_ENTRIES", "too many files"),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(archive_module, limit, 1)
            with pytest.raises(FileFormatError, match=message):
                restore_book(archive, tmp_path / "back.db")
    assert not (tmp_path / "back.db").exists()


def test_a_restore_that_cannot_finish_puts_the_old_book_back(
    archive: Path, stocked: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    stocked.save(Card("C-4"), author="Ada")
    stocked.close()

    def fail(*_: object) -> None:
        raise BookError("no room")

    with monkeypatch.context() as patch:
        patch.setattr(backup, "put_in_place", fail)
        with pytest.raises(BookError, match="no room"):
            restore_book(archive, stocked.path, replace=True)
    with Book.open(stocked.path) as book:
        assert [entry.tag for entry in book.list()] == ["C-1", "C-4"]


def test_reports_in_words(archive: Path, stocked: Book, tmp_path: Path) -> None:
    told = str(backup_book(stocked, tmp_path / "again.zip"))
    assert "4 revisions and 2 attached files" in told
    assert "checked" in told
    assert "restored as of 2" in str(restore_book(archive, tmp_path / "back.db"))


def test_a_bomb_is_not_unpacked(archive: Path, tmp_path: Path) -> None:
    """The list and the directory of the archive say 3 bytes; the data would be 50 MB."""
    content = bytes(50_000_000)
    bad = remade(archive, tmp_path / "bomb.zip", add("attachments/" + "0" * 64, content))
    with zipfile.ZipFile(bad) as reader:
        start = next(entry for entry in reader.infolist() if entry.file_size == len(content))
    data = bad.read_bytes().replace(len(content).to_bytes(4, "little"), (3).to_bytes(4, "little"))
    assert start.compress_size < 60_000
    digest = hashlib.sha256(bytes(3)).hexdigest()
    old = hashlib.sha256(content).hexdigest()
    with zipfile.ZipFile(bad) as reader:
        manifest = reader.read("manifest.json").decode()
    assert old in manifest
    bad.write_bytes(data.replace(("0" * 64).encode(), digest.encode()))
    # the manifest is stored packed: write it anew with the small size and the hash of 3 bytes
    changed = json.loads(manifest)
    changed["parts"][-1] = {"name": f"attachments/{digest}", "size": 3, "sha256": digest}
    _replace_manifest(bad, changed)
    with pytest.raises(FileFormatError, match=r"damaged|not a whole backup"):
        restore_book(bad, tmp_path / "back.db")
    assert not (tmp_path / "back.db").exists()


def _replace_manifest(path: Path, manifest: Any) -> None:
    """Copy the raw entries of an archive and put another manifest in."""
    with zipfile.ZipFile(path) as reader:
        entries = [entry for entry in reader.infolist() if entry.filename != "manifest.json"]
        raw = {}
        for entry in entries:
            reader.fp.seek(entry.header_offset + 26)  # type: ignore[union-attr]
            lengths = reader.fp.read(4)  # type: ignore[union-attr]
            skip = int.from_bytes(lengths[:2], "little") + int.from_bytes(lengths[2:], "little")
            reader.fp.seek(entry.header_offset + 30 + skip)  # type: ignore[union-attr]
            raw[entry.filename] = reader.fp.read(entry.compress_size)  # type: ignore[union-attr]
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as writer:
        for entry in entries:
            entry.header_offset = writer.fp.tell()  # type: ignore[union-attr]
            entry.flag_bits = 0
            writer.fp.write(entry.FileHeader(zip64=False))  # type: ignore[union-attr]
            writer.fp.write(raw[entry.filename])  # type: ignore[union-attr]
            writer.filelist.append(entry)
            writer.NameToInfo[entry.filename] = entry
            writer.start_dir = writer.fp.tell()  # type: ignore[union-attr]
        writer.writestr("manifest.json", json.dumps(manifest))


def test_a_full_disk_is_foreseen(
    archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda _: usage._replace(free=1000))
    with pytest.raises(BookError, match=r"has only 0 MB free"):
        restore_book(archive, tmp_path / "back.db")


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "text.zip").write_text("no archive")
    (tmp_path / "empty.zip").write_bytes(b"")
    for name in ("text.zip", "empty.zip"):
        with pytest.raises(FileFormatError, match="not a whole backup"):
            restore_book(tmp_path / name, tmp_path / "back.db")
    for name in ("nothing.zip", ".", "a\x00b"):
        with pytest.raises(FileFormatError, match=r"cannot be read|not a whole backup: embedded"):
            restore_book(tmp_path / name, tmp_path / "back.db")
    with pytest.raises(BookError, match="is a folder"):
        restore_book(tmp_path / "text.zip", tmp_path)


@pytest.mark.prop
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(share=st.floats(0.0, 0.9999), flip=st.integers(0, 255))
@example(share=0.890625, flip=1)
@example(share=0.9991568018239763, flip=1)
def test_damaged_archives_restore_nothing_wrong(
    archive: Path, tmp_path: Path, share: float, flip: int
) -> None:
    """Cut short (flip 0) or one byte changed: refused, or every content is as it was."""
    whole = archive.read_bytes()
    place = int(share * len(whole))
    damaged = whole[:place]
    if flip:
        damaged += bytes([whole[place] ^ flip]) + whole[place + 1 :]
    (tmp_path / "damaged.zip").write_bytes(damaged)
    shutil.rmtree(tmp_path / "out", ignore_errors=True)
    (tmp_path / "out").mkdir()
    try:
        restore_book(tmp_path / "damaged.zip", tmp_path / "out" / "back.db")
    except FileFormatError:
        assert list((tmp_path / "out").iterdir()) == []
    else:
        with Book.open(tmp_path / "out" / "back.db") as again:
            assert again.verify() == []
            assert [entry.tag for entry in again.list(withdrawn=True)] == ["C-1", "C-2"]
