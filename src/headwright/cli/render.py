"""View objects to the terminal. No numbers are made here, only placed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table

from headwright.cli.common import when
from headwright.cli.render_findings import COMMON_NOTE, print_findings, short_source, styled

if TYPE_CHECKING:
    from headwright.views.changes import ChangeRow
    from headwright.views.cutting_plan import PlanView
    from headwright.views.findings import CheckView, SuggestionRow
    from headwright.views.ranking import CandidateView, RankingView
    from headwright.views.records import ListView, RecordRow, RecordSection, RecordView
    from headwright.views.text import FigureText

__all__ = [
    "plain_table",
    "print_changes",
    "print_check",
    "print_demo",
    "print_list",
    "print_ranking",
    "print_record",
]

STEADY_NOTE: Final = "* steady first estimate: do not hold it against the engine model's."

MOST_ON_A_LINE: Final = 3
"""Figures of a part of a record that stand on one line, where there are more such parts."""
MOST_POINTS: Final = 8
"""Entries of a list inside a part of a record that are shown one by one."""
_ENTRY: Final = re.compile(r"(?P<list>.+\].*\.\w+)\[(?P<place>\d+)\]\.[^\[\]]+$")

MEASURES: Final = ("cut", "left", "bridge", "to wall", "power")


def plain_table(*columns: str, right: Iterable[str] = ()) -> Table:
    """Make a table with fine rules; the columns named in ``right`` are set to the right."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, header_style="bold", show_edge=False)
    rights = set(right)
    for column in columns:
        table.add_column(column, justify="right" if column in rights else "left", overflow="fold")
    return table


def _short(figure: FigureText) -> str:
    return escape(figure.first)


def print_ranking(console: Console, view: RankingView, *, show_all: bool = False) -> None:
    """Print a ranking: the answer, the verdict table, why, what to measure next."""
    console.print(f"[bold]Which casting for {escape(view.build)}?[/]  {escape(view.purpose)}")
    console.print(f"Short block {escape(view.short_block)}; {escape(view.wanted)}.\n")
    table = _ranking_table(view)
    narrow = not _fits(console, table)  # a figure must not be broken over two lines
    if view.candidates:
        console.print(_short_ranking_table(view) if narrow else table)
        if not narrow and any(item.power_is_steady for item in view.candidates):
            console.print(f"[italic]{STEADY_NOTE}[/]")
    console.print(f"\n[bold]{escape(view.answer)}[/]\n")
    for candidate in view.candidates:
        _print_reasons(console, candidate, with_figures=narrow)
    if show_all:
        if view.build_findings:
            console.print("\n[bold]the build itself, whatever the casting[/]")
            print_findings(console, view.build_findings)
        for candidate in view.candidates:
            console.print(f"\n[bold]{escape(candidate.casting)}[/]  {escape(candidate.sort)}")
            print_findings(console, candidate.findings)
    _print_next(console, view.measure_next)
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _measures(item: CandidateView) -> tuple[FigureText, ...]:
    return (item.cut, item.thickness_left, item.bridge, item.valve_to_bore, item.power)


def _tight(figure: FigureText) -> str:
    """Return a figure without its unit, for a column whose heading carries the unit."""
    return (
        escape(
            figure.first.removesuffix(figure.unit).strip().replace(" ± ", "±").replace("≈ ", "≈")
        )
        or "-"
    )


def _fits(console: Console, table: Table) -> bool:
    """Tell whether a table has room without breaking any cell."""
    unbounded = console.options.update(width=10_000)
    return console.measure(table, options=unbounded).maximum <= console.width


def _tight_chance(words: str) -> str:
    """Return a chance with signs for words, for a narrow column."""
    return words.replace("over ", ">").replace("under ", "<")


def _short_ranking_table(view: RankingView) -> Table:
    """Return the ranking for a narrow terminal, without the figures."""
    table = plain_table("", "casting", "verdict", "holds", "grade", right=["holds"])
    for item in view.candidates:
        verdict = styled(f"{item.mark} {item.verdict_words}", item.verdict)
        table.add_row(
            str(item.place), escape(item.casting), verdict, _tight_chance(item.holds), item.grade
        )
    return table


def _ranking_table(view: RankingView) -> Table:
    rows = [_measures(item) for item in view.candidates]
    units = [
        next((row[place].unit for row in rows if row[place].unit), "")
        for place in range(len(MEASURES))
    ]
    headings = [
        f"{name}, {unit}" if unit else name for name, unit in zip(MEASURES, units, strict=True)
    ]
    table = plain_table("", "casting", "verdict", *headings, "holds", "grade", right=headings)
    for item in view.candidates:
        table.add_row(
            str(item.place),
            escape(item.casting),
            styled(f"{item.mark} {item.verdict_words}", item.verdict),
            *(_tight(figure) for figure in _measures(item)[:-1]),
            _tight(item.power) + ("*" if item.power_is_steady else ""),
            _tight_chance(item.holds),
            item.grade,
        )
    return table


def _print_reasons(console: Console, candidate: CandidateView, *, with_figures: bool) -> None:
    head = styled(f"{candidate.mark} {candidate.casting}", candidate.verdict)
    console.print(f"{head}  {escape(candidate.sort)}, {escape(candidate.condition)}")
    lines = []
    if with_figures:
        pairs = zip(MEASURES, _measures(candidate), strict=True)
        lines.append("; ".join(f"{name} {figure.first}" for name, figure in pairs))
    if candidate.relief:
        lines.append(f"relieve {candidate.relief}")
    if candidate.cut_note:
        lines.append(candidate.cut_note)
    lines.extend(candidate.reasons)
    lines.extend(candidate.breathing_notes)
    lines.append(f"plan: {candidate.plan}")
    lines.append(f"power: {candidate.power_basis}")
    lines.append(f"breathing: {candidate.breathing_basis}")
    lines.append(f"evidence {candidate.evidence}")
    for line in lines:
        console.print(Padding.indent(escape(line), 4))


def print_check(console: Console, view: CheckView, *, show_all: bool = False) -> None:
    """Print what the checks found on a build; good findings in short unless all are wanted."""
    from headwright.checks import COMMON_PRACTICE

    verdict = styled(view.verdict_words, view.verdict)
    console.print(f"[bold]{escape(view.build)} on {escape(view.casting)}[/]: {verdict}")
    console.print(f"{escape(view.purpose)}\n")
    console.print(f"displacement {_short(view.displacement)}")
    for cylinder, ratio, trapped in view.compression:
        console.print(
            f"{cylinder}: compression {_short(ratio)}, from intake closing {_short(trapped)}"
        )
    if view.engine_power:
        console.print(f"power, engine model: {escape(view.engine_power)}")
    console.print(f"breathing, steady first estimate: {escape(view.breathing)}")
    for note in view.breathing_notes:
        console.print(Padding.indent(escape(note), 4))
    console.print(f"evidence {escape(view.evidence)}\n")
    rows = view.findings if show_all else [r for r in view.findings if r.verdict != "good"]
    if rows:
        print_findings(console, rows)
    if view.good and not show_all:
        console.print(f"\n{styled('+ good', 'good')}")
        lines = [short_source(line) for line in view.good]
        for line in lines:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
        if lines != list(view.good) and not any(row.source == COMMON_PRACTICE for row in rows):
            console.print(f"[italic]{COMMON_NOTE}[/]")
    _print_next(console, view.measure_next)
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print_next(console: Console, rows: tuple[SuggestionRow, ...]) -> None:
    if not rows:
        return
    console.print("\n[bold]What to measure next[/]")
    table = plain_table("on", "measure", "because")
    for row in rows:
        kind, gap, tag = row.where.partition(" ")
        where = kind.replace("_", " ") + gap + tag
        table.add_row(escape(where), escape(row.what), escape(row.why))
    console.print(table)


def print_list(console: Console, view: ListView) -> None:
    """Print a list of records."""
    if not view.rows:
        console.print(f"no {view.plural.replace('_', ' ')} in the book")
        return
    table = plain_table("tag", *view.columns, view.measured_words.lower())
    for row in view.rows:
        table.add_row(escape(row.tag), *(escape(cell) for cell in row.cells), row.measured)
    console.print(table)


def print_changes(console: Console, rows: Sequence[ChangeRow], words: tuple[str, str]) -> None:
    """Print what differs between two revisions, in the shop's units."""
    if not rows:
        console.print("no difference")
        return
    table = plain_table("what", *words)
    for row in rows:
        table.add_row(*(escape(text or "nothing") for text in (row.what, row.old, row.new)))
    console.print(table)


def print_record(console: Console, view: RecordView, *, show_all: bool = False) -> None:
    """Print one record, section by section; long rows of points in short unless all are wanted."""
    console.print(f"[bold]{escape(view.title)} {escape(view.tag)}[/]")
    for row in view.history:
        note = f": {row.note}" if row.note else ""
        console.print(escape(f"revision {row.revision}, {when(row.time)}, {row.author}{note}"))
    if view.measured:
        console.print(f"{view.measured_words.lower()}: {view.measured}")
    for heading, sections in _grouped(view.sections, one_by_one=show_all):
        console.print(f"\n[bold]{escape(heading)}[/]")
        table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 0))
        for _ in range(4):
            table.add_column(overflow="fold")
        for section in sections:
            if len(sections) > 1:
                table.add_row(*(escape(cell) for cell in _on_a_line(section)))
                continue
            for line in section.rows if show_all else _folded_points(section.rows):
                if line.figure is None:
                    table.add_row(escape(line.label), escape(line.text), "", "")
                else:
                    table.add_row(
                        escape(line.label),
                        escape(line.figure.both),
                        escape(line.figure.provenance),
                        escape(line.note),
                    )
        console.print(table)


def _grouped(
    sections: Sequence[RecordSection], *, one_by_one: bool
) -> list[tuple[str, list[RecordSection]]]:
    """Put short sections of one sort, such as bore centres, under one heading."""
    groups: list[tuple[str, list[RecordSection]]] = []
    for section in sections:
        name, colon, _ = section.title.partition(": ")
        short = bool(colon) and len(section.rows) <= MOST_ON_A_LINE and not one_by_one
        if short and groups and groups[-1][0] == name:
            groups[-1][1].append(section)
        else:
            groups.append((name if short else section.title, [section]))
    return [
        (heading if len(members) > 1 else members[0].title, members) for heading, members in groups
    ]


def _on_a_line(section: RecordSection) -> tuple[str, str, str, str]:
    """Return a short section as one row: which, its figures, where they come from, notes."""
    figures = [
        f"{row.label} {row.figure.first if row.figure else row.text}" for row in section.rows
    ]
    origins = dict.fromkeys(row.figure.provenance for row in section.rows if row.figure)
    notes = dict.fromkeys(row.note for row in section.rows if row.figure and row.note)
    which = section.title.partition(": ")[2]
    return which, ", ".join(figures), ", ".join(one for one in origins if one), "; ".join(notes)


def _folded_points(rows: Sequence[RecordRow]) -> list[RecordRow]:
    """Put lists of many entries, such as an outline's points, into one row each."""
    lists: dict[str, set[str]] = {}
    for row in rows:
        found = _ENTRY.match(row.path)
        if found:
            lists.setdefault(found["list"], set()).add(found["place"])
    kept: list[RecordRow] = []
    told: set[str] = set()
    for row in rows:
        found = _ENTRY.match(row.path)
        if found is None or len(lists[found["list"]]) <= MOST_POINTS:
            kept.append(row)
        elif found["list"] not in told:
            told.add(found["list"])
            label = re.sub(r" 1: [^:]*$", "", row.label)
            count = len(lists[found["list"]])
            kept.append(replace(row, label=label, figure=None, text=f"{count} entered (--all)"))
    return kept


def print_demo(
    console: Console, view: RankingView, path: Path, plan: PlanView | None = None
) -> None:
    """Print the main job on the demo shop, the winner's plan, and what to try next."""
    console.print("[bold]headwright demo[/]: an invented shop, engine and class; no real parts.\n")
    print_ranking(console, view)
    if plan is not None:
        from headwright.cli.render_plan import print_plan_brief

        print_plan_brief(console, plan)
    console.print(
        f"\nThe demo's book is {escape(str(path))}. Where the shell does not find headwright,"
    )
    console.print("write python3 dev.py run in its place. Try:")
    for words in (
        "list castings",
        "show casting EI-03",
        f"rank {view.build} --all",
        *((f"plan {view.build} --on {plan.casting}",) if plan is not None else ()),
        "check sprint-2025",
        "check keep-my-head",
    ):
        console.print(f"    headwright {words} --book {escape(str(path))}", soft_wrap=True)
