"""Commands about the shop book: list, show, history, import, export, sheets, backup, restore."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from headwright.cli.common import (
    author_name,
    author_option,
    book_option,
    console,
    default_book,
    json_option,
    print_json,
    speaks_plainly,
    when,
)

if TYPE_CHECKING:
    from headwright.quantities import System

__all__ = [
    "backup_command",
    "export_command",
    "history_command",
    "import_command",
    "list_command",
    "restore_command",
    "sheet_command",
    "show_command",
]

FILE = click.Path(path_type=Path)


@click.command("list")
@click.argument("kind", required=False)
@book_option
@json_option
@speaks_plainly
def list_command(kind: str | None, book: Path | None, as_json: bool) -> None:
    """List the records of a KIND: castings, blocks, builds ...; without one, what there is."""
    from headwright import actions
    from headwright.records import KINDS, kind_named
    from headwright.views.records import list_json, list_view

    wanted = kind_named(kind) if kind else None
    with actions.open_book(book or default_book()) as shop_book:
        if wanted is None:
            counts = {each: len(actions.list_records(shop_book, each)) for each in KINDS}
        else:
            records = actions.list_records(shop_book, wanted)
        system = actions.shop_system(shop_book)
    if wanted is None:
        rows = [
            {"kind": each, "plural": KINDS[each].plural, "count": n} for each, n in counts.items()
        ]
        if as_json:
            print_json({"kinds": rows})
            return
        for row in rows:
            click.echo(f"{row['count']:>6}  {row['plural']}")
        return
    if as_json:
        print_json(list_json(records))
        return
    from headwright.cli.render import print_list

    print_list(console(), list_view(wanted, records, system))


@click.command("show")
@click.argument("kind")
@click.argument("tag")
@click.option("--revision", type=click.IntRange(1), default=None, help="An older revision.")
@click.option("--all", "show_all", is_flag=True, help="Show every point of long lists too.")
@book_option
@json_option
@speaks_plainly
def show_command(
    kind: str, tag: str, revision: int | None, show_all: bool, book: Path | None, as_json: bool
) -> None:
    """Show one record: KIND and TAG, such as casting EI-03."""
    from headwright import actions
    from headwright.records import kind_named, read_record
    from headwright.views.records import RevisionRow, record_json, record_view

    with actions.open_book(book or default_book()) as shop_book:
        found = actions.show_record(shop_book, kind_named(kind), tag, revision)
        system = actions.shop_system(shop_book)
        instruments = frozenset(actions.tags_of(shop_book, "instrument"))
    record = read_record(found.read_body())
    row = RevisionRow(found.revision, found.author, found.time, found.note)
    if as_json:
        print_json(record_json(record, row))
        return
    from headwright.cli.render import print_record

    print_record(console(), record_view(record, system, [row], instruments), show_all=show_all)


@click.command("history")
@click.argument("kind")
@click.argument("tag")
@click.option(
    "--compare",
    nargs=2,
    type=click.IntRange(1),
    default=None,
    metavar="OLD NEW",
    help="List what differs between two revisions.",
)
@click.option(
    "--bring-back",
    type=click.IntRange(1),
    default=None,
    metavar="REVISION",
    help="Make an old revision the newest again; nothing is lost.",
)
@author_option
@book_option
@json_option
@speaks_plainly
def history_command(
    kind: str,
    tag: str,
    compare: tuple[int, int] | None,
    bring_back: int | None,
    author: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """Show every revision of a record, compare two, or bring an old one back."""
    from headwright import actions
    from headwright.records import kind_named

    wanted = kind_named(kind)
    with actions.open_book(book or default_book()) as shop_book:
        if bring_back is not None:
            actions.bring_back(shop_book, wanted, tag, bring_back, author=author_name(author))
        if compare is not None:
            changes = actions.compare_revisions(shop_book, wanted, tag, *compare)
            rows = [{"path": c.path, "old": c.old, "new": c.new} for c in changes]
            if as_json:
                print_json({"changes": rows})
                return
            from headwright.cli.render import print_changes
            from headwright.records import KINDS
            from headwright.views.changes import change_rows

            system = actions.shop_system(shop_book)
            words = (f"revision {compare[0]}", f"revision {compare[1]}")
            print_changes(console(), change_rows(changes, KINDS[wanted], system), words)
            return
        revisions = actions.history_of(shop_book, wanted, tag)
    rows = [
        {
            "revision": r.revision,
            "time": r.time,
            "author": r.author,
            "note": r.note,
            "withdrawn": r.withdrawn,
        }
        for r in revisions
    ]
    if as_json:
        print_json({"revisions": rows})
        return
    for row in rows:
        gone = "  (withdrawn)" if row["withdrawn"] else ""
        click.echo(
            f"{row['revision']:>4}  {when(str(row['time']))}  {row['author']}  {row['note']}{gone}"
        )


@click.command("import")
@click.argument("file", type=FILE)
@click.option("--dry-run", is_flag=True, help="Check everything, change nothing.")
@click.option(
    "--bare",
    type=click.Choice(["inch", "metric"]),
    default=None,
    help="Read figures without a unit in this system; otherwise they are refused.",
)
@author_option
@book_option
@json_option
@speaks_plainly
def import_command(
    file: Path,
    dry_run: bool,
    bare: System | None,
    author: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """Import records from FILE (.toml, .json, .csv, .xlsx): all of them or none.

    Parts that an imported build names and the book does not hold are told.
    """
    from headwright import actions

    report = actions.import_into(
        book or default_book(), file, author=author_name(author), dry_run=dry_run, bare=bare
    )
    missing: list[tuple[str, str]] = []
    builds = [item.tag for item in report.records if item.kind == "build"]
    if builds and not report.dry_run:
        with actions.open_book(book or default_book()) as shop_book:
            missing = [
                (tag, words) for tag in builds for words in actions.missing_of_build(shop_book, tag)
            ]
    if as_json:
        print_json(
            {
                "dry_run": report.dry_run,
                "missing": [{"build": tag, "message": words} for tag, words in missing],
                "imported": [
                    {"kind": i.kind, "tag": i.tag, "outcome": i.outcome, "revision": i.revision}
                    for i in report.records
                ],
            }
        )
        return
    click.echo(str(report))
    for tag, words in missing:
        click.echo(f"mind: build {tag}: {words}; import it before checking", err=True)


@click.command("export")
@click.argument("file", type=FILE)
@click.option("--kind", default=None, help="Only this kind of record.")
@click.option("--tag", "tags", multiple=True, help="Only this record; may be repeated.")
@click.option("--replace", is_flag=True, help="Replace a file that is there already.")
@book_option
@json_option
@speaks_plainly
def export_command(
    file: Path,
    kind: str | None,
    tags: tuple[str, ...],
    replace: bool,
    book: Path | None,
    as_json: bool,
) -> None:
    """Write records to FILE (.toml or .json); without --kind, the whole book."""
    from headwright import actions
    from headwright.errors import InputError
    from headwright.records import kind_named

    if tags and not kind:
        raise InputError("tag: say of which kind with --kind")
    with actions.open_book(book or default_book()) as shop_book:
        count = actions.export_to_file(
            shop_book,
            file,
            kind=kind_named(kind) if kind else None,
            tags=tags,
            replace=replace,
        )
    if as_json:
        print_json({"file": str(file), "records": count})
        return
    click.echo(f"{count} records written to {file}")


@click.command("sheet")
@click.argument("kind", type=click.Choice(["casting", "flow-test", "cam"]))
@click.argument("file", type=FILE)
@click.option(
    "--units",
    type=click.Choice(["inch", "metric"]),
    default=None,
    help="What to measure in; otherwise the shop's own, otherwise inch.",
)
@click.option("--replace", is_flag=True, help="Replace a file that is there already.")
@book_option
@json_option
@speaks_plainly
def sheet_command(
    kind: str, file: Path, units: System | None, replace: bool, book: Path | None, as_json: bool
) -> None:
    """Write an empty sheet (.csv or .xlsx) to fill in at the bench, for import later."""
    from headwright import actions

    path = book or default_book()
    if units is None and (book is not None or path.exists()):
        with actions.open_book(path) as shop_book:
            units = actions.shop_system(shop_book)
    units = units or "inch"
    actions.write_sheet(kind.replace("-", "_"), file, system=units, replace=replace)
    if as_json:
        print_json({"file": str(file), "sheet": kind.replace("-", "_"), "units": units})
        return
    click.echo(f"sheet for a {kind.replace('-', ' ')} written to {file}")


@click.command("backup")
@click.argument("file", type=FILE)
@click.option("--replace", is_flag=True, help="Replace a file that is there already.")
@book_option
@json_option
@speaks_plainly
def backup_command(file: Path, replace: bool, book: Path | None, as_json: bool) -> None:
    """Copy the whole book, history and attachments, into one FILE (.zip)."""
    from headwright import actions

    report = actions.back_up(book or default_book(), file, replace=replace)
    if as_json:
        print_json(
            {
                "file": str(report.path),
                "size_bytes": report.size,
                "revisions": report.revisions,
                "attachments": report.attachments,
                "missing": [str(name) for name in report.missing],
            }
        )
        return
    click.echo(
        f"{report.revisions} revisions and {report.attachments} attachments backed up to "
        f"{report.path} ({report.size} bytes)"
    )
    for name in report.missing:
        click.echo(f"missing or damaged, not in the backup: {name}", err=True)


@click.command("restore")
@click.argument("file", type=FILE)
@click.option("--replace", is_flag=True, help="Set a book that is there aside and put this in.")
@book_option
@json_option
@speaks_plainly
def restore_command(file: Path, replace: bool, book: Path | None, as_json: bool) -> None:
    """Bring a book back from a backup FILE, into --book."""
    from headwright import actions

    if book is None:
        actions.make_folder(default_book().parent)
    report = actions.restore_backup(file, book or default_book(), replace=replace)
    if as_json:
        aside = report.set_aside
        print_json(
            {
                "book": str(report.path),
                "made": report.made,
                "attachments": report.attachments,
                "set_aside": str(aside) if aside else None,
            }
        )
        return
    click.echo(f"book of {report.made} with {report.attachments} attachments is {report.path}")
    if report.set_aside is not None:
        click.echo(f"the book that was there is now {report.set_aside}")
