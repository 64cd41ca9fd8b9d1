"""Rows of cells, read from and written to CSV and XLSX files.

What stands in a cell is data. Text that a spreadsheet program would take for a formula (it begins
with ``=``, ``+``, ``-`` or ``@``) is written so that it is not: with an apostrophe before it in
CSV, which is taken away again on reading, and as marked text in XLSX. Numbers stay numbers,
negative ones too. Formulas in XLSX files count for the result that was saved with them.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import os
import re
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from headwright.errors import FileFormatError
from headwright.storage.exchange import read_bytes, write_bytes

__all__ = ["MAX_SHEET_BYTES", "Cell", "Rows", "read_rows", "write_rows"]

Cell = str | float | int | bool | None
Rows = list[list[Cell]]

MAX_SHEET_BYTES: Final = 16 * 1024 * 1024
MAX_UNPACKED_BYTES: Final = 128 * 1024 * 1024
MAX_ROWS: Final = 50_000
MAX_COLUMNS: Final = 300

_MARKER: Final = "headwright sheet"
_FORMULA_LIKE: Final = re.compile(r"'*[=+\-@\t\r]")
_GUARDED: Final = re.compile(r"'+[=+\-@\t\r]")
_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_ESCAPE_LIKE: Final = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")


def read_rows(path: str | os.PathLike[str], marker: str = _MARKER) -> Rows:
    """Return the rows of a ``.csv`` or ``.xlsx`` file whose first cell is the marker.

    Raises:
        FileFormatError: another ending, unreadable, too large, damaged, or without the marker.
    """
    name = Path(path).name
    ending = Path(path).suffix.lower()
    if ending not in {".csv", ".xlsx"}:
        raise FileFormatError(f"{name!r}: the name must end in .csv or .xlsx")
    content = read_bytes(path, MAX_SHEET_BYTES)
    rows = (
        _read_csv(content, name, marker) if ending == ".csv" else _read_xlsx(content, name, marker)
    )
    if len(rows) > MAX_ROWS or any(len(row) > MAX_COLUMNS for row in rows):
        raise FileFormatError(
            f"{name}: too large; at most {MAX_ROWS} rows and {MAX_COLUMNS} columns are read"
        )
    return rows


def write_rows(
    path: str | os.PathLike[str],
    rows: Sequence[Sequence[Cell]],
    *,
    heads: Sequence[int] = (),
    choices: Mapping[tuple[int, int], tuple[str, ...]] | None = None,
    replace: bool = False,
) -> None:
    """Write rows to a ``.csv`` or ``.xlsx`` file.

    Args:
        path: the file.
        rows: the cells.
        heads: the numbers of rows, from zero, that are headings (shown bold in XLSX).
        choices: words to choose from in a cell, by row and column from zero (XLSX alone).
        replace: take the place of a file of that name.

    Raises:
        FileFormatError: another ending, a file that is there already, or it cannot be written.
    """
    ending = Path(path).suffix.lower()
    if ending == ".csv":
        write_bytes(path, _csv_bytes(rows), replace=replace)
    elif ending == ".xlsx":
        write_bytes(path, _xlsx_bytes(rows, heads, choices or {}), replace=replace)
    else:
        raise FileFormatError(f"{Path(path).name!r}: the name must end in .csv or .xlsx")


# ------------------------------------------------------------------ CSV


def _read_csv(content: bytes, name: str, marker: str) -> Rows:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise FileFormatError(
            f"{name}:{line}: not UTF-8 text; save the sheet as 'CSV UTF-8' and try again"
        ) from None
    match = re.match(rf'(["\']?){re.escape(marker)}\1([,;\t])', text)
    if match is None:
        raise _no_marker(name, marker)
    if "\x00" in text:
        raise FileFormatError(f"{name}: holds NUL characters; it is no CSV file")
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=match[2], strict=True)
        return [[_unguarded(cell) for cell in row] for row in reader]
    except csv.Error as error:
        raise FileFormatError(f"{name}:{reader.line_num}: not CSV: {error}") from None


def _unguarded(text: str) -> Cell:
    if not text.strip():
        return None
    return text[1:] if _GUARDED.match(text) else text


def _csv_bytes(rows: Sequence[Sequence[Cell]]) -> bytes:
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows([[_csv_cell(cell) for cell in row] for row in rows])
    return b"\xef\xbb\xbf" + stream.getvalue().encode()  # the mark tells spreadsheets it is UTF-8


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, str):
        harmless = _NUMBER.fullmatch(cell) or not _FORMULA_LIKE.match(cell)
        return cell if harmless else f"'{cell}"
    return repr(cell)


# ------------------------------------------------------------------ XLSX


def _read_xlsx(content: bytes, name: str, marker: str) -> Rows:
    from python_calamine import CalamineError, CalamineWorkbook

    _check_archive(content, name)
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(content))
        for sheet_name in workbook.sheet_names:
            sheet = workbook.get_sheet_by_name(sheet_name)
            if sheet.total_height > MAX_ROWS or sheet.total_width > MAX_COLUMNS:
                continue
            rows = [
                [_plain(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)
            ]
            if rows and rows[0] and rows[0][0] == marker:
                return rows
    except (CalamineError, ValueError, OSError, OverflowError) as error:
        raise FileFormatError(f"{name}: not a whole XLSX file: {error}") from None
    raise _no_marker(name, marker)


_ERROR_CELL: Final = re.compile(rb'<c\b(?=[^>]*\bt="e")[^>]*\br="([A-Z]{1,3}\d{1,7})"')
_NO_RESULT: Final = re.compile(
    rb'<c\b(?![^>]*\bt="str")[^>]*\br="([A-Z]{1,3}\d{1,7})"[^>]*>\s*<f\b[^>]*?(?:/>|>[^<]*</f>)\s*(?:<v\s*/>|<v></v>)?'
    rb"\s*</c>"
)


def _check_archive(content: bytes, name: str) -> None:
    """Refuse an archive that unpacks too large, and cells that hold no result."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MAX_UNPACKED_BYTES:
                raise FileFormatError(
                    f"{name}: unpacks to more than {MAX_UNPACKED_BYTES // 1024**2} MiB"
                )
            for entry in archive.infolist():
                if entry.filename.startswith("xl/worksheets/") and entry.filename.endswith(".xml"):
                    with archive.open(entry) as stream:
                        _check_cells(stream.read(MAX_UNPACKED_BYTES), name)
    except (zipfile.BadZipFile, EOFError, RuntimeError, zlib.error, ValueError, OSError) as error:
        raise FileFormatError(f"{name}: not a whole XLSX file: {error}") from None


def _check_cells(xml: bytes, name: str) -> None:
    if match := _ERROR_CELL.search(xml):
        raise FileFormatError(f"{name}: cell {match[1].decode()} holds an error; mend or empty it")
    if match := _NO_RESULT.search(xml):
        raise FileFormatError(
            f"{name}: cell {match[1].decode()} holds a formula without its result; "
            "open the file in the spreadsheet program and save it again"
        )


def _plain(cell: object) -> Cell:
    """Return what stands in a cell as text, number or truth."""
    if cell is None or cell == "":
        return None
    if isinstance(cell, dt.datetime):
        whole_day = cell.time() == dt.time()
        return cell.date().isoformat() if whole_day else cell.isoformat()
    if isinstance(cell, dt.date | dt.time):
        return cell.isoformat()
    if isinstance(cell, str):
        return cell if cell.strip() else None
    return cell if isinstance(cell, bool | int | float) else str(cell)


def _xlsx_bytes(
    rows: Sequence[Sequence[Cell]],
    heads: Sequence[int],
    choices: Mapping[tuple[int, int], tuple[str, ...]],
) -> bytes:
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    workbook = Workbook()
    sheet = workbook.active
    sheet.title = "headwright"
    widths: dict[int, int] = {}
    for down, row in enumerate(rows):
        for across, content in enumerate(row):
            if content is None:
                continue
            cell = sheet.cell(row=down + 1, column=across + 1)
            _fill(cell, content)
            widths[across] = min(40, max(widths.get(across, 9), len(str(content)) + 2))
            if down in heads:
                cell.font = Font(bold=True)
    for across, width in widths.items():
        sheet.column_dimensions[get_column_letter(across + 1)].width = width
    if heads:
        sheet.freeze_panes = sheet.cell(row=heads[-1] + 2, column=2)
    _offer(sheet, choices)
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def _offer(sheet: Any, choices: Mapping[tuple[int, int], tuple[str, ...]]) -> None:
    """Have cells offer their words; anything else may still be typed, and is judged on reading."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    offered: dict[tuple[str, ...], DataValidation] = {}
    for (down, across), words in choices.items():
        if words not in offered:
            offered[words] = DataValidation(
                type="list", formula1=f'"{",".join(words)}"', allow_blank=True, errorStyle="warning"
            )
            sheet.add_data_validation(offered[words])
        offered[words].add(f"{get_column_letter(across + 1)}{down + 1}")


def _fill(cell: object, content: Cell) -> None:
    """Put content in a cell: numbers as numbers, all else as text that is never a formula."""
    if isinstance(content, float) and float(f"{content:.15g}") != content:
        content = repr(content)  # the file keeps fewer digits of a number than this one needs
    if isinstance(content, str):
        content = _ESCAPE_LIKE.sub("_x005F_", content)
    cell.value = content  # type: ignore[attr-defined]
    if isinstance(content, str):
        cell.data_type = "s"  # type: ignore[attr-defined]
        cell.quotePrefix = bool(_FORMULA_LIKE.match(content))  # type: ignore[attr-defined]


def _no_marker(name: str, marker: str) -> FileFormatError:
    return FileFormatError(
        f"{name}: no {marker!r}: the first cell must say so, as in the template; "
        "write a new template and copy the figures into it"
    )
