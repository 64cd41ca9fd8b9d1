"""list, show, history, import, export, sheet, backup, restore: every option, both outputs."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from headwright.records import KINDS

from .conftest import Run
from .running import bare_numbers, book_hash, complaint, document, invoke, tree

COUNTS = {"casting": 10, "short_block": 4, "build": 6, "cam": 2, "power_pull": 2}


def tags(run: Run, kind: str) -> list[str]:
    return [record["tag"] for record in document(run("list", kind, "--json"))["records"]]


class TestList:
    def test_all_kinds(self, run: Run) -> None:
        rows = document(run("list", "--json"))["kinds"]
        assert [row["kind"] for row in rows] == list(KINDS)
        counts = {row["kind"]: row["count"] for row in rows}
        assert {kind: counts[kind] for kind in COUNTS} == COUNTS
        text = run("list").stdout
        assert "    10  castings\n" in text

    @pytest.mark.parametrize("kind", KINDS)
    def test_each_kind(self, run: Run, kind: str) -> None:
        plural = KINDS[kind].plural
        found = document(run("list", plural, "--json"))
        assert list(found) == ["records"]
        assert list(bare_numbers(found)) == []
        assert found["records"] == sorted(found["records"], key=lambda record: record["tag"])
        assert all(record["kind"] == kind for record in found["records"])
        assert document(run("list", kind.replace("_", "-"), "--json")) == found
        text = run("list", plural).stdout
        if found["records"]:
            assert all(record["tag"] in text for record in found["records"])
        else:
            assert text == f"no {plural.replace('_', ' ')} in the book\n"

    @pytest.mark.parametrize(
        ("word", "kind"),
        [("blocks", "short_block"), ("logs", "engine_log"), ("CASTINGS", "casting")],
    )
    def test_words_builders_use(self, run: Run, word: str, kind: str) -> None:
        assert document(run("list", word, "--json")) == document(run("list", kind, "--json"))

    def test_unknown_kind(self, run: Run) -> None:
        assert "kind: 'casing'" in (said := complaint("list", "casing", "--json"))
        assert "did you mean castings?" in said
        assert "kinds: shops" in complaint("list", "x")


class TestShow:
    def test_every_record_as_json(self, run: Run) -> None:
        for kind in KINDS:
            for tag in tags(run, kind):
                shown = document(run("show", kind, tag, "--json"))
                assert (shown["kind"], shown["tag"], shown["revision"]) == (kind, tag, 1)
                assert (shown["author"], shown["note"]) == ("demo", "the demo shop")
                assert shown["record"]["tag"] == tag
                bare = list(bare_numbers(shown))
                assert bare == [], f"{kind} {tag}"

    @pytest.mark.parametrize("kind", KINDS)
    def test_one_of_each_kind_as_text(self, run: Run, kind: str) -> None:
        for tag in tags(run, kind)[:1]:
            text = run("show", kind, tag).stdout
            assert tag in text
            assert "revision 1, " in text

    def test_figures_come_in_both_systems_with_their_provenance(self, run: Run) -> None:
        text = run("show", "casting", "EI-03").stdout
        (line,) = (line for line in text.splitlines() if line.startswith("Thickness new"))
        assert "3.150 in" in line
        assert "80.00 mm" in line
        assert "maker's figure" in line

    def test_revisions(self, run: Run, tmp_path: Path) -> None:
        run("export", tmp_path / "one.json", "--kind", "casting", "--tag", "EI-03")
        change(tmp_path / "one.json", condition="used")
        run("import", tmp_path / "one.json", "--author", "Ada")
        now = document(run("show", "casting", "EI-03", "--json"))
        old = document(run("show", "casting", "EI-03", "--json", "--revision", 1))
        assert (now["revision"], now["author"], now["record"]["condition"]) == (2, "Ada", "used")
        assert (old["revision"], old["record"]["condition"]) == (1, "virgin")
        assert "has no revision 3; it has 1 to 2" in complaint(
            "show", "casting", "EI-03", "--revision", 3
        )
        assert "--revision" in complaint("show", "casting", "EI-03", "--revision", 0)

    def test_unknown_tag(self, run: Run) -> None:
        said = complaint("show", "casting", "EI-99", "--json")
        assert "no casting 'EI-99'" in said
        assert "did you mean 'EI-19'" in said

    def test_bytes_that_are_not_text(self, run: Run) -> None:
        assert "tag: '\\udcff' is not text" in complaint("show", "casting", "\udcff")


def change(file: Path, **fields: Any) -> None:
    """Change fields of the only record of an exported JSON file."""
    data = json.loads(file.read_text(encoding="utf-8"))
    (record,) = data["records"]
    record.update(fields)
    file.write_text(json.dumps(data), encoding="utf-8")


class TestHistory:
    @pytest.fixture(autouse=True)
    def two_revisions(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "one.json"
        run("export", file, "--kind", "casting", "--tag", "LI-05")
        change(file, condition="cut", note="skimmed")
        run("import", file, "--author", "Ada")

    def test_listing(self, run: Run) -> None:
        rows = document(run("history", "casting", "LI-05", "--json"))["revisions"]
        assert [(row["revision"], row["author"], row["withdrawn"]) for row in rows] == [
            (1, "demo", False), (2, "Ada", False),
        ]  # fmt: skip
        assert rows[1]["note"] == "imported from one.json"
        lines = run("history", "casting", "LI-05").stdout.splitlines()
        assert len(lines) == 2
        assert lines[1].split()[0] == "2"

    def test_comparing(self, run: Run) -> None:
        rows = document(run("history", "casting", "LI-05", "--compare", 1, 2, "--json"))["changes"]
        found = {row["path"].split(".")[-1]: (row["old"], row["new"]) for row in rows}
        assert found["condition"] == ("used", "cut")
        assert found["note"][1] == "skimmed"
        assert document(run("history", "casting", "LI-05", "--compare", 2, 2, "--json")) == {
            "changes": []
        }
        said = run("history", "casting", "LI-05", "--compare", 1, 2).stdout
        assert "Condition" in said
        assert "used" in said
        assert "cut" in said
        assert "no revision 9" in complaint("history", "casting", "LI-05", "--compare", 1, 9)
        assert "--compare" in complaint("history", "casting", "LI-05", "--compare", 1)

    def test_bringing_back(self, run: Run, book: Path) -> None:
        rows = document(
            run("history", "casting", "LI-05", "--bring-back", 1, "--author", "Ben", "--json")
        )["revisions"]
        assert [row["author"] for row in rows] == ["demo", "Ada", "Ben"]
        assert document(run("history", "casting", "LI-05", "--compare", 1, 3, "--json")) == {
            "changes": []
        }
        shown = document(run("show", "casting", "LI-05", "--json"))
        assert shown["record"]["condition"] == "used"
        before = book_hash(book)
        assert "no revision 7" in complaint("history", "casting", "LI-05", "--bring-back", 7)
        assert "author" in complaint(
            "history", "casting", "LI-05", "--bring-back", 2, "--author", "x" * 101
        )
        assert book_hash(book) == before

    def test_unknown(self, run: Run) -> None:
        assert "no casting 'XX'" in complaint("history", "casting", "XX")


class TestImport:
    FUEL = '[headwright]\nformat = 1\n[[fuel]]\ntag = "F-1"\nsort = "petrol"\n'

    def test_outcomes(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        row = {"kind": "fuel", "tag": "F-1", "outcome": "new", "revision": None}
        dry = document(run("import", file, "--dry-run", "--json"))
        assert dry == {"dry_run": True, "missing": [], "imported": [row]}
        done = document(run("import", file, "--json"))
        assert done["imported"] == [{**row, "revision": 1}]
        assert (done["dry_run"], done["missing"]) == (False, [])
        again = document(run("import", file, "--json"))
        assert again["imported"] == [{**row, "revision": 1, "outcome": "unchanged"}]
        assert run("import", file).stdout == "imported 1 record: 1 unchanged\n"

    def test_dry_run_changes_nothing(self, run: Run, book: Path, tmp_path: Path) -> None:
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        before = book_hash(book)
        assert run("import", file, "--dry-run").stdout == "would import 1 record: 1 new\n"
        assert book_hash(book) == before

    @pytest.mark.parametrize(("system", "metres"), [("inch", 0.0254), ("metric", 0.001)])
    def test_bare_figures(self, run: Run, tmp_path: Path, system: str, metres: float) -> None:
        file = tmp_path / "valve.json"
        valve = {"kind": "valve", "tag": "V-1", "side": "intake", "head_diameter": 1.5}
        if system == "metric":
            valve["head_diameter"] = 37.5
        file.write_text(json.dumps(valve), encoding="utf-8")
        said = complaint("import", file)
        assert "valve.head_diameter" in said
        assert "has no unit" in said
        run("import", file, "--bare", system)
        shown = document(run("show", "valve", "V-1", "--json"))
        value = shown["record"]["head_diameter"]["value"]
        assert value == pytest.approx(valve["head_diameter"] * metres, rel=1e-12)
        assert "--bare" in complaint("import", file, "--bare", "cubits")

    def test_author(self, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        assert "author" in complaint("import", file, "--author", " ")
        monkeypatch.setattr("getpass.getuser", lambda: "login-name")
        run("import", file)
        assert document(run("show", "fuel", "F-1", "--json"))["author"] == "login-name"

    def test_a_login_without_a_name(
        self, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def nobody() -> str:
            raise OSError("no such user")

        monkeypatch.setattr("getpass.getuser", nobody)
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        run("import", file)
        assert document(run("show", "fuel", "F-1", "--json"))["author"] == "unknown"

    def test_a_good_file_makes_a_book_and_its_folder(self, tmp_path: Path) -> None:
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        target = tmp_path / "new" / "deep" / "my.db"
        dry = document(invoke("import", file, "--book", target, "--dry-run", "--json"))
        assert dry["imported"][0]["outcome"] == "new"
        assert not (tmp_path / "new").exists()
        invoke("import", file, "--book", target)
        assert [
            record["tag"]
            for record in document(invoke("list", "fuels", "--json", "--book", target))["records"]
        ] == ["F-1"]

    @pytest.mark.parametrize("name", ["bad.toml", "bad.json", "bad.csv", "bad.xlsx", "none.toml"])
    def test_a_bad_file_makes_no_book(self, tmp_path: Path, name: str) -> None:
        if name != "none.toml":
            (tmp_path / name).write_text("kind = 'fuel'\ntag = 7\n", encoding="utf-8")
        before = tree(tmp_path)
        complaint("import", tmp_path / name, "--book", tmp_path / "new" / "my.db")
        assert tree(tmp_path) == before

    def test_a_bad_author_makes_no_book(self, tmp_path: Path) -> None:
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        before = tree(tmp_path)
        complaint("import", file, "--book", tmp_path / "my.db", "--author", "x" * 101)
        assert tree(tmp_path) == before

    def test_a_book_that_cannot_be_made(self, tmp_path: Path) -> None:
        file = tmp_path / "fuel.toml"
        file.write_text(self.FUEL, encoding="utf-8")
        said = complaint("import", file, "--book", file / "deep" / "my.db")
        assert said.startswith("error: folder: ")

    def test_all_or_nothing(self, run: Run, book: Path, tmp_path: Path) -> None:
        file = tmp_path / "mixed.toml"
        file.write_text(
            self.FUEL + '[[fuel]]\ntag = "F-2"\nsort = "petrol"\nmakre = "x"\n', encoding="utf-8"
        )
        before = book_hash(book)
        said = complaint("import", file)
        assert "mixed.toml:9: fuel.makre (F-2): no such field here; did you mean 'maker'?" in said
        assert book_hash(book) == before


class TestExport:
    def test_whole_book(self, run: Run, tmp_path: Path) -> None:
        total = sum(row["count"] for row in document(run("list", "--json"))["kinds"])
        told = document(run("export", tmp_path / "all.json", "--json"))
        assert told == {"file": str(tmp_path / "all.json"), "records": total}
        data = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))
        assert data["headwright"] == {"format": 1, "records": total}
        assert list(bare_numbers(data["records"])) == []

    def test_one_kind_and_some_tags(self, run: Run, tmp_path: Path) -> None:
        assert run("export", "cams.toml", "--kind", "cams").stdout == (
            "2 records written to cams.toml\n"
        )
        run("export", "two.json", "--kind", "casting", "--tag", "EI-03", "--tag", "AL-01")
        data = json.loads(Path("two.json").read_text(encoding="utf-8"))
        assert [record["tag"] for record in data["records"]] == ["EI-03", "AL-01"]

    def test_refusals(self, run: Run, tmp_path: Path) -> None:
        Path("there.toml").write_text("precious", encoding="utf-8")
        before = tree(tmp_path)
        assert "is there already" in complaint("export", "there.toml")
        assert "must end in .toml or .json" in complaint("export", "all.txt")
        assert "--kind" in complaint("export", "all.toml", "--tag", "EI-03")
        assert "no casting 'X'" in complaint("export", "x.toml", "--kind", "casting", "--tag", "X")
        assert "no kind of record" in complaint("export", "x.toml", "--kind", "boat")
        assert "cannot be written" in complaint("export", "no/folder/x.toml")
        assert tree(tmp_path) == before
        run("export", "there.toml", "--replace")
        assert "precious" not in Path("there.toml").read_text(encoding="utf-8")

    @pytest.mark.parametrize("form", ["toml", "json"])
    def test_round_trip_of_the_demo_shop(self, run: Run, tmp_path: Path, form: str) -> None:
        """What is exported and imported elsewhere lists, shows and ranks the same."""
        file = tmp_path / f"all.{form}"
        other = ("--book", tmp_path / "other.db")
        run("export", file)
        invoke("import", file, *other)
        for kind in KINDS:
            assert (
                invoke("list", kind, "--json", *other).stdout == run("list", kind, "--json").stdout
            )
        for build in ("sprint-1500", "launch-1535"):
            ours = run("rank", "--quick", build, "--json", code=None)
            theirs = invoke("rank", "--quick", build, "--json", *other, code=None)
            assert (theirs.stdout, theirs.exit_code) == (ours.stdout, ours.exit_code)
        invoke("export", tmp_path / f"again.{form}", *other)
        assert (tmp_path / f"again.{form}").read_bytes() == file.read_bytes()


class TestSheet:
    @pytest.mark.parametrize("kind", ["casting", "flow-test", "cam"])
    @pytest.mark.parametrize("ending", ["csv", "xlsx"])
    def test_an_empty_sheet_names_what_is_needed(self, run: Run, kind: str, ending: str) -> None:
        told = document(run("sheet", kind, f"new.{ending}", "--json"))
        assert told == {
            "file": f"new.{ending}", "sheet": kind.replace("-", "_"), "units": told["units"],
        }  # fmt: skip
        assert f".{'tag'}: is missing and needed" in complaint("import", f"new.{ending}")

    def test_a_filled_sheet_is_imported(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "bench.csv"
        run("sheet", "casting", file, "--units", "inch")
        with file.open(encoding="utf-8-sig", newline="") as stream:
            rows = list(csv.reader(stream))
        filled = {
            "tag": "EI-40", "family": "Sallowick Four", "sort": "early small-valve iron",
            "material": "iron", "condition": "used", "thickness_now": "3.125",
            "chambers[0].volume": "37.5",
        }  # fmt: skip
        for row in rows:
            if row and row[0] in filled:
                row[rows[2].index("value")] = filled[row[0]]
        with file.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(rows)
        assert run("import", file).stdout == "imported 1 record: 1 new\n"
        body = document(run("show", "casting", "EI-40", "--json"))["record"]
        assert body["thickness_now"]["value"] == pytest.approx(3.125 * 0.0254, rel=1e-12)
        assert body["thickness_now"]["provenance"] == "measured"
        assert body["chambers"][0]["volume"]["value"] == pytest.approx(37.5e-6, rel=1e-12)

    def test_units(self, run: Run, tmp_path: Path) -> None:
        assert document(run("sheet", "casting", "a.csv", "--json"))["units"] == "inch"
        assert document(run("sheet", "casting", "b.csv", "--units", "metric", "--json"))[
            "units"
        ] == "metric"  # fmt: skip
        run("export", "shop.json", "--kind", "shop")
        change(Path("shop.json"), system="metric")
        run("import", "shop.json")
        run("sheet", "casting", "c.csv")
        assert Path("c.csv").read_bytes() == Path("b.csv").read_bytes()
        assert Path("a.csv").read_bytes() != Path("b.csv").read_bytes()

    def test_without_any_book(self) -> None:
        assert invoke("sheet", "flow-test", "f.csv").stdout == (
            "sheet for a flow test written to f.csv\n"
        )
        assert "there is no shop book" in complaint("sheet", "casting", "g.csv", "--book", "no.db")

    def test_refusals(self, run: Run) -> None:
        Path("there.csv").write_text("precious", encoding="utf-8")
        assert "is there already" in complaint("sheet", "casting", "there.csv")
        assert Path("there.csv").read_text(encoding="utf-8") == "precious"
        run("sheet", "casting", "there.csv", "--replace")
        assert "must end in .csv or .xlsx" in complaint("sheet", "casting", "a.txt")
        assert "'boat' is not one of" in complaint("sheet", "boat", "a.csv")


class TestBackup:
    def test_there_and_back(self, run: Run, book: Path, tmp_path: Path) -> None:
        file = tmp_path / "all.zip"
        told = document(run("backup", file, "--json"))
        assert told["revisions"] == 69
        assert (told["attachments"], told["missing"]) == (0, [])
        assert told["size_bytes"] == file.stat().st_size
        other = tmp_path / "other.db"
        back = document(invoke("restore", file, "--book", other, "--json"))
        assert (back["book"], back["set_aside"]) == (str(other.resolve()), None)
        assert book_hash(other) == book_hash(book)
        assert list(bare_numbers(told)) == list(bare_numbers(back)) == []

    def test_in_words(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "all.zip"
        assert run("backup", file).stdout.startswith("69 revisions and 0 attachments backed up to ")
        said = invoke("restore", file, "--book", tmp_path / "o.db").stdout
        assert "with 0 attachments is " in said

    def test_replacing_sets_the_old_book_aside(self, run: Run, book: Path, tmp_path: Path) -> None:
        file = tmp_path / "all.zip"
        run("backup", file)
        before = book_hash(book)
        run("history", "casting", "EI-03", "--bring-back", 1)
        said = complaint("restore", file)
        assert "is there already" in said
        said = run("restore", file, "--replace").stdout
        aside = Path(said.strip().splitlines()[-1].removeprefix("the book that was there is now "))
        assert book_hash(book) == before
        assert aside.exists()

    def test_into_the_default_place(self, run: Run, tmp_path: Path, own_home: Path) -> None:
        file = tmp_path / "all.zip"
        run("backup", file)
        invoke("restore", file, "--book", tmp_path / "x.db")
        place = own_home / "data" / "headwright" / "shop.db"
        assert not place.parent.exists()
        with pytest.MonkeyPatch.context() as patch:
            patch.delenv("HEADWRIGHT_BOOK")
            invoke("restore", file)
            assert len(document(invoke("list", "castings", "--json"))["records"]) == 10
        assert place.exists()

    def test_refusals(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "all.zip"
        run("backup", file)
        assert "is there already" in complaint("backup", file)
        run("backup", file, "--replace")
        bad = tmp_path / "bad.zip"
        bad.write_bytes(file.read_bytes()[:-100])
        assert "bad.zip" in complaint("restore", bad, "--book", tmp_path / "o.db")
        assert "cannot be read" in complaint("restore", "none.zip", "--book", tmp_path / "o.db")
        complaint("restore", "x" * 5000, "--book", tmp_path / "o.db")
        complaint("backup", "no/folder/x.zip")
        assert not (tmp_path / "o.db").exists()
