"""Changing the keeper's files from a form: zones, outline and confirmations in lawn.toml, lines of readings and diary.

Whatever is not changed stays as the keeper wrote it, comments and order included (tomlkit keeps the document; the
tables only gain a line). The file as it was is kept under a dated name beside it. Who saves names the revision that
they last saw, and a file that has changed since is never written over.
"""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from swardmark.common.errors import UsageError
from swardmark.common.files import back_up, read_raw, write_whole
from swardmark.common.text import plain_cell
from swardmark.common.units import FOOT_M
from swardmark.lawn.edits.tables import with_table, without_table
from swardmark.lawn.lock import files_lock
from swardmark.lawn.readings import (
    DIARY_COLUMNS,
    DIARY_FILE,
    READINGS_COLUMNS,
    READINGS_FILE,
    parse_diary,
    parse_readings,
)
from swardmark.lawn.tables import read_text
from swardmark.lawn.toml import LAWN_FILE, MAIN_POINT, Confirmed, Lawn, Zone, parse_lawn, read_lawn

TEXT_COLUMNS = frozenset({"point", "zone", "note", "spot", "amount", "what"})
LINE_END = re.compile("\r\n|\n|\r")
LONE_LINE_FEED = re.compile("(?<!\r)\n")
_NEW_READINGS = ("date", "point", "zone", "height_mm", "dip_mm", "firm", "note", "spot", "x_m", "y_m")

Corners = Sequence[tuple[float, float]]


class ChangedMeanwhile(UsageError):
    """The file is not as the one who saves last saw it; nothing was written."""


@dataclass(frozen=True)
class ZoneDraft:
    """A zone as it was drawn; `was` is the name that it has in the file, empty for a new one."""

    name: str
    outline_m: tuple[tuple[float, float], ...]
    was: str = ""


def revision_of(path: Path) -> str:
    """Return a short hash of a file's bytes, "" where there is no file."""
    try:
        return _revision(read_raw(path))
    except FileNotFoundError:
        return ""


def save_ground(
    folder: Path,
    zones: Iterable[ZoneDraft],
    *,
    revision: str,
    point: str = MAIN_POINT,
    outline_m: Corners | None = None,
) -> str:
    """Write a photo point's zones, and the lawn's outline, into lawn.toml.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    zones : iterable of ZoneDraft
        All zones of the photo point; those of the file that are not among them are deleted.
    revision : str
        As `revision_of` gave it when the file was last read.
    point : str
        The photo point; zones of other points are left alone.
    outline_m : sequence of (x, y), optional
        The lawn's outline in meters; none removes it.

    Returns
    -------
    str
        The new revision.

    Raises
    ------
    ChangedMeanwhile
        The file has another revision by now.
    FileError
        A zone cannot be: too few corners, crossing itself, a name twice.
    """
    drafts = tuple(zones)
    if outline_m:
        _check_outline(outline_m)

    def rewrite(text: str) -> str:
        laid_out = {z.name: z for z in _laid_out(text) if z.point == point}
        _check_laid_out(drafts, laid_out)
        return _with_ground(text, [draft for draft in drafts if draft.was not in laid_out], point, outline_m)

    return rewrite_lawn(folder, rewrite, revision)


def confirm(folder: Path, check: str, day: dt.date | None, *, revision: str) -> str:
    """Write one of the keeper's checks before the first mow, or take it back with None; returns the new revision."""
    if check not in Confirmed.model_fields:
        raise UsageError(f"{check!r} is not a check before the first mow", where=LAWN_FILE)

    def change(document: Any) -> None:
        table = document.setdefault("confirmed", {})
        if day is None:
            table.pop(check, None)
        else:
            table[check] = day

    return edit_lawn(folder, change, revision)


def add_reading(folder: Path, values: Mapping[str, object]) -> Path:
    """Add one line to readings.csv, its columns as in that file; raises FileError where a value cannot be."""
    return add_line(folder / READINGS_FILE, values, READINGS_COLUMNS, _NEW_READINGS, parse_readings)


def add_diary_entry(folder: Path, values: Mapping[str, object]) -> Path:
    """Add one line to diary.csv; raises FileError where a value cannot be."""
    return add_line(folder / DIARY_FILE, values, DIARY_COLUMNS, DIARY_COLUMNS, parse_diary)


def edit_lawn(folder: Path, change: Callable[[Any], None], revision: str) -> str:
    """Apply a change to lawn.toml's document; the result is checked before anything is written."""

    def rewrite(text: str) -> str:
        import tomlkit

        document = tomlkit.parse(text)
        change(document)
        return tomlkit.dumps(document)

    return rewrite_lawn(folder, rewrite, revision)


def rewrite_lawn(folder: Path, rewrite: Callable[[str], str], revision: str) -> str:
    """Write what is made of lawn.toml's text; it is checked before anything is written."""
    path = folder / LAWN_FILE
    with files_lock(folder):
        raw = read_raw(path)
        if _revision(raw) != revision:
            raise ChangedMeanwhile(
                "was changed elsewhere since you opened it, and nothing was written over it",
                where=LAWN_FILE,
                remedy="Look at what it says now, then save again",
            )
        text = raw.decode("utf-8-sig")
        parse_lawn(text, folder=folder, where=str(path))
        new = rewrite(text)
        if "\r\n" in text and not LONE_LINE_FEED.search(text):
            new = LONE_LINE_FEED.sub("\r\n", new)
        parse_lawn(new, folder=folder, where=LAWN_FILE)
        if new != text:
            back_up(path)
            write_whole(path, new)
        return _revision(new.encode()) if new != text else revision


def _with_ground(text: str, drafts: Sequence[ZoneDraft], point: str, outline_m: Corners | None) -> str:
    """Return the text of a lawn.toml with the zones of one photo point, and the outline, as they were drawn."""
    import tomlkit

    here = list(tomllib.loads(text).get("zone", ()))
    own = {str(table["name"]).strip(): n for n, table in enumerate(here) if _point_of(table) == point}
    kept = {draft.was for draft in drafts}
    for name, number in reversed(own.items()):
        if name not in kept:
            text = without_table(text, "zone", number)
    document = tomlkit.parse(text)
    tables = {
        str(table["name"]).strip(): table for table in document.get("zone", ()) if _point_of(table) == point
    }
    for draft in (draft for draft in drafts if draft.was in own):
        table = tables[draft.was]
        if table["name"] != draft.name:
            table["name"] = draft.name
        _put_outline(table, "outline", draft.outline_m)
    _set_outline(document, outline_m)
    if document.unwrap() != tomllib.loads(text):
        text = tomlkit.dumps(document)
    for draft in (draft for draft in drafts if draft.was not in own):
        more = {"point": point} if point != MAIN_POINT else {}
        values = {**more, "name": draft.name, "outline_m": _rounded(draft.outline_m)}
        text = with_table(text, "zone", values)
    return text


def _point_of(table: Mapping[str, Any]) -> str:
    return str(table.get("point", MAIN_POINT)).strip()


def _laid_out(text: str) -> list[Zone]:
    """Return the zones that lawn.toml's [plots] lays out."""
    return [plot for grid in parse_lawn(text).plots for plot in grid.zones()]


def _check_laid_out(drafts: Sequence[ZoneDraft], laid_out: Mapping[str, Zone]) -> None:
    """Refuse to move, rename or delete one plot of a grid by hand: [plots] says where they all are."""
    drawn = {draft.was: draft for draft in drafts}
    for name, plot in laid_out.items():
        draft = drawn.get(name)
        if draft is None or draft.name != name or _rounded(draft.outline_m) != _rounded(plot.outline_m):
            raise UsageError(
                f"'{name}' is laid out by [plots]",
                where=LAWN_FILE,
                remedy="Change rows, sizes or origin there",
            )


def _check_outline(outline_m: Corners) -> None:
    try:
        Zone(name="the lawn's outline", outline_m=tuple(outline_m))
    except ValidationError as error:
        what = error.errors(include_url=False)[0]["msg"].removeprefix("Value error, ")
        raise UsageError(f"the lawn's outline: {what}", where=LAWN_FILE, remedy="Draw it again") from None


def _set_outline(document: Any, outline_m: Corners | None) -> None:
    if outline_m:
        _put_outline(document, "lawn_outline", outline_m)
    else:
        document.pop("lawn_outline_m", None)
        document.pop("lawn_outline_ft", None)


def _put_outline(table: Any, name: str, outline_m: Corners) -> None:
    """Write an outline under `name`_m, or in feet where the keeper wrote it in feet; unchanged corners stay."""
    unit, length = ("ft", FOOT_M) if f"{name}_ft" in table else ("m", 1.0)
    kept = [[float(a) * length for a in corner] for corner in table.get(f"{name}_{unit}", ())]
    if _rounded(kept) != _rounded(outline_m):
        corners = [[x / length, y / length] for x, y in outline_m]
        table[f"{name}_{unit}"] = _rounded(corners)


def _rounded(outline: Iterable[Sequence[float]]) -> list[list[float]]:
    return [[round(float(x), 3), round(float(y), 3)] for x, y in outline]


def add_line(
    path: Path, values: Mapping[str, object], known: Iterable[str], new_header: Iterable[str], parse: Any
) -> Path:
    """Add a line below what a keeper's table holds; a column that its header lacks is added to the header alone."""
    cells = {name: _cell(name, value) for name, value in values.items() if value not in (None, "")}
    if unknown := set(cells) - set(known):
        raise UsageError(f"no column '{min(unknown)}'", where=path.name)
    with files_lock(path.parent):
        text = read_raw(path).decode("utf-8", "surrogateescape") if path.exists() else ""
        parse(read_text(path) or "", where=str(path))
        end = next((one for one in ("\r\n", "\n", "\r") if one in text), "\n")
        if not text.strip("\ufeff \r\n"):
            text = ",".join(new_header) + end
        first, rest = (*LINE_END.split(text, maxsplit=1), "")[:2]
        mark = ";" if ";" in first and "," not in first else ","
        header = [name.strip('\ufeff" ').lower() for name in first.split(mark)]
        missing = [name for name in cells if name not in header]
        header += missing
        if mark == ";":
            cells = {
                name: cell if name in TEXT_COLUMNS else cell.replace(".", ",") for name, cell in cells.items()
            }
        body = f"{rest}{end}" if rest and not rest.endswith(("\n", "\r")) else rest
        line = _line([cells.get(name, "") for name in header], mark, end)
        whole = mark.join([first, *missing]) + end + body + line
        parse(whole.removeprefix("\ufeff"), where=path.name)
        back_up(path)
        return write_whole(path, whole)


def _revision(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()[:16]


def _line(cells: Sequence[str], mark: str, end: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=mark, lineterminator=end).writerow(cells)
    return out.getvalue()


def _cell(name: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = " ".join(str(value).split())
    return plain_cell(text) if name in TEXT_COLUMNS else text


def lawn_and_revision(folder: Path) -> tuple[Lawn, str]:
    """Read lawn.toml and its revision as one."""
    path = folder / LAWN_FILE
    while True:
        revision = revision_of(path)
        lawn = read_lawn(folder)
        if revision_of(path) == revision:
            return lawn, revision
