"""Removing one line from a table of the keeper's; all other lines stay as the keeper wrote them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from swardmark.common.errors import UsageError
from swardmark.common.files import back_up, read_raw, write_whole
from swardmark.lawn.heights import HEIGHTS_FILE, parse_heights
from swardmark.lawn.lock import files_lock
from swardmark.lawn.readings import DIARY_FILE, READINGS_FILE, parse_diary, parse_readings

PARSERS: dict[str, Callable[..., tuple[Any, ...]]] = {
    READINGS_FILE: parse_readings,
    DIARY_FILE: parse_diary,
    HEIGHTS_FILE: parse_heights,
}


def remove_line(folder: Path, name: str, row: Any) -> None:
    """Remove the last line that says what a row says.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    name : str
        ``readings.csv``, ``diary.csv`` or ``heights.csv``.
    row : Reading, DiaryEntry or HeightReading
        The row, as it was read.

    Raises
    ------
    UsageError
        No single line says it: it is gone already, or it spans several lines.
    """
    path, parse = folder / name, PARSERS[name]
    with files_lock(folder):
        text = read_raw(path).decode("utf-8", "surrogateescape") if path.is_file() else ""
        lines = text.splitlines(keepends=True)
        rows = parse(text.removeprefix("\ufeff"), where=name)
        for number in range(len(lines) - 1, 0, -1):
            shorter = "".join(lines[:number] + lines[number + 1 :])
            if (
                _says(parse, lines[0] + lines[number], row)
                and len(parse(shorter.removeprefix("\ufeff"), where=name)) == len(rows) - 1
            ):
                back_up(path)
                write_whole(path, shorter.encode("utf-8", "surrogateescape"))
                return
    raise UsageError("this line is not there any more", where=name, remedy="Reload the page")


def _says(parse: Callable[..., tuple[Any, ...]], text: str, row: Any) -> bool:
    try:
        return parse(text.removeprefix("\ufeff"), where="") == (row,)
    except UsageError:
        return False
