"""marks.toml: what the keeper marked on single photos, the square's corners by hand and the day it was taken.

One table per photo, named as in cover.csv. Corners are upright pixels, in the order 0, 1, 2, 3 (near left, near
right, far right, far left).

    [photo."main/IMG_0412.jpg"]
    corners_px = [[612.0, 980.5], [1204.0, 977.0], [1041.5, 655.0], [690.0, 656.5]]
    taken_at = 2026-06-09T10:30:00
"""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from swardmark.common.errors import FileError
from swardmark.common.files import back_up, read_text, write_whole
from swardmark.lawn.lock import files_lock
from swardmark.lawn.tables import FIRST_DAY, LAST_DAY
from swardmark.photo.header import MOST_SIDE_PX

MARKS_FILE = "marks.toml"
Corner = tuple[float, float]


class PhotoMarks(BaseModel):
    """The keeper's marks on one photo."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    corners_px: tuple[Corner, Corner, Corner, Corner] | None = Field(
        default=None,
        description="the square's corners, `[[x, y], ...]`, upright pixels: near left, near right, far right, far left",
    )
    taken_at: dt.datetime | None = Field(
        default=None, description="when the photo was taken, over what the file says"
    )

    @field_validator("taken_at")
    @classmethod
    def _local_and_likely(cls, when: dt.datetime | None) -> dt.datetime | None:
        """Keep the local time at the camera alone: an offset says nothing of the lawn's day."""
        if when is not None and not FIRST_DAY <= when.date() <= LAST_DAY:
            raise ValueError(f"the day must lie between {FIRST_DAY} and {LAST_DAY}")
        return when.replace(tzinfo=None) if when else None

    @field_validator("corners_px")
    @classmethod
    def _within_any_photo(cls, corners: Any) -> Any:
        if corners and any(not abs(value) <= MOST_SIDE_PX for corner in corners for value in corner):
            raise ValueError("corners are pixels of the upright photo")
        return corners


class _MarksFile(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    photo: dict[str, PhotoMarks] = Field(default_factory=dict)


def read_marks(folder: Path) -> dict[str, PhotoMarks]:
    """Read marks.toml; empty if there is none.

    Raises
    ------
    FileError
        The file is not TOML or holds something else than corners and dates.
    """
    path = folder / MARKS_FILE
    try:
        return parse_marks(read_text(path), where=str(path))
    except FileNotFoundError:
        return {}


def parse_marks(text: str, *, where: str = MARKS_FILE) -> dict[str, PhotoMarks]:
    """Turn the text of a marks.toml into the marks of each photo; `where` names the file in error lines."""
    try:
        return dict(_MarksFile(**tomllib.loads(text)).photo)
    except (ValueError, RecursionError, TypeError) as error:
        if isinstance(error, ValidationError):
            raise _first_fault(error, where) from None
        remedy = "Correct it, or move it away and mark the photos again"
        what = f"not valid TOML ({str(error) or 'nested too deep'})"
        raise FileError(what, where=where, remedy=remedy) from None


def write_marks(folder: Path, changes: Mapping[str, PhotoMarks]) -> Path:
    """Add or change the marks of photos; what the file says of other photos stays. The old file is kept as a backup."""
    with files_lock(folder):
        marks = read_marks(folder)
        for name, new in changes.items():
            old = marks.get(name, PhotoMarks())
            marks[name] = old.model_copy(update=new.model_dump(exclude_none=True))
        return _write(folder, marks)


def clear_marks(folder: Path, name: str) -> bool:
    """Take back what is marked on a photo, corners and day; returns whether there was anything."""
    with files_lock(folder):
        marks = read_marks(folder)
        if marks.pop(name, None) is None:
            return False
        _write(folder, marks)
        return True


def _write(folder: Path, marks: Mapping[str, PhotoMarks]) -> Path:
    path = folder / MARKS_FILE
    back_up(path)
    text = "# The square's corners and the day of single photos, as the keeper marked them.\n"
    return write_whole(path, text + "".join(_table(name, marks[name]) for name in sorted(marks)))


def _first_fault(error: ValidationError, where: str) -> FileError:
    fault = error.errors(include_url=False)[0]
    spot = ".".join(str(part) for part in fault["loc"])
    remedy = "Four corners as [[x, y], [x, y], [x, y], [x, y]], dates as 2026-06-09"
    return FileError(f"'{spot}': {fault['msg'].removeprefix('Value error, ')}", where=where, remedy=remedy)


def _quoted(name: str) -> str:
    """Write a TOML basic string: as in JSON, but DEL is escaped as well."""
    return json.dumps(name, ensure_ascii=False).replace("\x7f", "\\u007f")


def _table(name: str, marks: PhotoMarks) -> str:
    lines = [f"\n[photo.{_quoted(name)}]"]
    if marks.corners_px is not None:
        lines.append(f"corners_px = {[[round(x, 2), round(y, 2)] for x, y in marks.corners_px]}")
    if marks.taken_at is not None:
        lines.append(f"taken_at = {marks.taken_at.isoformat(timespec='seconds')}")
    return "\n".join(lines) + "\n"
