"""What each page shows. Figures come written out from the views; here they are only arranged."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import ClassVar, Final, cast

from headwright.records import KINDS, Build, Record
from headwright.views.findings import CheckView, FindingRow
from headwright.views.records import ListView, RecordRow, RecordSection, RecordView
from headwright.web.doors import DoorGroup, doors_of
from headwright.web.links import Links

__all__ = [
    "BuildLine",
    "CheckPage",
    "Choice",
    "Cure",
    "ErrorPage",
    "HomePage",
    "ListPage",
    "LoginPage",
    "Matrix",
    "PageContext",
    "Place",
    "RecordPage",
    "Shelf",
    "arranged",
    "cures_of",
    "place_named",
    "plainly",
    "split_findings",
]

LONG_LIST: Final = 12
"""Lines of a list inside a record's entries from which on a page folds them away."""


@dataclass(frozen=True, slots=True)
class PageContext:
    """A page: which template draws it and what it is called."""

    template: ClassVar[str]
    heading: str


@dataclass(frozen=True, slots=True)
class BuildLine:
    """A build on the first page."""

    tag: str
    purpose: str
    short_block: str
    casting: str


@dataclass(frozen=True, slots=True)
class Shelf:
    """A kind of record and how many the book holds."""

    kind: str
    words: str
    count: int


@dataclass(frozen=True, slots=True)
class HomePage(PageContext):
    """The first page: which builds want a casting, and what there is in the book."""

    template: ClassVar[str] = "home.html"
    waiting: tuple[BuildLine, ...]
    chosen: tuple[BuildLine, ...]
    shelves: tuple[Shelf, ...]
    castings: int
    more_builds: int = 0
    wanting: tuple[Shelf, ...] = ()

    @property
    def next_kind(self) -> str:
        """Return what is entered next on the way to a ranking; empty once there is a build."""
        wanted = {shelf.kind for shelf in self.wanting}
        steps = ("casting", "short_block", "build")
        return next((kind for kind in steps if kind in wanted), "") if "build" in wanted else ""

    @classmethod
    def of(
        cls, shops: Sequence[Record], builds: Sequence[Record], counts: Mapping[str, int]
    ) -> HomePage:
        """Arrange the shop, the first builds, and how many records there are of every kind."""
        lines = [
            BuildLine(build.tag, build.purpose, build.short_block, build.casting or "")
            for build in (cast("Build", record) for record in builds)
        ]
        return cls(
            heading=str(getattr(shops[0], "name", shops[0].tag)) if shops else "The shop book",
            waiting=tuple(line for line in lines if not line.casting),
            chosen=tuple(line for line in lines if line.casting),
            shelves=tuple(
                Shelf(
                    kind,
                    model.title.lower() if counts[kind] == 1 else model.plural.replace("_", " "),
                    counts[kind],
                )
                for kind, model in KINDS.items()
                if counts[kind]
            ),
            castings=counts["casting"],
            more_builds=max(0, counts["build"] - len(builds)),
            wanting=tuple(
                Shelf(kind, model.title.lower(), 0)
                for kind, model in KINDS.items()
                if not counts[kind]
            ),
        )


@dataclass(frozen=True, slots=True)
class Choice:
    """A field by which a list can be narrowed, its words, and the one chosen."""

    name: str
    label: str
    options: tuple[str, ...]
    chosen: str


@dataclass(frozen=True, slots=True)
class ListPage(PageContext):
    """All records of one kind."""

    template: ClassVar[str] = "list.html"
    view: ListView
    words: str = ""
    total: int = 0
    first: int = 0
    page: int = 1
    pages: int = 1
    choices: tuple[Choice, ...] = ()
    withdrawn: tuple[str, ...] = ()

    @property
    def asked(self) -> dict[str, str | int]:
        """Return what was asked for, for the links to other pages of the list."""
        chosen = {choice.name: choice.chosen for choice in self.choices if choice.chosen}
        return {**({"words": self.words} if self.words else {}), **chosen}


@dataclass(frozen=True, slots=True)
class Matrix:
    """The entries of one of a record's lists, side by side.

    ``across`` are the headings of the columns, ``down`` those of the lines; ``cells`` holds a
    line of cells for each of ``down``, None where an entry has nothing there. ``meanings``
    explains each line, empty where the entries run down. ``is_folded`` tells that the page opens
    it only when asked.
    """

    title: str
    entries_down: bool
    across: tuple[str, ...]
    down: tuple[str, ...]
    meanings: tuple[str, ...]
    cells: tuple[tuple[RecordRow | None, ...], ...]
    is_folded: bool = False

    def holds_figures(self, line: int, column: int) -> bool:
        """Tell whether the field that meets in a cell is a figure, so that a gap is a gap."""
        field_cells = [row[column] for row in self.cells] if self.entries_down else self.cells[line]
        return any(cell is not None and cell.figure is not None for cell in field_cells)


def arranged(sections: Iterable[RecordSection]) -> tuple[RecordSection | Matrix, ...]:
    """Put the sections that are entries of one list into one table; keep the others.

    The longer of the two sides runs down the page, so that a phone has less to scroll sideways.
    """
    return tuple(
        part
        for stem, group in groupby(sections, key=_stem)
        for part in (_matrix(list(group), stem) if stem else group)
    )


def _stem(section: RecordSection) -> str:
    """Return the name of the list a section is an entry of, empty for a section of its own."""
    stem, mark, _ = section.title.partition(": ")
    return stem if mark and section.rows and "[" in section.rows[0].path else ""


def _matrix(entries: Sequence[RecordSection], stem: str) -> tuple[RecordSection | Matrix, ...]:
    if len(entries) == 1:
        return tuple(entries)
    fields = _fields_in_order(entries)
    names = tuple(_capital(entry.title.partition(": ")[2]) for entry in entries)
    found = [{row.label: row for row in entry.rows} for entry in entries]
    meanings = {row.label: row.meaning for entry in entries for row in entry.rows}
    if len(fields) < len(entries):
        cells = tuple(tuple(rows.get(label) for label in fields) for rows in found)
        return (
            Matrix(
                stem,
                entries_down=True,
                across=tuple(fields),
                down=names,
                meanings=("",) * len(names),
                cells=cells,
            ),
        )
    cells = tuple(tuple(rows.get(label) for rows in found) for label in fields)
    explained = tuple(meanings[label] for label in fields)
    return _long_lists_folded(
        Matrix(
            stem,
            entries_down=False,
            across=names,
            down=tuple(fields),
            meanings=explained,
            cells=cells,
        )
    )


def _long_lists_folded(matrix: Matrix) -> tuple[Matrix, ...]:
    """Part the lines of long lists inside the entries, such as the points of an outline.

    They would bury what is read daily; each becomes a folded table of its own, after the first.
    """
    lists = [_inner_list(label) for label in matrix.down]
    long = [name for name in dict.fromkeys(lists) if name and lists.count(name) >= LONG_LIST]

    def lines(title: str, wanted: Iterable[int], *, is_folded: bool) -> Matrix:
        chosen = list(wanted)
        return replace(
            matrix,
            title=title,
            down=tuple(matrix.down[line] for line in chosen),
            meanings=tuple(matrix.meanings[line] for line in chosen),
            cells=tuple(matrix.cells[line] for line in chosen),
            is_folded=is_folded,
        )

    kept = [line for line, name in enumerate(lists) if name not in long]
    folded = (
        lines(
            f"{matrix.title}: {name.lower()}",
            (line for line, one in enumerate(lists) if one == name),
            is_folded=True,
        )
        for name in long
    )
    return (*((lines(matrix.title, kept, is_folded=False),) if kept else ()), *folded)


def _inner_list(label: str) -> str:
    """Return the list a label counts through (``Outline 3: X``: Outline), empty for none."""
    found = re.match(r"(.+?) \d+: ", label)
    return found[1] if found else ""


def _fields_in_order(entries: Iterable[RecordSection]) -> Sequence[str]:
    """Return the labels of all entries, each after the one it follows in its own entry."""
    labels: list[str] = []
    for entry in entries:
        after = 0
        for row in entry.rows:
            if row.label not in labels:
                labels.insert(after, row.label)
            after = labels.index(row.label) + 1
    return labels


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


@dataclass(frozen=True, slots=True)
class RecordPage(PageContext):
    """One record. ``revision`` is the one shown; ``newest`` the newest there is."""

    template: ClassVar[str] = "record.html"
    view: RecordView
    parts: tuple[RecordSection | Matrix, ...]
    revision: int
    newest: int
    has_casting: bool

    def doors(self, links: Links) -> tuple[DoorGroup, ...]:
        """Return the ways on from the record, grouped by the work."""
        return doors_of(
            self.view.kind,
            self.view.tag,
            links,
            is_newest=self.revision == self.newest,
            has_casting=self.has_casting,
        )


@dataclass(frozen=True, slots=True)
class CheckPage(PageContext):
    """Every check on a build as it is meant."""

    template: ClassVar[str] = "check.html"
    view: CheckView


@dataclass(frozen=True, slots=True)
class LoginPage(PageContext):
    """Asks for the password; ``trouble`` says why it was not taken."""

    template: ClassVar[str] = "login.html"
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class ErrorPage(PageContext):
    """Something that cannot be shown, why, and where to go instead.

    ``near`` lists kind and tag of what may have been meant; ``build`` is the build that cannot
    be worked out as it stands, empty where the trouble is another.
    """

    template: ClassVar[str] = "error.html"
    status: int
    messages: tuple[str, ...]
    near: tuple[tuple[str, str], ...] = ()
    build: str = ""

    @property
    def cures(self) -> tuple[Cure, ...]:
        """Return the fields the messages complain of, each to be entered in its record's form."""
        return tuple(dict.fromkeys(cure for told in self.messages for cure in cures_of(told)))


@dataclass(frozen=True, slots=True)
class Cure:
    """A field of a record that wants entering, and its name in words."""

    kind: str
    tag: str
    path: str
    words: str


_FIELD_OF_RECORD: Final = re.compile(
    rf"\b({'|'.join(KINDS)}) ([A-Za-z0-9][\w.-]*): ([a-z][a-z_]*(?:\[\d+\]|\.[a-z_]+)*): "
)


def cures_of(message: str) -> tuple[Cure, ...]:
    """Return the fields of records a message complains of.

    >>> cures_of("build B-1: valve_gear: is missing")
    (Cure(kind='build', tag='B-1', path='valve_gear', words='valve gear'),)
    """
    return tuple(
        Cure(kind, tag, path, path.replace("_", " "))
        for kind, tag, path in _FIELD_OF_RECORD.findall(message)
    )


def plainly(message: str) -> str:
    """Write a message's places in words.

    >>> plainly("flow_test FT-1: bore_used: is missing")
    'flow test FT-1, bore used: is missing'
    """

    def words(found: re.Match[str]) -> str:
        kind, tag, path = found.groups()
        return f"{KINDS[kind].title.lower()} {tag}, {path.replace('_', ' ')}: "

    return _FIELD_OF_RECORD.sub(words, message)


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is recorded; ``kind`` is empty where no record can be pointed at."""

    kind: str
    tag: str
    words: str


def place_named(where: str) -> Place:
    """Read a place as the views write it: ``casting EI-22``, ``flow test of casting EI-22``.

    >>> place_named("short_block SB-1")
    Place(kind='short_block', tag='SB-1', words='short block SB-1')
    """
    kind, _, tag = where.partition(" ")
    if kind in KINDS and tag and " " not in tag:
        return Place(kind, tag, f"{KINDS[kind].title.lower()} {tag}")
    return Place("", "", where)


def split_findings(
    findings: Iterable[FindingRow],
) -> tuple[tuple[FindingRow, ...], tuple[FindingRow, ...]]:
    """Part the findings to look at from those that are good."""
    rows = tuple(findings)
    return (
        tuple(row for row in rows if row.verdict != "good"),
        tuple(row for row in rows if row.verdict == "good"),
    )
