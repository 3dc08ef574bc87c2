"""A table of many lawns as CSV, Parquet or Excel workbook, by the ending of its name."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from swardmark.common.errors import UsageError, missing_extra
from swardmark.common.files import write_whole
from swardmark.common.text import plain_cell
from swardmark.words.tables import to_csv, to_frame

NEEDED = {".parquet": ("pyarrow", "parquet"), ".xlsx": ("openpyxl", "xlsx")}
"""What a kind of table needs, and the extra that brings it."""


def check_table(path: Path) -> None:
    """Refuse a table that could not be written, before any work is done for it.

    Raises
    ------
    UsageError
        Another ending than .csv, .parquet and .xlsx, or what it needs is not installed.
    """
    kind = path.suffix.lower()
    if kind not in (".csv", *NEEDED):
        remedy = "Name it FILE.csv, FILE.parquet or FILE.xlsx"
        raise UsageError(f"{path.name!r} is no table that can be written", where="--table", remedy=remedy)
    if kind in NEEDED:
        library, extra = NEEDED[kind]
        if find_spec(library) is None:
            csv = ", or name a .csv file"
            raise missing_extra(f"{kind} needs {library}", extra, where="--table", instead=csv)


def write_table(path: Path, columns: Mapping[str, str], rows: Sequence[Mapping[str, Any]]) -> Path:
    """Write rows in one step; text that a spreadsheet would run as a formula gets an apostrophe first."""
    check_table(path)
    kind = path.suffix.lower()
    if kind == ".csv":
        return write_whole(path, to_csv(columns, rows))
    frame = to_frame(columns, rows)
    out = io.BytesIO()
    if kind == ".parquet":
        frame.to_parquet(out, index=False)
    else:
        plain = frame.map(lambda cell: plain_cell(cell) if isinstance(cell, str) else cell)
        plain.to_excel(out, index=False, freeze_panes=(1, 0), engine="openpyxl")
    return write_whole(path, out.getvalue())
