"""What the keeper measured and saw on the ground: one height below the string, and the four answers at a place."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from swardmark.lawn.editing import add_line, edit_lawn, revision_of
from swardmark.lawn.heights import HEIGHT_COLUMNS, HEIGHTS_FILE, parse_heights
from swardmark.lawn.toml import LAWN_FILE

NEW_HEIGHTS = ("date", "point", "place", "x_m", "y_m", "drop_mm", "how", "note")


def add_height(folder: Path, values: Mapping[str, object]) -> Path:
    """Add one line to heights.csv; raises FileError where a value cannot be."""
    return add_line(folder / HEIGHTS_FILE, values, HEIGHT_COLUMNS, NEW_HEIGHTS, parse_heights)


def add_probe(folder: Path, answers: Mapping[str, object]) -> str:
    """Add a [[probe]] to lawn.toml, without the answers that are None; returns the new revision.

    Raises
    ------
    FileError
        An answer cannot be, or none of the four is given.
    """

    def change(document: Any) -> None:
        import tomlkit

        probes = document.get("probe")
        if probes is None:
            probes = tomlkit.aot()
            document.append("probe", probes)
        table = tomlkit.table()
        for name, answer in answers.items():
            if answer is not None:
                table[name] = answer
        probes.append(table)

    return edit_lawn(folder, change, revision_of(folder / LAWN_FILE))
