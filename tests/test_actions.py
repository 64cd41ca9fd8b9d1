"""One function per thing a user can do: what each does to the book, and what it refuses."""

from __future__ import annotations

import inspect
import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from headwright import actions
from headwright.demo import MAIN_BUILD, demo_records
from headwright.errors import (
    BookError,
    FileFormatError,
    InputError,
    RecordError,
    StaleRevisionError,
    UnknownRecordError,
)
from headwright.records import KINDS, read_record
from headwright.storage.repository import Book


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo-shop.db"
    assert actions.load_demo(path) == "new"
    return path


@pytest.fixture
def path(demo_file: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(demo_file, tmp_path / "shop.db"))


@pytest.fixture
def book(path: Path) -> Iterator[Book]:
    with actions.open_book(path) as opened:
        yield opened


def test_every_action_explains_itself() -> None:
    for name in actions.__all__:
        assert (inspect.getdoc(getattr(actions, name)) or "").split("\n")[0].endswith(".")
    assert actions.__all__ == sorted(actions.__all__)


class TestBooks:
    def test_opening(self, tmp_path: Path) -> None:
        with pytest.raises(BookError, match="there is no shop book"):
            actions.open_book(tmp_path / "new.db")
        with actions.open_book(str(tmp_path / "new.db"), create=True) as book:
            assert all(len(actions.list_records(book, kind)) == 0 for kind in KINDS)
            assert actions.shop_system(book) == "inch"
        with pytest.raises(BookError, match="the folder"):
            actions.open_book(tmp_path / "no" / "new.db", create=True)

    def test_making_a_folder(self, tmp_path: Path) -> None:
        actions.make_folder(tmp_path / "a" / "b")
        actions.make_folder(tmp_path / "a" / "b")
        assert (tmp_path / "a" / "b").is_dir()
        (tmp_path / "file").touch()
        for folder in (tmp_path / "file", tmp_path / "file" / "c", tmp_path / ("x" * 5000)):
            with pytest.raises(BookError, match=r"^folder: .* cannot be made: "):
                actions.make_folder(folder)

    def test_the_shops_units(self, book: Book) -> None:
        (shop,) = actions.list_records(book, "shop")
        for system in ("metric", "inch"):
            actions.save_record(book, read_record({**shop.to_body(), "system": system}), author="t")
            assert actions.shop_system(book) == system


class TestDemo:
    def test_all_records_are_there(self, book: Book) -> None:
        kept = {(r.kind, r.tag): r for kind in KINDS for r in actions.list_records(book, kind)}
        assert kept == {(record.kind, record.tag): record for record in demo_records()}

    def test_again(self, path: Path) -> None:
        with actions.open_book(path) as book:
            before = [entry for entry in book.list() if entry.revision == 1]
        assert actions.load_demo(str(path)) == "there"
        with actions.open_book(path) as book:
            assert book.list() == before

    def test_makes_its_folder(self, tmp_path: Path) -> None:
        actions.load_demo(tmp_path / "a" / "b" / "demo-shop.db")
        assert [entry.name for entry in (tmp_path / "a" / "b").iterdir()] == ["demo-shop.db"]

    def test_not_over_something_else(self, tmp_path: Path) -> None:
        (tmp_path / "note.db").write_text("precious", encoding="utf-8")
        with pytest.raises(BookError, match="not a shop book"):
            actions.load_demo(tmp_path / "note.db")
        with pytest.raises(BookError, match="cannot be the path"):
            actions.load_demo("x" * 5000)
        assert (tmp_path / "note.db").read_text(encoding="utf-8") == "precious"


class TestRecords:
    def test_saving_showing_going_back(self, book: Book) -> None:
        first = actions.show_record(book, "casting", "EI-03")
        body = {**first.read_body(), "condition": "used"}
        number = actions.save_record(
            book, read_record(body), author="Ada", note="ran a season", expected_revision=1
        )
        assert number == 2
        newest = actions.show_record(book, "casting", "EI-03")
        assert (newest.revision, newest.author, newest.note) == (2, "Ada", "ran a season")
        assert actions.show_record(book, "casting", "EI-03", 1) == first
        (change,) = actions.compare_revisions(book, "casting", "EI-03", 1, 2)
        assert (change.old, change.new) == ("virgin", "used")
        assert change.path.endswith("condition")
        assert actions.bring_back(book, "casting", "EI-03", 1, author="Ben") == 3
        assert [r.author for r in actions.history_of(book, "casting", "EI-03")] == [
            "demo", "Ada", "Ben",
        ]  # fmt: skip
        assert list(actions.compare_revisions(book, "casting", "EI-03", 1, 3)) == []

    def test_somebody_was_faster(self, book: Book) -> None:
        body = actions.show_record(book, "casting", "EI-03").read_body()
        actions.save_record(book, read_record({**body, "condition": "used"}), author="Ada")
        with pytest.raises(StaleRevisionError):
            actions.save_record(
                book, read_record({**body, "condition": "cut"}), author="Ben", expected_revision=1
            )

    def test_unknown(self, book: Book) -> None:
        with pytest.raises(UnknownRecordError, match="EI-04"):
            actions.show_record(book, "casting", "EI-04")
        with pytest.raises(UnknownRecordError):
            actions.history_of(book, "casting", "EI-04")
        with pytest.raises(UnknownRecordError):
            actions.compare_revisions(book, "casting", "EI-03", 1, 2)
        with pytest.raises(UnknownRecordError):
            actions.bring_back(book, "casting", "EI-03", 2, author="Ada")


GOOD = '{"kind": "fuel", "tag": "F-1", "sort": "petrol"}'


class TestFiles:
    @pytest.mark.parametrize("form", ["toml", "json"])
    def test_out_and_in(self, book: Book, tmp_path: Path, form: str) -> None:
        file = tmp_path / f"all.{form}"
        assert actions.export_to_file(book, file) == len(demo_records())
        with pytest.raises(FileFormatError, match="is there already"):
            actions.export_to_file(book, str(file))
        assert actions.export_to_file(book, file, kind="casting", replace=True) == 10
        tags = ["LI-02", "AL-01"]
        assert actions.export_to_file(book, file, kind="casting", tags=tags, replace=True) == 2
        with actions.open_book(tmp_path / "other.db", create=True) as other:
            report = actions.import_from_file(other, str(file), author="Ada")
            assert [(item.tag, item.outcome) for item in report.records] == [
                ("LI-02", "new"), ("AL-01", "new"),
            ]  # fmt: skip
            for tag in tags:
                assert other.get("casting", tag) == book.get("casting", tag)

    def test_into_a_book_that_is_not_there(self, tmp_path: Path) -> None:
        file = tmp_path / "fuel.json"
        target = tmp_path / "deep" / "new.db"
        file.write_text(GOOD.replace("petrol", "coal"), encoding="utf-8")
        with pytest.raises(RecordError, match=r"fuel\.sort"):
            actions.import_into(target, file, author="Ada")
        file.write_text(GOOD, encoding="utf-8")
        with pytest.raises(InputError, match="author"):
            actions.import_into(target, file, author="")
        dry = actions.import_into(target, file, author="Ada", dry_run=True)
        assert (dry.dry_run, dry.count("new"), dry.records[0].revision) == (True, 1, None)
        assert not target.parent.exists()
        done = actions.import_into(str(target), str(file), author="Ada")
        assert (done.dry_run, done.count("new"), done.records[0].revision) == (False, 1, 1)
        assert actions.import_into(target, file, author="Ada").count("unchanged") == 1

    def test_bare_figures(self, book: Book, tmp_path: Path) -> None:
        file = tmp_path / "valve.json"
        body = {"kind": "valve", "tag": "V-1", "side": "intake", "head_diameter": 37.0}
        file.write_text(json.dumps(body), encoding="utf-8")
        with pytest.raises(RecordError, match="has no unit"):
            actions.import_from_file(book, file, author="Ada")
        actions.import_from_file(book, file, author="Ada", bare="metric")
        kept = book.get("valve", "V-1").to_body()
        assert kept["head_diameter"]["value"] == pytest.approx(0.037, rel=1e-15)

    @pytest.mark.parametrize("ending", ["csv", "xlsx"])
    def test_sheets(self, book: Book, tmp_path: Path, ending: str) -> None:
        file = tmp_path / f"new.{ending}"
        actions.write_sheet("flow_test", str(file), system="metric")
        with pytest.raises(FileFormatError, match="is there already"):
            actions.write_sheet("flow_test", file)
        with pytest.raises(FileFormatError, match="has no sheet"):
            actions.write_sheet("boat", tmp_path / f"boat.{ending}")
        with pytest.raises(RecordError, match=r"flow_test\.tag"):
            actions.import_from_file(book, file, author="Ada")
        with pytest.raises(RecordError, match=r"flow_test\.tag"):
            actions.import_into(tmp_path / "no.db", file, author="Ada")
        assert not (tmp_path / "no.db").exists()

    def test_backup_and_restore(self, path: Path, tmp_path: Path) -> None:
        report = actions.back_up(path, tmp_path / "all.zip")
        assert report.revisions == len(demo_records())
        back = actions.restore_backup(tmp_path / "all.zip", tmp_path / "back.db")
        assert back.set_aside is None
        with actions.open_book(path) as one, actions.open_book(tmp_path / "back.db") as two:
            assert one.list() == two.list()
        with pytest.raises(BookError, match="is there already"):
            actions.restore_backup(tmp_path / "all.zip", path)
        assert actions.restore_backup(tmp_path / "all.zip", path, replace=True).set_aside


class TestAsking:
    def test_ranking(self, book: Book) -> None:
        ranking = actions.rank_build(book, MAIN_BUILD)
        found = [candidate.casting.tag for candidate in ranking.candidates]
        assert sorted(found) == [entry.tag for entry in book.list("casting")]

    def test_a_casting_off_the_rack_is_not_ranked(self, book: Book) -> None:
        book.withdraw("casting", "AL-01", author="Ada", note="sold")
        ranking = actions.rank_build(book, MAIN_BUILD)
        assert "AL-01" not in {candidate.casting.tag for candidate in ranking.candidates}

    def test_the_order_does_not_hang_on_the_order_of_entry(
        self, book: Book, tmp_path: Path
    ) -> None:
        with actions.open_book(tmp_path / "turned.db", create=True) as turned:
            turned.save_many(reversed(demo_records()), author="demo")
            one, two = (actions.rank_build(each, MAIN_BUILD) for each in (book, turned))
        assert [c.casting.tag for c in one.candidates] == [c.casting.tag for c in two.candidates]

    def test_checking(self, book: Book) -> None:
        report = actions.check_build(book, "keep-my-head")
        assert report.verdict == "fails"
        assert report.trial.casting.tag == "EI-22"

    def test_asking_changes_nothing(self, book: Book) -> None:
        before = book.list(withdrawn=True)
        actions.rank_build(book, MAIN_BUILD)
        actions.check_build(book, "sprint-2025")
        assert book.list(withdrawn=True) == before

    def test_unknown(self, book: Book) -> None:
        for ask in (actions.rank_build, actions.check_build):
            with pytest.raises(UnknownRecordError, match="no build 'X'"):
                ask(book, "X")
