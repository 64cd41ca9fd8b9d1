"""The pages written from the code are up to date, and what the pages show is true."""

from __future__ import annotations

import doctest
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, ClassVar

import pytest
from pydantic import BaseModel

from headwright import generated_docs
from headwright.errors import RecordError
from headwright.quantities import GLOSSARY
from headwright.records import KINDS, Record, read_record
from headwright.records.meanings import MEANINGS, meaning_of, quantity_of
from headwright.records.measured import In, Measured
from headwright.records.series import Series
from headwright.storage.documents import parse_documents

DOCS = Path(__file__).parent.parent / "docs"
BLOCK = re.compile(r"^```(?P<sort>[^\n]+)\n(?P<text>.*?)^```$", re.DOTALL | re.MULTILINE)


def blocks(page: str, sort: str) -> list[str]:
    """Return the fenced blocks of one sort on a page."""
    text = (DOCS / page).read_text(encoding="utf-8")
    return [found["text"] for found in BLOCK.finditer(text) if found["sort"] == sort]


class TestPages:
    @pytest.mark.parametrize("name", generated_docs.PAGES)
    def test_is_what_the_code_writes(self, name: str) -> None:
        # Regenerate with: python -m headwright.generated_docs docs
        written = (DOCS / name).read_text(encoding="utf-8")
        assert written == generated_docs.PAGES[name]().rstrip("\n") + "\n"

    def test_every_quantity_is_in_the_glossary_once(self) -> None:
        rows = re.findall(r"^\| `([a-z_0-9]+)` \|", generated_docs.glossary_page(), re.MULTILINE)
        assert sorted(rows) == sorted(GLOSSARY)

    def test_a_row_of_the_glossary(self) -> None:
        # 25.4 mm an inch: 20 mm is 0.787402 in, 200 mm is 7.87402 in.
        assert (
            "| `bore` | `B` | Cylinder bore | in | mm | m | `bore_m` "
            "| 0.787402 to 7.87402 in; 20 to 200 mm |"
        ) in generated_docs.glossary_page().splitlines()

    def test_every_kind_and_field_is_on_the_page(self) -> None:
        page = generated_docs.records_page()
        for kind, model in KINDS.items():
            assert f"\n## {model.title}\n" in page
            assert f"Kind `{kind}`" in page
            for part in parts_of(model):
                for name in part.model_fields:
                    if name != "schema_version":
                        assert f"| `{name}` |" in page

    def test_links_lead_somewhere(self) -> None:
        page = generated_docs.records_page()
        headings = re.findall(r"^#+ (.+)$", page, re.MULTILINE)
        anchors = {
            re.sub(r"[^a-z0-9 _-]", "", heading.lower()).replace(" ", "-") for heading in headings
        }
        targets = set(re.findall(r"\]\(#([^)]+)\)", page))
        assert targets
        assert targets <= anchors
        for other in re.findall(r"\]\(([a-z_]+\.md)\)", page):
            assert (DOCS / other).is_file()

    def test_needed_fields_are_marked(self) -> None:
        page = generated_docs.records_page()
        assert "| `bench` | line, at most 120 characters |  |  | Which flow bench |" in page
        assert "| `casting` | tag |  | **yes** | Tag of the casting |" in page
        assert "| `direction` | one of `forward`, `reverse` |  | `forward` if left out |" in page


def parts_of(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Yield a model and every part inside it."""
    yield model
    for field in model.model_fields.values():
        pending: list[Any] = [field.annotation]
        while pending:
            annotation = pending.pop()
            if isinstance(annotation, type) and issubclass(annotation, BaseModel):
                if annotation not in {Measured, Series}:
                    yield from parts_of(annotation)
            else:
                pending.extend(getattr(annotation, "__args__", ()))


class TestMeanings:
    def test_every_field_has_one(self) -> None:
        for model in KINDS.values():
            for part in parts_of(model):
                for name in part.model_fields:
                    assert meaning_of(part, name)

    def test_none_is_left_over(self) -> None:
        parts = {part for model in KINDS.values() for part in parts_of(model)}
        fields = {f"{part.__name__}.{name}" for part in parts for name in part.model_fields}
        fields |= {name for part in parts for name in part.model_fields}
        assert set(MEANINGS) <= fields

    def test_the_glossary_speaks_where_nothing_else_is_written(self) -> None:
        casting = KINDS["short_block"]
        assert meaning_of(casting, "stroke") == GLOSSARY["stroke"].meaning
        assert quantity_of(casting.model_fields["stroke"]) == "stroke"

    def test_a_field_nobody_wrote_about(self) -> None:
        class Odd(BaseModel):
            oddity: str

        with pytest.raises(KeyError, match=r"nothing is written about Odd\.oddity"):
            meaning_of(Odd, "oddity")


class TestExamples:
    @pytest.mark.parametrize("kind", KINDS)
    def test_can_be_imported_and_comes_back(self, kind: str) -> None:
        content = generated_docs.example_of(kind)
        documents = parse_documents(content.encode(), "toml", f"{kind}.toml")
        assert documents
        for document in documents:
            record = read_record(document.body)
            assert record.kind == kind
            assert read_record(record.to_body()) == record

    @pytest.mark.parametrize("kind", KINDS)
    def test_shows_a_figure_where_there_are_any(self, kind: str) -> None:
        figures = [name for name, field in KINDS[kind].model_fields.items() if quantity_of(field)]
        (body,) = tomllib.loads(generated_docs.example_of(kind))[kind]
        if figures:
            assert set(figures) & set(body)

    def test_hang_together(self) -> None:
        # Every tag an example names belongs to another example, but for a few instruments.
        bodies = {kind: tomllib.loads(generated_docs.example_of(kind))[kind][0] for kind in KINDS}
        for kind in ("short_block", "valve_gear", "breathing", "fuel", "limits"):
            assert bodies["build"][kind] == bodies[kind]["tag"]
        assert bodies["valve_gear"]["cam"] == bodies["cam"]["tag"]
        assert bodies["valve_gear"]["rocker"] == bodies["rocker"]["tag"]
        assert bodies["valve_gear"]["springs"] == [bodies["spring"]["tag"]]
        assert bodies["build"]["intake"]["valve"] == bodies["valve"]["tag"]
        for kind in ("flow_test", "work_order"):
            assert bodies[kind]["casting"] == bodies["casting"]["tag"]
        for kind in ("power_pull", "engine_log", "work_order"):
            assert bodies[kind]["build"] == bodies["build"]["tag"]
        assert bodies["measurement"]["subject"] == bodies["casting"]["tag"]


class TestWritingRecords:
    """The hand-written page: every example on it is read."""

    PAGE = "writing_records.md"

    def test_whole_records(self) -> None:
        examples = blocks(self.PAGE, "toml")
        assert len(examples) == 5
        for text in examples:
            for document in parse_documents(text.encode(), "toml", self.PAGE):
                read_record(document.body)

    def test_figures(self) -> None:
        lines = [line for text in blocks(self.PAGE, "toml figures") for line in text.splitlines()]
        assert len(lines) > 20
        for line in lines:
            ((name, given),) = tomllib.loads(line).items()
            assert isinstance(read_figure(name, given), Measured)

    def test_refused_figures(self) -> None:
        lines = [line for text in blocks(self.PAGE, "toml refused") for line in text.splitlines()]
        assert len(lines) == 7
        for line in lines:
            ((name, given),) = tomllib.loads(line).items()
            with pytest.raises(RecordError) as caught:
                read_figure(name, given)
            assert line.partition("# ")[2] in str(caught.value)

    def test_refused_record(self) -> None:
        (text,) = blocks(self.PAGE, "toml refused record")
        with pytest.raises(RecordError) as caught:
            read_record(tomllib.loads(text))
        told = {str(problem) for problem in caught.value.problems}
        shown = set(re.findall(r"  # (casting\..+)$", text, re.MULTILINE))
        assert len(shown) == 2
        assert shown <= told

    def test_python(self) -> None:
        (text,) = blocks(self.PAGE, "python")
        example = doctest.DocTestParser().get_doctest(text, {}, self.PAGE, self.PAGE, 0)
        outcome = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(example)
        assert outcome.attempted > 5
        assert outcome.failed == 0

    def test_every_block_is_tried(self) -> None:
        text = (DOCS / self.PAGE).read_text(encoding="utf-8")
        sorts = {found["sort"] for found in BLOCK.finditer(text)}
        assert sorts == {"toml", "toml figures", "toml refused", "toml refused record", "python"}


def read_figure(name: str, given: Any) -> Any:
    """Read one figure of a quantity, as a record with such a field would."""

    class Sheet(Record):
        kind: ClassVar[str] = "sheet"
        figure: Annotated[Measured, In(name)]

    return Sheet.read({"tag": "s", "figure": given}).figure


class TestCommand:
    def test_writes_then_finds_nothing_to_do(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert generated_docs.main([str(tmp_path)]) == 0
        assert capsys.readouterr().out.count("wrote ") == len(generated_docs.PAGES)
        assert generated_docs.main([str(tmp_path)]) == 0
        assert generated_docs.main(["--check", str(tmp_path)]) == 0
        assert capsys.readouterr().out == ""

    def test_check_shows_what_differs_and_changes_nothing(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        generated_docs.main([str(tmp_path)])
        page = tmp_path / "glossary.md"
        stale = page.read_text(encoding="utf-8").replace("Cylinder bore", "Cylinder boar")
        page.write_text(stale, encoding="utf-8")
        capsys.readouterr()
        assert generated_docs.main(["--check", str(tmp_path)]) == 1
        shown = capsys.readouterr().out
        assert re.search(r"^-.*Cylinder boar", shown, re.MULTILINE)
        assert re.search(r"^\+.*Cylinder bore", shown, re.MULTILINE)
        assert page.read_text(encoding="utf-8") == stale

    def test_check_of_a_missing_page(self, tmp_path: Path) -> None:
        assert generated_docs.main(["--check", str(tmp_path)]) == 1
        assert list(tmp_path.iterdir()) == []

    def test_missing_folder(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert generated_docs.main([str(tmp_path / "nowhere")]) == 2
        assert "no such folder" in capsys.readouterr().err

    def test_as_a_program(self) -> None:
        done = subprocess.run(
            [sys.executable, "-m", "headwright.generated_docs", "--check", str(DOCS)],
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
