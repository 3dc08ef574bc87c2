"""Odd ground: what a photo shows that the photos before and after it make unlikely.

Grass does not leave and come back within days. Cells of 20 cm are compared with the photo before and, where there is
one, the photo after; what changed and changed back was never the lawn:

    something lies there   a place lost its leaf (or gained some) and has it again on the next photo
    reads low              leaf is read low all over the grass, or on a square meter of it: dew, glare, dull light
    reads high             bare ground is read leafy all over: clippings, wet sand

Pale leaves say more than covers: where a photo's own full turf is far less green than its neighbors' in time, its
grass reads low whatever it did in between.

The newest photo has no next one. It is noted where the change is larger than growth or loss can be within the days, in
words that ask for another photo. A change that stays is the lawn's own and is never noted. Where a few cells side by
side gained more than the rest, but no more than grass may (`may read high`), nothing is said, and the interval allows
for a hose in thin grass or clippings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from swardmark.canopy.cells import Floats, Mask, area_m2, median_of, pieces, with_rim

Kind = Literal["something lies there", "reads low", "reads high", "may read high"]

ODD_VERSION = 2
"""Raised when the same cells would be noted otherwise; what was kept before is looked at again."""
LOST, GAINED = 0.20, 0.28
"""A cell whose cover lies so far below or above the line from the photo before to the next, beyond the lawn's median,
holds something else than grass or sand. Plain photos (tests/benchmarks/odd_ground.py): three cells side by side lie
0.11 below and 0.16 above at the most."""
BOTH = 0.7
"""It left the lawn's course on the way there and took it again afterwards, each by this share of that at least."""
NEWEST_LOST, NEWEST_GONE, NEWEST_GAINED = 0.25, 0.15, 0.30
"""Without a next photo: so far below the rest of the lawn's gain and so much leaf gone, or so far above it."""
PERHAPS_GAINED, PERHAPS_PARTLY, PERHAPS_CELLS = 0.12, 0.05, 2
"""Without a next photo: something may lie so far above the rest of the lawn's gain, or grass have grown; cells
beside that are off by the second belong to it. Plain photos from the fourth on: no such place on most."""
PARTLY = 0.4
"""Cells beside it that are off by this share of that are part of it."""
LEAST_THING_M2, MOST_THINGS_M2 = 0.08, 1.5
"""A dog, a coiled hose, a bag; smaller things move the cover of a zone by less than its interval. Where all of them
together take more ground, it is a part of the lawn that reads low."""
ABOVE_LINE, WHOLE_CHANGE = 0.06, 0.08
"""How far the median bare cell lies above the straight line where the photo reads high; and how much a pale photo loses
at the least."""
BELOW_LINE, LEAST_GAIN = 0.09, 0.02
"""Between two photos a photo reads low where the median cell lies so far below the straight line and gained no more."""
NEWEST_LOSS = 0.12
"""Without a next photo: the median grassy cell loses this much within `QUICK_DAYS`, which turf does not."""
PALE, PALER = 0.74, 0.88
"""A photo's full turf over that of the other photos, and over that of the photo before, as an index, below which its
grass reads low. Thin turf shows full turf less green than closed turf does, so that the early photos of a lawn may lie
below the first, but not below the second. As they are, photos lie at 0.83 and more; 0.6 to 0.7 where dew hides a third
of the leaf."""
PART_CELLS, PART_SEEN = 4, 0.6
"""A part of the lawn that reads low is 4 x 4 cells, two thirds of a square meter, of which so much was read."""
PART_BELOW, PART_BENT, ELSEWHERE, PART_LOST, PART_BACK = 0.13, 0.05, 0.75, 0.06, 0.05
"""Its mean lies so far below what the cells of this rank, three quarters of the lawn, do against the line between their
neighbors in time (by more where no photo before that tells how the course bends), so far below that line itself, and
the next photo gives so much back. Plain photos: 0.10, or 0.14 on the second one."""
PART_NEWEST_LOSS, PART_NEWEST_BELOW = 0.10, 0.18
QUICK_DAYS = 5.0
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
    expected : ndarray, shape (rows, cols)
        Each cell's cover by the photos before and after, or by the photo before and the change of the rest of the lawn.
    """

    kind: Kind
    change: float
    where: Mask
    is_sure: bool
    expected: Floats

    @property
    def area_m2(self) -> float:
        """Ground that it is about, square meters."""
        return area_m2(self.where)


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
        after = [n for n in range(number + 1, len(days)) if 0 < days[n] - days[number] <= LONGEST_GAP_DAYS]
        known = _Series(cover, days, before, number, tuple(after[:2]))
        whole = _pale(known, turf) or _reads_low(known) or _reads_high(known)
        things = _things(known)
        parts = [] if whole else _parts_low(known, things)
        apart = [thing for thing in things if not any(_touch(thing, part) for part in parts)]
        if len(apart) < len(things):
            things, parts = apart, _parts_low(known, apart)
        found[number] = (*([whole] if whole else []), *parts, *things)
        if not known.later and not found[number]:
            found[number] = _perhaps_high(known)
            continue
        for odd in (*parts, *things):  # not to be held against the photos to come
            cover[number, with_rim(odd.where)] = np.nan
        before = before if whole else number
    return found


@dataclass(frozen=True, eq=False)
class _Series:
    """The photos around one: that before it, it, and up to two after it."""

    cover: Floats
    days: Sequence[float]
    before: int
    number: int
    later: tuple[int, ...]

    @property
    def own(self) -> Floats:
        """Cover in the photo itself."""
        return np.asarray(self.cover[self.number])

    @property
    def change(self) -> Floats:
        """Change against the photo before."""
        return np.asarray(self.own - self.cover[self.before])

    @property
    def waited(self) -> float:
        """Days since the photo before."""
        return self.days[self.number] - self.days[self.before]

    def line(self, after: int, before: int | None = None) -> Floats:
        """Return what each cell would have if it went straight from a photo before to one after."""
        first = self.before if before is None else before
        share = (self.days[self.number] - self.days[first]) / (self.days[after] - self.days[first])
        return np.asarray(self.cover[first] + share * (self.cover[after] - self.cover[first]))

    def expected(self) -> Floats:
        """Return what each cell should have: by the line, or with the rest of the lawn's gain where none is drawn."""
        if self.later:
            return self.line(self.later[0])
        gain = max(0.0, median_of(self.change, np.isfinite(self.change)))
        return np.asarray(np.clip(self.cover[self.before] + max(gain, self._gain_before()), 0, 1), np.float64)

    def _gain_before(self) -> float:
        """Return the lawn's gain by the pace of the photos before, which hardly quickens."""
        if self.before < 1 or self.days[self.before] <= self.days[self.before - 1]:
            return 0.0
        gain = self.cover[self.before] - self.cover[self.before - 1]
        pace = median_of(gain, np.isfinite(gain)) / (self.days[self.before] - self.days[self.before - 1])
        return max(0.0, pace * min(self.waited, QUICK_DAYS))


def _pale(known: _Series, turf: Sequence[float]) -> Odd | None:
    """Return whether the photo's full turf is far less green than that of the photos around it."""
    days, number = known.days, known.number
    others = [
        value
        for n, value in enumerate(turf)
        if n != number and np.isfinite(value) and abs(days[n] - days[number]) <= LONGEST_GAP_DAYS
    ]
    if len(others) < LEAST_OTHERS or not turf[number] < PALE * float(np.median(others)):
        return None
    if turf[number] > PALER * turf[known.before]:
        return None
    expected, grass = known.expected(), np.isfinite(known.own) & (known.own >= LEAST_GAIN)
    lost = median_of(expected - known.own, grass)
    if known.later and lost < -WHOLE_CHANGE / 2:
        return None
    if not known.later:
        lost = max(lost, median_of(known.own, grass) * (float(np.median(others)) / turf[number] - 1))
    return Odd("reads low", -max(lost, WHOLE_CHANGE), grass, bool(known.later), expected)


def _parts_low(known: _Series, things: Sequence[Odd]) -> list[Odd]:
    """Return the parts of the lawn that read low while the rest of it does not, one each; not where things lie."""
    from scipy import ndimage

    change, days = known.change, known.days
    if np.isfinite(known.expected() - known.own).sum() < LEAST_CELLS:
        return []
    if known.later:
        after, first = known.later[0], known.before - 1
        off, least, most = known.own - known.line(after), PART_BELOW + PART_BENT, -PART_LOST
        if first >= 0 and days[after] - days[first] <= 2 * LONGEST_GAP_DAYS:
            # below the course from the photo before that one too: else it was that one that read high
            off, least = np.fmax(off, known.own - known.line(after, first)), PART_BELOW
        elsewhere = float(np.nanquantile(off, ELSEWHERE))
        off[known.cover[after] - known.own < PART_BACK] = elsewhere  # not taken back: the lawn's own
    elif known.waited <= QUICK_DAYS:
        off, least, most = change, PART_NEWEST_BELOW, -PART_NEWEST_LOSS
        elsewhere = float(np.nanquantile(off, ELSEWHERE))
    else:
        return []
    taken = np.logical_or.reduce([np.zeros(off.shape, bool), *(thing.where for thing in things)])
    measured = np.isfinite(off) & ~with_rim(taken)
    seen = ndimage.uniform_filter(measured.astype(float), PART_CELLS, mode="constant")
    mean = ndimage.uniform_filter(np.where(measured, off, 0.0), PART_CELLS, mode="constant")
    mean = mean / np.maximum(seen, 1e-9)
    low = (seen >= PART_SEEN) & (mean <= min(elsewhere - least, most))
    expected, found = known.expected(), []
    for where in pieces(measured & (mean <= elsewhere - least / 2)):
        lost = median_of(known.own - expected, where)
        if (where & low).any() and where.sum() >= LEAST_CELLS and lost <= -PART_LOST:
            found.append(Odd("reads low", lost, where, bool(known.later), expected))
    return found


def _reads_low(known: _Series) -> Odd | None:
    """Return whether the grass reads low all over: below the straight line to the next photo where there is one."""
    grass = np.isfinite(known.own) & (known.cover[known.before] >= (SOME_GRASS if known.later else GRASSY))
    if grass.sum() < LEAST_CELLS:
        return None
    loss, expected = median_of(known.change, grass), known.expected()
    if not known.later:
        is_odd = loss <= -NEWEST_LOSS and known.waited <= QUICK_DAYS
        return Odd("reads low", loss, grass, False, expected) if is_odd else None
    below = median_of(known.own - expected, grass)
    is_odd = below <= -BELOW_LINE and loss <= LEAST_GAIN
    return Odd("reads low", below, grass, True, expected) if is_odd else None


def _reads_high(known: _Series) -> Odd | None:
    """Return whether bare ground reads leafy all over, above the straight line to each of two later photos.

    Before they are there it may be growth, and the next photo the one that reads low: nothing is said.
    """
    bare = np.isfinite(known.own) & (known.cover[known.before] <= BARE)
    if len(known.later) < 2 or bare.sum() < LEAST_CELLS:
        return None
    lines = [known.line(after) for after in known.later]
    above = min(median_of(known.own - line, bare) for line in lines)
    return Odd("reads high", above, bare, True, lines[0]) if above >= ABOVE_LINE else None


def _things(known: _Series) -> list[Odd]:
    """Return the places whose cover left the rest of the lawn's course, one each, with those beside that partly did."""
    change, expected = known.change, known.expected()
    if np.isfinite(known.own - expected).sum() < LEAST_CELLS:
        return []
    if known.later:
        off, gained = known.own - expected, known.own - known.cover[known.later[0]]
    else:
        off, gained = change, change
    off, ways = off - np.nanmedian(off), (change - np.nanmedian(change), gained - np.nanmedian(gained))
    things: list[Odd] = []
    for way in (-1, 1):
        if not known.later and way > 0 and known.waited > QUICK_DAYS:
            continue
        least = _least(way, is_newest=not known.later)
        with np.errstate(invalid="ignore"):
            is_off, partly = way * off >= least, way * off >= PARTLY * least
            is_off &= np.logical_and.reduce([way * one >= BOTH * least for one in ways])
            if not known.later and way < 0:
                is_off &= change <= -NEWEST_GONE
        cores = [core for core in pieces(is_off) if _is_thing(core)]
        places = [core | (with_rim(with_rim(core)) & partly) for core in cores]
        if way > 0 or sum(map(area_m2, places)) <= MOST_THINGS_M2:
            for core, where in zip(cores, places, strict=True):
                size = float(np.median(off[core]))
                things.append(Odd("something lies there", size, where, bool(known.later), expected))
    return things


def _perhaps_high(known: _Series) -> tuple[Odd, ...]:
    """Return the cells of the newest photo that gained more than the rest of the lawn, but no more than grass may."""
    expected = known.expected()
    off = known.own - expected
    if known.waited > QUICK_DAYS or np.isfinite(off).sum() < LEAST_CELLS:
        return ()
    off = np.nan_to_num(off - np.nanmedian(off))
    cores = [core for core in pieces(off > PERHAPS_GAINED) if core.sum() >= PERHAPS_CELLS]
    if not cores:
        return ()
    where = np.logical_or.reduce([core | (with_rim(core) & (off > PERHAPS_PARTLY)) for core in cores])
    return (Odd("may read high", float(np.median(off[where])), where, False, expected),)


def _touch(thing: Odd, part: Odd) -> bool:
    """Return whether a thing that reads low lies beside a part that does: it is more of the same."""
    return thing.change < 0 and bool((with_rim(with_rim(thing.where)) & part.where).any())


def _is_thing(core: Mask) -> bool:
    return area_m2(core) >= LEAST_THING_M2


def _least(way: int, *, is_newest: bool) -> float:
    """Return how far off a cell is that holds something: the way down or up."""
    if is_newest:
        return NEWEST_LOST if way < 0 else NEWEST_GAINED
    return LOST if way < 0 else GAINED
