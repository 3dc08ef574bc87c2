"""The relief photos of a lawn folder: sets in photos/relief/ and photos/<point>/relief/, measured one by one.

Photos that lie there directly are grouped by their time; a folder there is a set of its own. They are never measured
for cover. Bare ground gives `Heights`, one of the sources that the level room puts together.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.lawn.heights import Heights
from swardmark.lawn.photos import MAIN_POINT, RELIEF_FOLDER, photo_files
from swardmark.lawn.toml import Lawn
from swardmark.photo.decode import WORKING_SIDE_PX, Photo, decode
from swardmark.photo.header import is_to_come
from swardmark.relief.dips import STRAIGHTEDGE_M
from swardmark.relief.gather import gather
from swardmark.relief.measure import Relief, measure_relief
from swardmark.relief.refusals import refused
from swardmark.relief.sentences import NO_DAY

BLOCK = 4
"""Heights are handed on as means of four by four cells, 0.1 m: neighbors are not independent."""


@dataclass(frozen=True, eq=False)
class ReliefReading:
    """What one set of photos gave.

    Attributes
    ----------
    point : str
        The photo point.
    date : date
        Day of the photos.
    relief : Relief
        Its heights.
    """

    point: str
    date: dt.date
    relief: Relief

    def heights(self) -> Heights | None:
        """Return the heights above their own quadratic, as means over 0.1 m; None where leaf hides the ground."""
        if not self.relief.is_bare:
            return None
        lattice = self.relief.lattice
        parts = (*np.moveaxis(lattice.places_m, -1, 0), self.relief.hollows.off_mm, self.relief.se_mm)
        blocks = [_blocks(part) for part in parts]
        known = np.isfinite(blocks[2]) & np.isfinite(blocks[3])
        x, y, height, error = (part[known] for part in blocks)
        return Heights(self.date, self.point, x, y, height, error, "photos")


def relief_of(
    lawn: Lawn, *, point: str | None = None, straightedge_m: float = STRAIGHTEDGE_M
) -> tuple[tuple[ReliefReading, ...], tuple[PhotoRefused, ...]]:
    """Measure all sets of relief photos in a lawn folder, oldest first.

    Parameters
    ----------
    lawn : Lawn
        The lawn.
    point : str, optional
        Only those of this photo point.
    straightedge_m : float
        Length of the straightedge in meters.

    Returns
    -------
    tuple
        What was measured, and why other sets were not.
    """
    done: list[ReliefReading] = []
    refusals: list[PhotoRefused] = []
    for name, paths in _sets(lawn.folder / "photos"):
        if point is not None and name != point:
            continue
        for photos in _photos(paths, refusals):
            try:
                relief = measure_relief(photos, side_m=lawn.square_side_m, straightedge_m=straightedge_m)
                if relief.taken_at is None or is_to_come(relief.taken_at):
                    raise refused(NO_DAY, where=photos[0].name)
                done.append(ReliefReading(name, relief.taken_at.date(), relief))
            except PhotoRefused as refusal:
                refusals.append(refusal)
    done.sort(key=lambda one: (one.relief.taken_at or dt.datetime.min, one.point))
    return tuple(done), tuple(refusals)


def _sets(root: Path) -> Iterator[tuple[str, Path]]:
    """Return photo points and the folders in which a set, or several, lie."""
    if not root.is_dir():
        return
    points = [(MAIN_POINT, root)]
    points += [
        (path.name, path)
        for path in sorted(root.iterdir())
        if path.is_dir() and not path.name.startswith(".")
    ]
    for name, folder in points:
        relief = folder / RELIEF_FOLDER
        if name == RELIEF_FOLDER or not relief.is_dir() or relief.is_symlink():
            continue
        yield name, relief
        for path in sorted(relief.iterdir()):
            if path.is_dir() and not path.is_symlink() and not path.name.startswith("."):
                yield name, path


def _photos(folder: Path, refusals: list[PhotoRefused]) -> Iterator[list[Photo]]:
    """Return the sets of photos that lie directly in a folder."""
    photos = []
    for file in photo_files(folder):
        if file.point != MAIN_POINT:
            continue
        try:
            photos.append(decode(file.read(), name=file.name, least_side=WORKING_SIDE_PX))
        except PhotoRefused as refusal:
            refusals.append(refusal)
    if photos:
        yield from gather(photos)


def _blocks(cells: np.ndarray) -> np.ndarray:
    """Return the means of known cells in blocks of four by four; NaN where fewer than half are known."""
    rows, cols = (n // BLOCK for n in cells.shape)
    parts = cells[: rows * BLOCK, : cols * BLOCK].reshape(rows, BLOCK, cols, BLOCK)
    known = np.isfinite(parts)
    count = known.sum(axis=(1, 3))
    mean = np.where(known, parts, 0.0).sum(axis=(1, 3)) / np.maximum(count, 1)
    return np.where(2 * count >= BLOCK**2, mean, np.nan)
