"""The keeper's tables (CSV): text in, checked rows out, every fault told with its file and line.

Accepted as spreadsheets write them: UTF-8 with or without a byte order mark, CRLF or LF, commas, or semicolons with
decimal commas. Empty cells are left out, blank lines skipped, and the apostrophe before what would run as a formula is
no part of the text. The rules of the format are those of RFC 4180.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from swardmark.common import files
from swardmark.common.errors import FileError
from swardmark.common.text import own_text

FIRST_DAY, LAST_DAY = dt.date(1900, 1, 1), dt.date(2199, 12, 31)
"""Days outside are slips of the pen, and no day that is counted from them could be right."""
Day = Annotated[dt.date, Field(ge=FIRST_DAY, le=LAST_DAY)]

MOST_LINES = 200_000
"""Lines of one table: a reading for each day and zone of a large trial, for years."""


class Row(BaseModel):
    """One line of a keeper's table."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


SomeRow = TypeVar("SomeRow", bound=Row)


@dataclass(frozen=True)
class Line:
    """The filled cells of one line by column name, and where it stands in the file."""

    where: str
    cells: dict[str, str]


def read_text(path: Path) -> str | None:
    """Return a table's text, or None if there is no such file."""
    try:
        return files.read_text(path)
    except FileNotFoundError:
        return None


def table_lines(
    text: str, *, columns: Collection[str], needed: Collection[str], where: str
) -> Iterator[Line]:
    """Yield the lines of a table with a header, the column names in lower case.

    Raises
    ------
    FileError
        A column is unknown, missing or named twice, or a line has more cells than the header.
    """
    first = text.split("\n", 1)[0]
    semicolons = ";" in first and "," not in first
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if semicolons else ",")
    try:
        header = _checked_header(next(reader, []), columns, needed, where)
        first_line = reader.line_num + 1
        for cells in reader:
            at = f"{where}:{reader.line_num}"
            if reader.line_num > first_line and _is_open(text, reader.line_num):
                remedy = 'Close it, or write two (""), and save the file'
                raise FileError(
                    "a double quote is never closed", where=f"{where}:{first_line}", remedy=remedy
                )
            first_line = reader.line_num + 1
            if reader.line_num > MOST_LINES:
                remedy = "Move lines of earlier seasons into another file"
                raise FileError(f"more than {MOST_LINES:,} lines", where=at, remedy=remedy)
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
                remedy = "Put text that holds a comma in double quotes"
                raise FileError(f"{len(cells)} cells under {len(header)} columns", where=at, remedy=remedy)
            named = zip(header, cells, strict=False)
            yield Line(at, {name: _cell(cell, semicolons) for name, cell in named if name and cell.strip()})
    except csv.Error as error:
        at = f"{where}:{reader.line_num}"
        raise FileError(f"not a CSV line ({error})", where=at, remedy="Save the file again as CSV") from None


def check_row(kind: type[SomeRow], line: Line, values: dict[str, Any]) -> SomeRow:
    """Turn cells into a checked row; a fault names the file, the line and the column."""
    try:
        return kind(**values)
    except ValidationError as error:
        fault = error.errors(include_url=False)[0]
        name = str(fault["loc"][0]) if fault["loc"] else ""
        message = fault["msg"].removeprefix("Value error, ")
        if fault["type"] == "missing":
            raise FileError(f"no {name}", where=line.where, remedy=f"Fill in the column {name}") from None
        given = "" if fault["type"] == "value_error" and not name else f", not {fault['input']!r:.60}"
        what = f"{name}: {message}{given}" if name else message
        remedy = "Write days as 2026-06-03" if name == "date" else "Change the cell and save the file"
        raise FileError(what, where=line.where, remedy=remedy) from None


def number(line: Line, column: str) -> float | None:
    """Return the number in a cell, or None where it is empty."""
    if column not in line.cells:
        return None
    try:
        value = float(line.cells[column])
    except ValueError:
        value = float("nan")
    if not abs(value) < 1e9:
        what = f"{column}: {line.cells[column]!r:.60} is not a number"
        raise FileError(
            what, where=line.where, remedy="Write only the number; the unit is in the column's name"
        )
    return value


def length_mm(line: Line, column: str) -> float | None:
    """Return a length in millimeters from `<column>_mm` or `<column>_in`, or None where both are empty."""
    metric, inches = number(line, f"{column}_mm"), number(line, f"{column}_in")
    if metric is not None and inches is not None:
        what = f"both {column}_mm and {column}_in are filled in"
        raise FileError(what, where=line.where, remedy="Keep one of them")
    return metric if inches is None else inches * 25.4


def _checked_header(
    cells: list[str], columns: Collection[str], needed: Collection[str], where: str
) -> list[str]:
    names = [cell.strip().lower() for cell in cells]
    listed = ", ".join(columns)
    for name in names:
        if name and name not in columns:
            remedy = f"The columns are: {listed}"
            raise FileError(f"unknown column '{name:.60}'", where=f"{where}:1", remedy=remedy)
        if name and names.count(name) > 1:
            raise FileError(
                f"two columns are named '{name:.60}'", where=f"{where}:1", remedy="Keep one of them"
            )
    missing = [name for name in needed if name not in names]
    if missing:
        remedy = f"The first line names the columns: {listed}"
        raise FileError(f"no column '{missing[0]}'", where=f"{where}:1", remedy=remedy)
    return names


def _is_open(text: str, line: int) -> bool:
    """Tell whether a cell that ends on this line is the rest of the file after a quote that was never closed."""
    return text.count('"') % 2 == 1 and line >= len(list(io.StringIO(text, newline="")))


def _cell(text: str, decimal_comma: bool) -> str:
    text = text.strip()
    if decimal_comma and text.count(",") == 1 and text.replace(",", "").lstrip("+-").isdigit():
        return text.replace(",", ".")
    return own_text(text)
