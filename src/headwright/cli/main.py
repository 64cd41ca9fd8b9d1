"""The command line. Commands import what they need when they run, so that each starts fast."""

from __future__ import annotations

import sys
import traceback
from typing import Final

import click

from headwright.cli.book_commands import (
    backup_command,
    export_command,
    history_command,
    import_command,
    list_command,
    restore_command,
    sheet_command,
    show_command,
)
from headwright.cli.build_commands import (
    check_command,
    demo_command,
    rank_command,
    serve_command,
)
from headwright.cli.clearance_commands import clearance_command, timing_command
from headwright.cli.compare_commands import compare_command
from headwright.cli.drain_commands import drain_command
from headwright.cli.gear_commands import gear_command
from headwright.cli.layout_commands import draw_command, layout_command
from headwright.cli.plan_commands import plan_command
from headwright.cli.power_commands import power_command
from headwright.cli.repair_commands import repair_command
from headwright.cli.revs_commands import revs_command
from headwright.cli.scan_commands import scan_command

__all__ = ["cli", "main"]

FAULT: Final = 3
STOPPED: Final = 130
"""As shells count a program that was stopped with Ctrl-C."""


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="headwright", prog_name="headwright")
def cli() -> None:
    """Choose, check and prove the cylinder head before metal is cut.

    Exit codes: 0 fine, 1 findings fail, 2 bad input, 3 a fault in the program itself.
    """


for _command in (
    demo_command,
    rank_command,
    check_command,
    power_command,
    layout_command,
    draw_command,
    gear_command,
    revs_command,
    clearance_command,
    timing_command,
    compare_command,
    plan_command,
    list_command,
    show_command,
    history_command,
    import_command,
    export_command,
    sheet_command,
    scan_command,
    drain_command,
    repair_command,
    backup_command,
    restore_command,
    serve_command,
):
    cli.add_command(_command)


def main() -> None:
    """Run the command line and leave with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        code = cli.main(standalone_mode=False)
    except click.ClickException as error:
        error.show()
        code = error.exit_code
    except click.Abort:
        click.echo("stopped", err=True)
        code = STOPPED
    except Exception:  # noqa: BLE001 - Python's own exit code would read as "findings fail"
        traceback.print_exc()
        click.echo("error: a fault in headwright itself; please report the lines above", err=True)
        code = FAULT
    sys.exit(code)
