"""Odd ground: what a photo shows that the photos before and after it make unlikely.

Grass does not leave and come back within days. Cells of 20 cm are compared with the photo before and, where there is
one, the photo after; what changed and changed back was never the lawn:

    something lies there   a place lost its leaf (or gained some) and has it again on the next photo
    reads low              leaf is read low all over the grass, or on a square meter of it: dew, glare, dull light
    reads high             bare ground is read leafy all over: clippings, wet sand

Pale leaves say more than covers: where a photo's own full turf is far less green than its neighbors' in time, its
grass reads low whatever it did in between.

The newest photo has no next one. It is noted where the change is larger than growth or loss can be within the days, in
words that ask for another photo. A change that stays is the lawn's own and is never noted.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from swardmark.common.packing import packed_text, unpacked_text

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Kind = Literal["something lies there", "reads low", "reads high"]

ODD_VERSION = 1
"""Raised when the same cells would be noted otherwise; what was kept before is looked at again."""
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
PALE = 0.74
"""A photo's full turf over that of the other photos, as an index, below which its grass reads low. Drawn and textured
lawns (tests/benchmarks/odd_ground.py): 0.83 and more as they are, 0.6 to 0.7 where dew hides a third of the leaf."""
PART_CELLS, PART_SEEN = 4, 0.6
"""A part of the lawn that reads low is 4 x 4 cells, two thirds of a square meter, of which so much was read."""
PART_BELOW, PART_BACK, ELSEWHERE = 0.10, 0.05, 0.75
"""Its mean lies so far below the straight line, beyond what a bend of the course may be, and so far below the change of
the cells of this rank, three quarters of the lawn; and the next photo gives so much back."""
BEND = 0.0025
"""Most that a course lies below its chord, for each day before times each day after: a lawn that gains up to 8 points a
day and comes to that within six."""
PART_NEWEST_LOSS = 0.18
QUICK_DAYS = 5.0
BACK = 0.5
"""A change counts as taken back where the next photo undoes at least this share of it."""
GRASSY, SOME_GRASS, BARE = 0.5, 0.3, 0.3
LEAST_CELLS = 12
LEAST_OTHERS = 2
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
    expected : ndarray, shape (rows, cols), or None
        Where something lies: the cover of the ground behind by the photo before and the rest of the lawn's change.
    """

    kind: Kind
    change: float
    where: Mask
    is_sure: bool
    expected: Floats | None = None

    @property
    def area_m2(self) -> float:
        """Ground that it is about, square meters."""
        return float(self.where.sum()) * CELL_M**2


def odd_ground(cover: Floats, days: Sequence[float], turf: Sequence[float] = ()) -> list[tuple[Odd, ...]]:
    """Look for odd ground in every photo of a photo point.

    Parameters
    ----------
    cover : ndarray, shape (photos, rows, cols)
        Cover of each cell as seen, 0..1; NaN where too little of it was read. Oldest first.
    days : sequence of float
        Day of each photo.
    turf : sequence of float, optional
        Index of full turf as each photo shows it, NaN where it does not.

    Returns
    -------
    list of tuple of Odd
        For each photo what is odd in it.
    """
    found: list[tuple[Odd, ...]] = [() for _ in days]
    cover, before = cover.copy(), 0
    for number in range(1, len(days)):
        if not 0 < days[number] - days[before] <= LONGEST_GAP_DAYS:
            before = number
            continue
        later = [n for n in range(number + 1, len(days)) if 0 < days[n] - days[number] <= LONGEST_GAP_DAYS][
            :2
        ]
        back = cover[number] - cover[later[0]] if later else None
        known = cover, days, before, number, later
        whole = _pale(*known, turf) or _reads_low(*known) or _reads_high(*known)
        things = _things(cover[number], cover[before], back)
        parts = [] if whole else _parts_low(*known, things)
        found[number] = (*([whole] if whole else []), *parts, *things)
        for odd in (*parts, *things):  # not to be held against the photos to come
            cover[number, _with_rim(odd.where)] = np.nan
        before = before if whole else number
    return found


def packed_odd(found: Sequence[tuple[Odd, ...]]) -> bytes:
    """Return what `odd_ground` found as bytes for the record."""
    photos = [
        [
            (odd.kind, odd.change, odd.is_sure, _packed(np.packbits(odd.where)), _packed(odd.expected))
            for odd in odds
        ]
        for odds in found
    ]
    return json.dumps(photos).encode()


def unpacked_odd(kept: bytes, shape: tuple[int, int]) -> list[tuple[Odd, ...]]:
    """Return what `packed_odd` packed; `shape` is that of the cells, rows and columns."""
    size, found = shape[0] * shape[1], []
    for photo in json.loads(kept):
        odds = []
        for kind, change, is_sure, where, hidden in photo:
            bits = np.frombuffer(unpacked_text(where, most=size), np.uint8)
            inside = np.unpackbits(bits, count=size).astype(bool).reshape(shape)
            expected = None
            if hidden is not None:
                expected = np.frombuffer(unpacked_text(hidden, most=8 * size)).reshape(shape)
            odds.append(Odd(kind, change, inside, is_sure, expected))
        found.append(tuple(odds))
    return found


def _pale(
    cover: Floats,
    days: Sequence[float],
    before: int,
    number: int,
    later: Sequence[int],
    turf: Sequence[float],
) -> Odd | None:
    """Return whether the photo's full turf is far less green than that of the photos around it."""
    others = [
        value
        for n, value in enumerate(turf)
        if n != number and np.isfinite(value) and abs(days[n] - days[number]) <= LONGEST_GAP_DAYS
    ]
    if len(others) < LEAST_OTHERS or not turf[number] < PALE * float(np.median(others)):
        return None
    grass = np.isfinite(cover[number]) & (cover[number] >= LEAST_GAIN)
    if later:
        lost = _median(_line(cover, days, before, number, later[0]) - cover[number], grass)
    else:
        lost = _median(cover[number], grass) * (float(np.median(others)) / turf[number] - 1)
    return Odd("reads low", -max(lost, WHOLE_CHANGE), grass, is_sure=bool(later))


def _parts_low(
    cover: Floats,
    days: Sequence[float],
    before: int,
    number: int,
    later: Sequence[int],
    things: Sequence[Odd],
) -> list[Odd]:
    """Return the parts of the lawn that read low while the rest of it does not, one each; not where things lie."""
    from scipy import ndimage

    change = cover[number] - cover[before]
    if np.isfinite(change).sum() < LEAST_CELLS:
        return []
    if later:
        after = later[0]
        off = cover[number] - _line(cover, days, before, number, after)
        if before > 0 and days[after] - days[before - 1] <= 2 * LONGEST_GAP_DAYS:
            # below the course from the photo before that one too: else it was that one that read high
            off = np.fmax(off, cover[number] - _line(cover, days, before - 1, number, after))
        off[cover[after] - cover[number] < PART_BACK] = 0.0  # not taken back: the lawn's own
        bend = BEND * (days[number] - days[before]) * (days[after] - days[number])
        least, most_change = PART_BELOW + bend, float(np.nanquantile(change, ELSEWHERE)) - PART_BELOW
    elif days[number] - days[before] <= QUICK_DAYS:
        off, least, most_change = change, PART_NEWEST_LOSS, -PART_NEWEST_LOSS
    else:
        return []
    taken = np.logical_or.reduce([np.zeros(off.shape, bool), *(thing.where for thing in things)])
    known = np.isfinite(off) & np.isfinite(change) & ~_with_rim(taken)
    seen = ndimage.uniform_filter(known.astype(float), PART_CELLS, mode="constant")
    means = [
        ndimage.uniform_filter(np.where(known, part, 0.0), PART_CELLS, mode="constant")
        / np.maximum(seen, 1e-9)
        for part in (off, change)
    ]
    low = (seen >= PART_SEEN) & (means[0] <= -least) & (means[1] <= most_change)
    labels, count = ndimage.label(known & (means[0] <= -least / 2), structure=np.ones((3, 3)))
    parts = [where for where in (labels == label for label in range(1, count + 1)) if (where & low).any()]
    return [
        Odd("reads low", float(np.mean(off[where])), where, is_sure=bool(later))
        for where in parts
        if where.sum() >= LEAST_CELLS
    ]


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


def _things(cover: Floats, before: Floats, back: Floats | None) -> list[Odd]:
    """Return the places whose cover left the rest of the lawn's course, one each, with those beside that partly did.

    `back` is how far the cover lies above that of the next photo; None where there is none.
    """
    from scipy import ndimage

    change = cover - before
    if np.isfinite(change).sum() < LEAST_CELLS or (back is not None and not np.isfinite(back).any()):
        return []
    usual = float(np.nanmedian(change))
    off = change - usual
    things = []
    for way in (-1, 1):
        with np.errstate(invalid="ignore"):
            is_off, partly = way * off >= LOCAL_CHANGE, way * off >= LOCAL_CHANGE / 2
            if back is not None:
                is_off &= way * (back - np.nanmedian(back)) >= BACK * LOCAL_CHANGE
            elif way > 0:
                continue
        labels, count = ndimage.label(is_off, structure=np.ones((3, 3)))
        for label in range(1, count + 1):
            core = labels == label
            if core.sum() * CELL_M**2 >= LEAST_THING_M2:
                where = core | (_with_rim(core) & partly)
                size, behind = float(np.median(off[core])), np.clip(before + usual, 0, 1)
                things.append(Odd("something lies there", size, where, back is not None, behind))
    return things


def _line(cover: Floats, days: Sequence[float], before: int, number: int, after: int) -> Floats:
    """Return what each cell would have if it went straight from one photo to another."""
    share = (days[number] - days[before]) / (days[after] - days[before])
    return np.asarray(cover[before] + share * (cover[after] - cover[before]))


def _median(values: Floats, where: Mask) -> float:
    seen = values[where & np.isfinite(values)]
    return float(np.median(seen)) if seen.size else 0.0


def _with_rim(where: Mask) -> Mask:
    """Return cells and those beside them."""
    from scipy import ndimage

    return np.asarray(ndimage.binary_dilation(where, structure=np.ones((3, 3))))


def _packed(values: NDArray[np.generic] | None) -> str | None:
    return None if values is None else packed_text(values.tobytes())
