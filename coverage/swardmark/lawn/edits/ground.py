"""What the keeper measured and saw on the ground: one height below the string, and the four answers at a place."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from swardmark.lawn.editing import add_line, revision_of, rewrite_lawn
from swardmark.lawn.edits.lines import remove_line
from swardmark.lawn.edits.tables import with_table
from swardmark.lawn.heights import HEIGHT_COLUMNS, HEIGHTS_FILE, HeightReading, parse_heights, read_heights
from swardmark.lawn.lock import files_lock
from swardmark.lawn.toml import LAWN_FILE, MAIN_POINT

NEW_HEIGHTS = ("date", "point", "place", "x_m", "y_m", "drop_mm", "how", "note")
SAME_PLACE_M = 1e-3


def add_height(folder: Path, values: Mapping[str, object]) -> Path:
    """Add one line to heights.csv; raises FileError where a value cannot be."""
    return add_line(folder / HEIGHTS_FILE, values, HEIGHT_COLUMNS, NEW_HEIGHTS, parse_heights)


def keep_height(folder: Path, values: Mapping[str, object]) -> None:
    """Write one height to heights.csv in place of what the same day has of the same place, measured in the same way.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    values : mapping
        A line for `add_height`; `date` as 2026-06-09, `x_m`, `y_m` and `how` must be there.

    Raises
    ------
    FileError
        A value cannot be; then what was there stays.
    """
    with files_lock(folder):
        before = [row for row in read_heights(folder) if _is_of(row, values)]
        add_height(folder, values)
        for row in before:
            remove_line(folder, HEIGHTS_FILE, row)


def _is_of(row: HeightReading, values: Mapping[str, Any]) -> bool:
    """Tell whether a line is of the same day, place and way of measuring."""
    same = (row.date.isoformat(), row.how, row.point)
    apart_m = max(abs(row.x_m - values["x_m"]), abs(row.y_m - values["y_m"]))
    return same == (values["date"], values["how"], values.get("point", MAIN_POINT)) and apart_m < SAME_PLACE_M


def add_probe(folder: Path, answers: Mapping[str, object]) -> str:
    """Add a [[probe]] to lawn.toml, without the answers that are None; returns the new revision.

    Raises
    ------
    FileError
        An answer cannot be, or none of the four is given.
    """

    said = {name: answer for name, answer in answers.items() if answer is not None}
    revision = revision_of(folder / LAWN_FILE)
    return rewrite_lawn(folder, lambda text: with_table(text, "probe", said), revision)
