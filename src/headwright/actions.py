"""One function per thing a user can do. The only place where storage meets studies.

Every function takes an open :class:`~headwright.storage.repository.Book`; faces parse their
request, call one of these, and render the outcome through :mod:`headwright.views`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

from headwright.errors import BookError, FileFormatError, InputError, UnknownRecordError
from headwright.quantities import System
from headwright.records import KINDS, Build, Casting, FlowTest, PowerPull, Record, Shop

if TYPE_CHECKING:
    from headwright.assemble import Bundle, Trial
    from headwright.storage.attachments import Attachment
    from headwright.storage.backup import BackupReport, RestoreReport
    from headwright.storage.changes import Change
    from headwright.storage.exchange import ImportReport
    from headwright.storage.repository import Book
    from headwright.storage.revisions import Revision
    from headwright.studies.check import CheckReport
    from headwright.studies.flow_reduction import ReducedTest
    from headwright.studies.power import PowerCurve
    from headwright.studies.pull_correction import StandardisedPull
    from headwright.studies.rank import Ranking
    from headwright.studies.waves import EngineWaves

__all__ = [
    "back_up",
    "bring_back",
    "check_build",
    "check_draft",
    "compare_bodies",
    "compare_revisions",
    "count_records",
    "export_to_file",
    "fill_with_demo",
    "find_records",
    "flow_curves",
    "history_of",
    "import_from_file",
    "import_into",
    "keep_photo",
    "kept_power",
    "kept_waves",
    "list_records",
    "load_demo",
    "make_folder",
    "open_book",
    "photos_of",
    "power_of_build",
    "pulls_of_build",
    "pulls_to_standard",
    "rank_build",
    "read_photo",
    "remove_photo",
    "restore_backup",
    "save_record",
    "shop_system",
    "show_record",
    "tags_of",
    "waves_of_build",
    "withdraw_record",
    "withdrawn_tags",
    "write_sheet",
]


def open_book(path: str | Path, *, create: bool = False) -> Book:
    """Open a shop book, making it first if asked. Use it in a ``with`` block.

    Args:
        path: the file.
        create: make a new, empty book if there is none.

    Raises:
        BookError: no book there, not a book, damaged, locked or newer than this program.
    """
    from headwright.storage.repository import Book

    return Book.open(path, create=create)


def make_folder(folder: Path) -> None:
    """Make the folder a book shall lie in, where it is not there already.

    Raises:
        BookError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise BookError(f"folder: {str(folder)[:300]} cannot be made: {why}") from None


def shop_system(book: Book) -> System:
    """Return the system of units the shop works in; inch where no shop record says otherwise."""
    shops = book.records("shop")
    return cast("Shop", shops[0]).system if shops else "inch"


def list_records(book: Book, kind: str) -> Sequence[Record]:
    """Return the records of a kind that are on the rack, by tag."""
    return book.records(kind)


def show_record(book: Book, kind: str, tag: str, revision: int | None = None) -> Revision:
    """Return one revision of a record with its author, time and note; the newest by default."""
    return book.revision(kind, tag, revision)


def save_record(
    book: Book, record: Record, *, author: str, note: str = "", expected_revision: int | None = None
) -> int:
    """Save a record as a new revision and return its number."""
    return book.save(record, author=author, note=note, expected_revision=expected_revision)


def history_of(book: Book, kind: str, tag: str) -> Sequence[Revision]:
    """Return every revision of a record, oldest first."""
    return book.history(kind, tag)


def compare_revisions(book: Book, kind: str, tag: str, older: int, newer: int) -> Sequence[Change]:
    """List what differs between two revisions of a record."""
    return book.compare(kind, tag, older, newer)


def bring_back(
    book: Book,
    kind: str,
    tag: str,
    revision: int,
    *,
    author: str,
    note: str = "",
    expected_revision: int | None = None,
) -> int:
    """Make an old revision the newest one again; nothing is lost."""
    return book.restore(
        kind, tag, revision, author=author, note=note, expected_revision=expected_revision
    )


def withdraw_record(
    book: Book,
    kind: str,
    tag: str,
    *,
    author: str,
    note: str = "",
    expected_revision: int | None = None,
) -> int:
    """Take a record off the rack; its history stays and :func:`bring_back` returns it."""
    return book.withdraw(kind, tag, author=author, note=note, expected_revision=expected_revision)


def count_records(book: Book) -> dict[str, int]:
    """Return how many records of every kind are on the rack, without reading any."""
    counted = book.counts()
    return {kind: counted.get(kind, 0) for kind in KINDS}


def find_records(
    book: Book,
    kind: str,
    words: Sequence[str] = (),
    *,
    fields: Mapping[str, str] | None = None,
    first: int = 0,
    most: int = 50,
) -> tuple[int, Sequence[Record]]:
    """Return how many records of a kind hold all of some words, and a page of them by tag."""
    return book.search(kind, words, fields=fields, first=first, most=most)


def tags_of(book: Book, kind: str) -> Sequence[str]:
    """Return the tags of a kind that are on the rack, without reading the records."""
    return [entry.tag for entry in book.list(kind)]


def withdrawn_tags(book: Book, kind: str) -> Sequence[str]:
    """Return the tags of a kind that were taken off the rack."""
    return [entry.tag for entry in book.list(kind, withdrawn=True) if entry.withdrawn]


def compare_bodies(old: Mapping[str, Any], new: Mapping[str, Any]) -> Sequence[Change]:
    """List what differs between two bodies of a record, in the book or not."""
    from headwright.storage.changes import compare_bodies as compare

    return compare(old, new)


def photos_of(book: Book, kind: str, tag: str) -> Sequence[Attachment]:
    """Return the photographs kept with a record, by name."""
    return [entry for entry in book.attachments(kind, tag) if entry.media_type.startswith("image/")]


def keep_photo(
    book: Book, kind: str, tag: str, name: str, content: bytes, *, author: str, note: str = ""
) -> Attachment:
    """Keep a photograph with a record; what else the file carried, a place among it, is left out.

    Args:
        book: the open book.
        kind: the record's kind.
        tag: the record's tag.
        name: what the file was called; only its letters are used.
        content: a JPEG, PNG, WebP, GIF, TIFF or BMP file.
        author: whose hand.
        note: what it shows.

    Raises:
        InputError: no such picture, too large, or damaged.
        UnknownRecordError: no such record.
    """
    from headwright.storage.pictures import plain_name, plain_picture

    picture = plain_picture(content)
    called = plain_name(name, [entry.name for entry in book.attachments(kind, tag)])
    return book.attach(
        kind, tag, called, picture, author=author, note=note, media_type="image/jpeg"
    )


def read_photo(book: Book, kind: str, tag: str, sha256: str) -> bytes:
    """Return a photograph of a record by the hash of its content.

    Raises:
        UnknownRecordError: the record has no such photograph.
    """
    for entry in photos_of(book, kind, tag):
        if entry.sha256 == sha256:
            return book.read_attachment(kind, tag, entry.name)
    raise UnknownRecordError(f"{kind} {tag!r} has no such photograph")


def remove_photo(book: Book, kind: str, tag: str, sha256: str, *, author: str) -> None:
    """Take a photograph off a record; its content stays in the book.

    Raises:
        UnknownRecordError: the record has no such photograph.
    """
    for entry in photos_of(book, kind, tag):
        if entry.sha256 == sha256:
            book.detach(kind, tag, entry.name, author=author)
            return
    raise UnknownRecordError(f"{kind} {tag!r} has no such photograph")


def import_from_file(
    book: Book, path: str | Path, *, author: str, dry_run: bool = False, bare: System | None = None
) -> ImportReport:
    """Import every record of a file, or none of them.

    Args:
        book: where to.
        path: a ``.toml``, ``.json``, ``.csv`` or ``.xlsx`` file.
        author: whose hand.
        dry_run: check only.
        bare: the system to read figures without a unit in; None refuses them.
    """
    path = Path(path)
    if path.suffix.lower() in {".csv", ".xlsx"}:
        from headwright.storage.sheets import import_sheet

        return import_sheet(book, path, author=author, dry_run=dry_run, system=bare)
    from headwright.storage.exchange import import_file

    return import_file(book, path, author=author, dry_run=dry_run, system=bare)


def import_into(
    path: str | Path,
    file: str | Path,
    *,
    author: str,
    dry_run: bool = False,
    bare: System | None = None,
) -> ImportReport:
    """Import a file into the book at ``path``; where there is none, a good file makes one.

    A file that is refused leaves no new book behind, and a dry run makes none.

    Args:
        path: the book.
        file: as for :func:`import_from_file`.
        author: whose hand.
        dry_run: check only.
        bare: the system to read figures without a unit in; None refuses them.

    Raises:
        InputError: the file or the author cannot be used; the book is as it was.
        BookError: the book cannot be made, opened or written.
    """
    from headwright.storage.book_file import resolve_book_path

    place = resolve_book_path(path)
    if not place.exists():
        from headwright.storage.exchange import Imported, ImportReport
        from headwright.storage.revisions import check_line

        check_line("author", author, 100)
        records = _records_of(Path(file), bare)
        if dry_run:
            news = tuple(Imported(record.kind, record.tag, "new", None) for record in records)
            return ImportReport(news, dry_run=True)
        make_folder(place.parent)
    with open_book(place, create=not dry_run) as book:
        return import_from_file(book, file, author=author, dry_run=dry_run, bare=bare)


def _records_of(file: Path, bare: System | None) -> Sequence[Record]:
    """Read and check the records of a file without a book."""
    if file.suffix.lower() in {".csv", ".xlsx"}:
        from headwright.storage.sheets import read_sheet

        return [read_sheet(file, system=bare)]
    from headwright.storage.exchange import read_records

    return read_records(file, system=bare)


def export_to_file(
    book: Book,
    path: str | Path,
    *,
    kind: str | None = None,
    tags: Sequence[str] = (),
    replace: bool = False,
) -> int:
    """Write records to a ``.toml`` or ``.json`` file and return how many.

    Args:
        book: where from.
        path: the file; its ending chooses the form.
        kind: only this kind; None writes the whole book.
        tags: only these records of the kind.
        replace: whether a file that is there may be replaced.
    """
    from headwright.storage.exchange import export_records

    kinds = list(KINDS) if kind is None else [kind]
    if kind is not None and tags:
        records: list[Record] = [book.get(kind, tag) for tag in tags]
    else:
        records = [record for each in kinds for record in book.records(each)]
    export_records(records, path, replace=replace)
    return len(records)


def write_sheet(
    kind: str, file: str | Path, *, system: System = "inch", replace: bool = False
) -> None:
    """Write an empty sheet of a kind, ``casting`` or ``flow_test``, to fill in at the bench."""
    from headwright.storage.sheets import write_template

    write_template(kind, file, system=system, replace=replace)


def back_up(book: Path, file: Path, *, replace: bool = False) -> BackupReport:
    """Copy the whole book with its history and attachments into one file."""
    from headwright.storage.backup import backup_book

    with open_book(book) as opened:
        return backup_book(opened, file, replace=replace)


def restore_backup(file: Path, book: Path, *, replace: bool = False) -> RestoreReport:
    """Bring a book back from a backup; a book that is there is set aside, not lost."""
    from headwright.storage.backup import restore_book

    return restore_book(file, book, replace=replace)


def _bundle(book: Book, tag: str) -> Bundle:
    return _bundle_of(book, cast("Build", book.get("build", tag)))


def _bundle_of(book: Book, build: Build) -> Bundle:
    from headwright.assemble import gather

    def look_up(kind: str, wanted: str) -> Record | None:
        try:
            return book.get(kind, wanted)
        except UnknownRecordError:
            return None

    return gather(
        build,
        look_up,
        [cast("FlowTest", test) for test in book.records("flow_test")],
        castings=[cast("Casting", casting) for casting in book.records("casting")],
        tags_of=lambda kind: [entry.tag for entry in book.list(kind)],
    )


def rank_build(
    book: Book,
    tag: str,
    *,
    engine: bool = False,
    threads: int = 2,
    told: Callable[[str], None] | None = None,
) -> Ranking:
    """Rank every casting in the book for a build, best first.

    Args:
        book: the open book.
        tag: the build's tag.
        engine: run the engine model for the castings that fit, at the speeds that decide; what
            was run before is found beside the book.
        threads: speeds run at the same time.
        told: told the tag of each casting before its engine is run.

    Raises:
        UnknownRecordError: no such build.
        RecordError: the build names records the book does not hold.
    """
    from headwright.studies.rank import rank

    bundle = _bundle(book, tag)
    if not engine:
        return rank(bundle, bundle.rack)
    from headwright.studies.power import deciding_speeds

    speeds = deciding_speeds(bundle.build)

    def run_engine(trial: Trial) -> PowerCurve:
        if told is not None:
            told(trial.casting.tag)
        return _run_or_find(book, trial, speeds, threads)

    return rank(bundle, bundle.rack, run_engine=run_engine)


def check_build(book: Book, tag: str) -> CheckReport:
    """Run every check on a build as it is meant: its casting, its cuts, its parts.

    Args:
        book: the open book.
        tag: the build's tag.

    Raises:
        UnknownRecordError: no such build.
        RecordError: the build names no casting, or records the book does not hold.
    """
    from headwright.studies.check import check

    return check(_bundle(book, tag))


def check_draft(book: Book, build: Build) -> CheckReport:
    """Run every check on a build that is not saved yet, against the parts in the book.

    Args:
        book: the open book.
        build: the build as it is being written.

    Raises:
        RecordError: the build names no casting, or records the book does not hold.
    """
    from headwright.studies.check import check

    return check(_bundle_of(book, build))


def power_of_build(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
    threads: int = 2,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> PowerCurve:
    """Run the engine model of a build over a range of speeds, or find the kept result.

    A curve that was run before from the same records is not run again. A cancelled run returns
    the speeds that were done.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: try this casting instead, cut for the build's target compression; needed where
            the build names none.
        low: lowest speed [rad/s]; by default the working range's, else 2000 rpm.
        high: highest speed [rad/s]; by default the highest speed wanted, else 7000 rpm.
        step: between speeds [rad/s]; by default about fifteen speeds.
        threads: speeds run at the same time.
        progress: told how many of how many speeds are done.
        cancelled: asked between speeds whether to stop.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: with every figure the model cannot do without.
        SimulationError: the model broke down.
    """
    trial, speeds = _power_question(book, tag, casting, low, high, step)
    return _run_or_find(book, trial, speeds, threads, progress, cancelled)


def _run_or_find(
    book: Book,
    trial: Trial,
    speeds: tuple[float, ...],
    threads: int,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> PowerCurve:
    from headwright.storage.kept_results import keep_result
    from headwright.studies.power import power_curve

    kept = _kept_power(book, trial, speeds)
    if kept is not None:
        return kept
    curve = power_curve(trial, speeds, threads=threads, progress=progress, cancelled=cancelled)
    if curve.complete:
        keep_result(book.path, "power", curve.input_hash, curve.to_body())
    return curve


def kept_power(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
) -> PowerCurve | None:
    """Return what :func:`power_of_build` gave before from the same records; None if it was not run.

    Args and errors as for :func:`power_of_build`; nothing is run.
    """
    return _kept_power(book, *_power_question(book, tag, casting, low, high, step))


def _power_question(
    book: Book,
    tag: str,
    casting: str | None,
    low: float | None,
    high: float | None,
    step: float | None,
) -> tuple[Trial, tuple[float, ...]]:
    from headwright.studies.power import speed_range

    trial = _trial_on(book, tag, casting)
    return trial, speed_range(trial.build, low, high, step)


def _trial_on(book: Book, tag: str, casting: str | None) -> Trial:
    """Return a build as it is meant, or on another casting cut for its target compression."""
    from headwright.assemble import make_trial
    from headwright.studies.head_cut import needed_cut, with_cut

    bundle = _bundle(book, tag)
    if casting is None:
        return make_trial(bundle)
    plain = make_trial(bundle.on(cast("Casting", book.get("casting", casting))))
    return with_cut(plain, needed_cut(plain))


def _kept_power(book: Book, trial: Trial, speeds: tuple[float, ...]) -> PowerCurve | None:
    from headwright.storage.kept_results import kept_result
    from headwright.studies.power import curve_from_body, input_hash

    kept = kept_result(book.path, "power", input_hash(trial, speeds))
    if kept is None:
        return None
    try:
        return curve_from_body(kept)
    except FileFormatError:
        return None  # kept by another version: run it again


def waves_of_build(
    book: Book,
    tag: str,
    speed: float,
    *,
    cylinder: int = 1,
    casting: str | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> EngineWaves | None:
    """Run a build at one speed and record a cylinder and the waves in its pipes, or find it kept.

    Args:
        book: the open book.
        tag: the build's tag.
        speed: crank speed [rad/s].
        cylinder: which.
        casting: as for :func:`power_of_build`.
        cancelled: asked after every cycle whether to stop.

    Returns:
        The record; None where it was cancelled.

    Raises:
        UnknownRecordError: no such build or casting.
        InputError: no such cylinder, or a speed out of range.
        RecordError: with every figure the model cannot do without.
        SimulationError: the model broke down.
    """
    from headwright.storage.kept_results import keep_result
    from headwright.studies.waves import engine_waves, waves_hash

    kept = kept_waves(book, tag, speed, cylinder=cylinder, casting=casting)
    if kept is not None:
        return kept
    trial = _trial_on(book, tag, casting)
    waves = engine_waves(trial, speed, cylinder, cancelled=cancelled)
    if waves is not None:
        keep_result(book.path, "waves", waves_hash(trial, speed, cylinder), waves.to_body())
    return waves


def kept_waves(
    book: Book, tag: str, speed: float, *, cylinder: int = 1, casting: str | None = None
) -> EngineWaves | None:
    """Return what :func:`waves_of_build` gave before from the same records; None otherwise."""
    from headwright.storage.kept_results import kept_result
    from headwright.studies.waves import waves_from_body, waves_hash

    trial = _trial_on(book, tag, casting)
    kept = kept_result(book.path, "waves", waves_hash(trial, speed, cylinder))
    if kept is None:
        return None
    try:
        return waves_from_body(kept)
    except FileFormatError:
        return None


def flow_curves(
    book: Book, tags: Sequence[str], depression: float | None = None
) -> Sequence[ReducedTest]:
    """Bring flow tests to one depression and to effective areas.

    Args:
        book: the open book.
        tags: of the tests, the one in question first.
        depression: to bring them to [Pa]; 28 inches of water when left out.

    Raises:
        UnknownRecordError: no such test.
        InputError: a depression out of range.
    """
    from headwright.studies.flow_reduction import COMMON_DEPRESSION, reduce_test

    reduced = []
    for tag in tags:
        test = cast("FlowTest", book.get("flow_test", tag))
        try:
            casting = cast("Casting", book.get("casting", test.casting))
        except UnknownRecordError:
            casting = None
        wanted = COMMON_DEPRESSION if depression is None else depression
        reduced.append(reduce_test(test, casting, wanted))
    return reduced


def pulls_to_standard(
    book: Book, tags: Sequence[str], standard: str = "none"
) -> Sequence[StandardisedPull]:
    """Bring power pulls to one standard's air.

    Args:
        book: the open book.
        tags: of the pulls, the one in question first.
        standard: ``none`` or a name of
            :data:`headwright.physics.power_correction.STANDARDS`.

    Raises:
        UnknownRecordError: no such pull.
        InputError: no such standard.
    """
    from headwright.studies.pull_correction import standardise_pull

    return [
        standardise_pull(cast("PowerPull", book.get("power_pull", tag)), standard) for tag in tags
    ]


def pulls_of_build(book: Book, tag: str) -> Sequence[StandardisedPull]:
    """Return the power pulls made with a build, as they were measured."""
    pulls = [cast("PowerPull", pull) for pull in book.records("power_pull")]
    return pulls_to_standard(book, [pull.tag for pull in pulls if pull.build == tag])


def fill_with_demo(book: Book) -> None:
    """Put the demo shop into a book that is empty.

    Raises:
        InputError: there is something in the book already.
    """
    from headwright.demo import demo_records

    if book.list(withdrawn=True):
        raise InputError("demo: the book is not empty; the demo shop goes into a book of its own")
    book.save_many(demo_records(), author="demo", note="the demo shop")


def load_demo(path: str | Path) -> Literal["new", "there"]:
    """Put the demo shop into the book at ``path``; a book already there keeps its history."""
    from headwright.demo import demo_records
    from headwright.storage.book_file import resolve_book_path

    place = resolve_book_path(path)
    state: Literal["new", "there"] = "there" if place.exists() else "new"
    make_folder(place.parent)
    with open_book(place, create=True) as book:
        book.save_many(demo_records(), author="demo", note="the demo shop")
    return state
