"""The square's corners as the keeper marks them on a photo, checked and kept in marks.toml."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.ground.trust import check_outline
from swardmark.lawn.marks import PhotoMarks, clear_marks, write_marks
from swardmark.lawn.toml import LAWN_FILE
from swardmark.photo.decode import read_bytes
from swardmark.photo.header import read_header


def mark_square(photo: Path, corners_px: Sequence[tuple[float, float]]) -> Path:
    """Keep the square's four corners, marked by hand on a photo of a lawn folder, in marks.toml; returns its path.

    Parameters
    ----------
    photo : Path
        A photo below some lawn's photos folder.
    corners_px : sequence of (x, y)
        Corners 0, 1, 2, 3 (near left, near right, far right, far left) in upright pixels.

    Raises
    ------
    UsageError
        The photo is not in a lawn folder, a corner lies outside it, or the corners enclose no square seen in order.
    """
    folder, name = place_in_lawn(photo)
    header = read_header(read_bytes(photo), name=photo.name)
    width, height = header.size if header.orientation < 5 else header.size[::-1]
    for x, y in corners_px:
        if not (0 <= x < width and 0 <= y < height):
            remedy = f"Give pixels of the upright photo, which is {width} x {height}"
            raise UsageError(
                f"the corner {x:g},{y:g} lies outside the photo", where=photo.name, remedy=remedy
            )
    try:
        check_outline(np.asarray(corners_px, float), size=(width, height), name=photo.name)
    except PhotoRefused as refusal:
        raise UsageError(refusal.what, where=photo.name, remedy=refusal.remedy) from None
    first, second, third, fourth = corners_px
    return write_marks(folder, {name: PhotoMarks(corners_px=(first, second, third, fourth))})


def clear_square(photo: Path) -> bool:
    """Take back the corners and the day that are kept of a photo in marks.toml; returns whether there were any.

    Raises
    ------
    UsageError
        The path is not in the photos folder of a lawn.
    """
    folder, name = place_in_lawn(photo)
    return clear_marks(folder, name)


def place_in_lawn(photo: Path) -> tuple[Path, str]:
    """Return the lawn folder that a photo lies in, and the photo's name in the tables."""
    path = photo.absolute()
    for folder in path.parents:
        if (folder / LAWN_FILE).is_file() and path.is_relative_to(folder / "photos"):
            return folder, path.relative_to(folder / "photos").as_posix()
    remedy = "Add it first: swardmark add DIR PHOTO"
    raise UsageError("is not in the photos folder of a lawn", where=str(photo), remedy=remedy)
