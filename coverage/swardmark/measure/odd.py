"""Odd ground: what a photo shows that the photos before and after it make unlikely.

Grass does not leave and come back within days. Cells of 20 cm are compared with the photo before and, where there is
one, the photo after; what changed and changed back was never the lawn:

    something lies there   a place lost its leaf (or gained some) and has it again on the next photo
    reads low              leaf is read low all over the grass: dew, glare, dull light
    reads high             bare ground is read leafy all over: clippings, wet sand

The newest photo has no next one. It is noted where the change is larger than growth or loss can be within the days, in
words that ask for another photo. A change that stays is the lawn's own and is never noted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cover import Cover
from swardmark.canopy.index import Window
from swardmark.lawn.toml import Zone
from swardmark.measure.sentences import ODD

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Kind = Literal["something lies there", "reads low", "reads high"]

CELL_M = 0.20
LOCAL_CHANGE = 0.35
"""A cell whose cover is so much off that of its neighbors in time holds something else than grass or sand."""
LEAST_THING_M2 = 0.10
"""A dog, a coiled hose, a bag; smaller things move the cover of a zone by less than its interval."""
WHOLE_CHANGE = 0.08
"""Change of the median cell that is noted where the next photo takes it back."""
BELOW_LINE, LEAST_GAIN = 0.09, 0.02
"""Between two photos a photo reads low where the median cell lies so far below the straight line and gained no more."""
NEWEST_LOSS = 0.12
"""Without a next photo: the median grassy cell loses this much within `QUICK_DAYS`, which turf does not."""
QUICK_DAYS = 5.0
BACK = 0.5
"""A change counts as taken back where the next photo undoes at least this share of it."""
GRASSY, SOME_GRASS, BARE = 0.5, 0.3, 0.3
LEAST_CELLS = 12
LONGEST_GAP_DAYS = 15.0
"""Photos farther apart say nothing of each other."""


@dataclass(frozen=True)
class Odd:
    """One odd thing in one photo.

    Attributes
    ----------
    kind : str
        As in the module's table.
    change : float
        Median change of cover there against the photos around it, as a share -1..1.
    where : ndarray of bool, shape (rows, cols)
        The cells that it is about.
    is_sure : bool
        Whether a later photo took the change back; else the photo is the newest one.
    """

    kind: Kind
    change: float
    where: Mask
    is_sure: bool

    @property
    def area_m2(self) -> float:
        """Ground that it is about, square meters."""
        return float(self.where.sum()) * CELL_M**2


def odd_ground(cover: Floats, days: Sequence[float]) -> list[tuple[Odd, ...]]:
    """Look for odd ground in every photo of a photo point.

    Parameters
    ----------
    cover : ndarray, shape (photos, rows, cols)
        Cover of each cell as seen, 0..1; NaN where too little of it was read. Oldest first.
    days : sequence of float
        Day of each photo.

    Returns
    -------
    list of tuple of Odd
        For each photo what is odd in it.
    """
    found: list[tuple[Odd, ...]] = [() for _ in days]
    before = 0
    for number in range(1, len(days)):
        if not 0 < days[number] - days[before] <= LONGEST_GAP_DAYS:
            before = number
            continue
        later = [n for n in range(number + 1, len(days)) if 0 < days[n] - days[number] <= LONGEST_GAP_DAYS][
            :2
        ]
        change, back = cover[number] - cover[before], [cover[number] - cover[n] for n in later]
        whole = _reads_low(cover, days, before, number, later) or _reads_high(
            cover, days, before, number, later
        )
        things = _things(change, back[0] if back else None)
        found[number] = (*([whole] if whole else []), *things)
        before = before if whole else number
    return found


class OddGround:
    """What odd ground means for the zones of a photo point.

    Parameters
    ----------
    window : tuple of int
        First row and column, rows and columns of the cells, on a lattice of `CELL_M`.
    found : sequence of tuple of Odd
        As `odd_ground` returned it.
    zones : sequence of Zone
        The photo point's zones.
    rest : ndarray of bool, shape (rows, cols), optional
        The cells of the rest of the lawn, which comes after the zones.
    """

    def __init__(
        self,
        window: Window,
        found: Sequence[tuple[Odd, ...]],
        zones: Sequence[Zone],
        rest: Mask | None = None,
    ) -> None:
        self._found = found
        self._zones = [_cells_of(zone, window) for zone in zones] if any(found) else []
        if rest is not None:
            self._zones.append(rest)

    def allowed_for(self, cover: Cover, *, photo: int, zone: int) -> tuple[Cover, tuple[str, ...]]:
        """Return a zone's cover with its interval widened by what is odd there, and the notes that say so."""
        notes = []
        for odd in self._found[photo]:
            inside = self._zones[zone]
            share = float((odd.where & inside).sum() / max(inside.sum(), 1))
            if share <= 0:
                continue
            points = 100 * abs(odd.change) * share
            low, high = (0.0, points) if odd.change < 0 else (points, 0.0)
            cover = replace(
                cover, low_pct=max(0.0, cover.low_pct - low), high_pct=min(100.0, cover.high_pct + high)
            )
            notes.append(ODD[odd.kind, odd.is_sure].format(area=odd.area_m2))
        return cover, tuple(notes)


def _cells_of(zone: Zone, window: Window) -> Mask:
    """Tell which cells have their middle inside a zone's outline."""
    import shapely

    row0, col0, rows, cols = window
    x, y = np.meshgrid((col0 + np.arange(cols) + 0.5) * CELL_M, (row0 + np.arange(rows) + 0.5) * CELL_M)
    return np.asarray(shapely.contains_xy(shapely.Polygon(zone.outline_m), x, y), bool)


def _reads_low(
    cover: Floats, days: Sequence[float], before: int, number: int, later: Sequence[int]
) -> Odd | None:
    """Return whether the grass reads low all over: below the straight line to the next photo where there is one."""
    grass = np.isfinite(cover[number]) & (cover[before] >= (SOME_GRASS if later else GRASSY))
    if grass.sum() < LEAST_CELLS:
        return None
    loss = _median(cover[number] - cover[before], grass)
    if not later:
        is_odd = loss <= -NEWEST_LOSS and days[number] - days[before] <= QUICK_DAYS
        return Odd("reads low", loss, grass, is_sure=False) if is_odd else None
    below = _median(cover[number] - _line(cover, days, before, number, later[0]), grass)
    is_odd = below <= -BELOW_LINE and loss <= LEAST_GAIN
    return Odd("reads low", below, grass, is_sure=True) if is_odd else None


def _reads_high(
    cover: Floats, days: Sequence[float], before: int, number: int, later: Sequence[int]
) -> Odd | None:
    """Return whether bare ground reads leafy all over, above the straight line to each of two later photos.

    Before they are there it may be growth, and the next photo the one that reads low: nothing is said.
    """
    bare = np.isfinite(cover[number]) & (cover[before] <= BARE)
    if len(later) < 2 or bare.sum() < LEAST_CELLS:
        return None
    way = [(days[number] - days[before]) / (days[after] - days[before]) for after in later]
    lines = [
        cover[before] + share * (cover[after] - cover[before])
        for share, after in zip(way, later, strict=True)
    ]
    above = min(_median(cover[number] - line, bare) for line in lines)
    return Odd("reads high", above, bare, is_sure=True) if above >= WHOLE_CHANGE else None


def _things(change: Floats, back: Floats | None) -> list[Odd]:
    """Return the places whose cover left the rest of the lawn's course, one each."""
    from scipy import ndimage

    if np.isfinite(change).sum() < LEAST_CELLS:
        return []
    off = change - np.nanmedian(change)
    things = []
    for way in (-1, 1):
        with np.errstate(invalid="ignore"):
            is_off = way * off >= LOCAL_CHANGE
            if back is not None:
                is_off &= way * (back - np.nanmedian(back)) >= BACK * LOCAL_CHANGE
            elif way > 0:
                continue
        labels, count = ndimage.label(is_off, structure=np.ones((3, 3)))
        for label in range(1, count + 1):
            where = labels == label
            if where.sum() * CELL_M**2 >= LEAST_THING_M2:
                size = float(np.median(off[where]))
                things.append(Odd("something lies there", size, where, is_sure=back is not None))
    return things


def _line(cover: Floats, days: Sequence[float], before: int, number: int, after: int) -> Floats:
    """Return what each cell would have if it went straight from one photo to another."""
    share = (days[number] - days[before]) / (days[after] - days[before])
    return np.asarray(cover[before] + share * (cover[after] - cover[before]))


def _median(values: Floats, where: Mask) -> float:
    seen = values[where & np.isfinite(values)]
    return float(np.median(seen)) if seen.size else 0.0
