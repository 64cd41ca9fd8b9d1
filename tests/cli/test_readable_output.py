"""A half-measured casting is told in few lines; what is folded is named; nothing is guessed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from headwright import actions

from .conftest import Run
from .running import complaint, document, invoke

HALF_MEASURED = """
[headwright]
format = 1
[[casting]]
tag = "H-1"
family = "Sallowick Four"
sort = "early small-valve iron"
material = "iron"
condition = "used"
cylinders = 4
thickness_now = "79.1 mm (measured)"
chambers = [{ cylinder = 1, volume = "36.4 cc (measured)" }]
[[casting.valves]]
cylinder = 1
side = "intake"
x = "17 mm (measured)"
y = "0 mm (measured)"
head_diameter = "35.6 mm (measured)"
[[casting.valves]]
cylinder = 1
side = "exhaust"
x = "-17 mm (measured)"
y = "0 mm (measured)"
head_diameter = "30.5 mm (measured)"
[[casting]]
tag = "H-2"
family = "Sallowick Four"
sort = "early small-valve iron"
material = "iron"
condition = "used"
cylinders = 4
[[build]]
tag = "half"
purpose = "Half measured."
short_block = "SB-STD"
casting = "H-1"
targets = { compression_ratio = "11:1", maximum_speed = "6500 rpm" }
[[build]]
tag = "lost"
purpose = "Names parts that are not there."
short_block = "SB-NONE"
casting = "H-NONE"
"""


@pytest.fixture
def half(book: Path, tmp_path: Path) -> Path:
    file = tmp_path / "half.toml"
    file.write_text(HALF_MEASURED, encoding="utf-8")
    actions.import_into(book, file, author="test")
    return book


def _findings(text: str) -> list[str]:
    return [line for line in text.splitlines() if re.match(r"[x?~+] (fails|unknown|close)", line)]


def test_a_want_of_several_cylinders_is_told_once(run: Run, half: Path) -> None:
    text = run("check", "half", code=1).stdout
    lines = _findings(text)
    assert "? unknown  Compression ratio, cylinders 2 to 4" in lines
    assert "? unknown  Bridge between seats, cylinders 2 to 4" in lines
    assert "? unknown  Intake and exhaust valve to cylinder wall, cylinders 1 to 4" in lines
    titles = [re.sub(r", cylinders? .*", "", line) for line in lines if "unknown" in line]
    assert len(titles) == len(set(titles))
    words = " ".join(text.split())
    assert "Measure: chamber volume (cylinders 2 to 4)." in words
    assert len(text.splitlines()) < 70


def test_the_document_keeps_every_cylinder(run: Run, half: Path) -> None:
    findings = document(run("check", "half", "--json", code=1))["findings"]
    bridges = [item["where"] for item in findings if item["check"] == "bridge"]
    assert bridges == [f"cylinder {number}" for number in (1, 2, 3, 4)]


def test_no_figure_is_broken_over_two_lines(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    for width in ("60", "80", "100", "140"):
        monkeypatch.setenv("COLUMNS", width)
        text = run("check", "keep-my-head", code=1).stdout
        shown = text[text.index("x fails") : text.index("+ good")]
        assert not re.search(r"(±|≈|≥|≤|over|under)\n", shown)
        assert not re.search(r"[0-9]\n +(in|deg|%|ft/s|:1)[,°\s]", shown)


def test_common_practice_is_marked_and_explained(run: Run) -> None:
    text = run("check", "keep-my-head", code=1).stdout
    assert "°" in text
    assert "° common practice, no source: enter your own limits." in text
    assert "shop limit: thinner ones have cracked" in " ".join(text.split())


def test_findings_of_the_two_sides_have_their_names(run: Run) -> None:
    lines = run("check", "keep-my-head", code=1).stdout.splitlines()
    floats = [line for line in lines if "Valve float speed over highest speed" in line]
    assert floats
    assert all(re.search(r", (intake|exhaust)\b", line) for line in floats)


def test_check_on_a_casting_says_what_its_plan_says(run: Run) -> None:
    found = document(run("check", "sprint-1500", "--on", "EI-03", "--json"))
    assert found["casting"] == "EI-03"
    ranked = document(run("rank", "--quick", "sprint-1500", "--json"))["ranking"]
    placed = next(item for item in ranked if item["casting"] == "EI-03")
    assert found["verdict"] in {"good", "close"}
    bridge = {item["what"]: item for item in placed["findings"] if item["check"] == "bridge"}
    for item in found["findings"]:
        if item["check"] == "bridge":
            assert item["value_m"] == pytest.approx(bridge[item["what"]]["value_m"])
    for cylinder in found["cylinders"]:
        assert cylinder["compression_ratio"] == pytest.approx(11.5, abs=0.02)


def test_check_without_a_casting_says_how(run: Run) -> None:
    said = complaint("check", "sprint-1500")
    assert "--on CASTING" in said
    assert "headwright rank sprint-1500" in said
    assert "no casting 'X' in the book" in complaint("check", "sprint-1500", "--on", "X")


def test_a_casting_nobody_measured_is_not_called_likely(run: Run, half: Path) -> None:
    with actions.open_book(half) as opened:
        for casting in opened.records("casting"):
            if casting.tag != "H-2":
                opened.withdraw("casting", casting.tag, author="test")
    text = " ".join(run("rank", "--quick", "sprint-1500").stdout.split())
    assert "No casting is known to fit yet. Still open: H-2." in text
    assert "likely" not in text


def test_what_is_not_known_is_not_better(run: Run, half: Path) -> None:
    text = " ".join(run("compare", "half@EI-07", "half@H-2", "--quick").stdout.split())
    better = re.search(r"Better on H-2: ([^.]*)\.", text)
    assert better is None or "bridge" not in better[1]
    assert "Not known on H-2: " in text
    found = document(run("compare", "half@EI-07", "half@H-2", "--quick", "--json"))
    cut = next(item for item in found["figures"] if item["what"] == "Head cut")
    assert cut["one"]["value_m"] > 0.0
    assert cut["other"]["value_m"] is None


def test_parts_that_are_not_there_are_told_at_import(book: Path, tmp_path: Path) -> None:
    file = tmp_path / "half.toml"
    file.write_text(HALF_MEASURED, encoding="utf-8")
    done = invoke("import", str(file), "--book", str(book))
    assert done.exit_code == 0
    assert "mind: build lost: no short block tagged 'SB-NONE' is in the book" in done.stderr
    assert "build half" not in done.stderr


def test_outlines_and_times_are_short(run: Run) -> None:
    short = run("show", "casting", "EI-03").stdout
    long = run("show", "casting", "EI-03", "--all").stdout
    assert re.search(r"Outline +36 entered \(--all\)", short)
    assert "Outline 36: Y" in long
    assert len(short.splitlines()) < 0.8 * len(long.splitlines())
    assert re.search(r"revision 1, \d{4}-\d\d-\d\d \d\d:\d\d UTC, ", short)
    assert re.search(r"cylinder 4 +X \S+ in, Y \S+ in", short)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("power", "sprint-2025", "--from", "9e9"), "error: --from: "),
        (("gear", "sprint-2025", "--intake-lash", "-1mm"), "error: --intake-lash: -1 mm is below"),
        (("gear", "sprint-2025", "--at", "50 rpm"), "error: --at: '50 rpm' is a rotational speed"),
        (("drain", "EI-03", "--roll", "95deg"), "error: --roll: 95 deg is above"),
        (("revs", "sprint-2025", "--step", "x"), "error: --step: 'x' does not begin with"),
        (("clearance", "sprint-2025", "--lash", "1 cc"), "error: --lash: '1 cc' is a volume"),
        (("timing", "sprint-2025", "--advance", "60 deg"), "error: advance: 60°; must be within"),
    ],
)
def test_the_option_that_is_wrong_is_named(run: Run, words: tuple[str, ...], said: str) -> None:
    assert complaint(*words).startswith(said)


def test_repairs_of_many_words_are_written_row_by_row(run: Run) -> None:
    """No column of words is pressed so narrow that a line holds one or two of them."""
    text = run("repair", "EI-22").stdout
    assert "verdict: ~ sound, at a risk" in text
    assert "work: 4.7 h" in text


def test_a_plan_that_cannot_be_made_names_what_is_missing(run: Run, half: Path) -> None:
    text = run("plan", "half", "--on", "H-2", code=1).stdout
    assert text.startswith("Nothing can be reckoned yet")
    assert "Measure: chamber volume (cylinders 1 to 4)." in " ".join(text.split())
