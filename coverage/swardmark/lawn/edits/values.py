"""Settings of lawn.toml from a form: single values, and the days on which sand was spread.

Only what is changed is rewritten; comments and order stay. A value that the keeper wrote under its US name, such as
``target_height_in``, is kept under the metric name from then on, so that no setting is said twice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from swardmark.common.units import us_names
from swardmark.lawn.editing import edit_lawn, rewrite_lawn
from swardmark.lawn.edits.tables import with_table, without_table

Path2 = tuple[str, ...]


def save_values(folder: Path, values: Mapping[str, object], *, revision: str) -> str:
    """Write settings into lawn.toml; returns the new revision.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    values : mapping
        By name, with the table before a dot where there is one: ``name``, ``mowing.target_height_mm``. None removes a
        setting, and its default holds again.
    revision : str
        As `revision_of` gave it when the file was last read.

    Raises
    ------
    ChangedMeanwhile
        The file has another revision by now.
    FileError
        A value cannot be; nothing was written.
    """

    def change(document: Any) -> None:
        for name, value in values.items():
            _set(document, name, value)

    return edit_lawn(folder, change, revision)


def save_leveling(
    folder: Path, number: int, *, date: dt.date | None, depth_mm: float | None, revision: str
) -> str:
    """Write a leveling into lawn.toml: the one with this number, 0 the first of the file, or a new one after them.

    Without a date, the leveling is removed. Raises as `save_values`.
    """

    def rewrite(text: str) -> str:
        import tomlkit

        if date is None:
            return without_table(text, "leveling", number)
        depth = {} if depth_mm is None else {"depth_mm": _plain(depth_mm)}
        document = tomlkit.parse(text)
        levelings: Any = document.get("leveling", ())
        if number >= len(levelings):
            return with_table(text, "leveling", {"date": date, **depth})
        table = levelings[number]
        table["date"] = date
        for name in (*us_names("depth_mm"), *({"depth_mm"} - depth.keys())):
            table.pop(name, None)
        for name, value in depth.items():
            _put(table, name, value)
        return tomlkit.dumps(document)

    return rewrite_lawn(folder, rewrite, revision)


def _set(document: Any, name: str, value: object) -> None:
    import tomlkit

    *tables, key = name.split(".")
    table = document
    for part in tables:
        if part not in table:
            if value is None:
                return
            table[part] = tomlkit.table()
        table = table[part]
    for other in us_names(key):
        table.pop(other, None)
    if value is None:
        table.pop(key, None)
    elif table is document and key not in table:
        _before_tables(document, key, value)
    else:
        _put(table, key, _plain(value))


def _put(table: Any, key: str, value: object) -> None:
    """Set a value of a table; a new one goes below its last one, for comments below may be of what follows."""
    import tomlkit

    is_new = isinstance(table, tomlkit.items.Table) and key not in table
    tables = (tomlkit.items.AoT, tomlkit.items.Table)
    own = [k for k, v in table.value.body if k is not None and not isinstance(v, tables)] if is_new else []
    if own:
        table.value._insert_after(own[-1], key, tomlkit.item(value))
    else:
        table[key] = value


def _before_tables(document: Any, key: str, value: object) -> None:
    """Add a setting that stands in no table: below the name, for after the first table it would belong to that."""
    import tomlkit

    item, tables = tomlkit.item(_plain(value)), (tomlkit.items.AoT, tomlkit.items.Table)
    first = next((k for k, v in document.body if k is not None and not isinstance(v, tables)), None)
    if first is None:
        document.add(key, item)
    else:
        document._insert_after(first, key, item)


def _plain(value: object) -> object:
    return round(value, 3) if isinstance(value, float) else value
