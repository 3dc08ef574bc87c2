"""Heights of pegs: marks on pegs of one length that stand on the soil, seen in three to eight photos, in any grass.

The photos are solved as those of sand are, but from marks alone: all corners of the square's marks and of the pegs go
into one adjustment, and a peg's height is the mean of its four corners. How far it may be off is a jackknife over the
photos, each left out in turn. Tilt is not in the photos; the plane that is taken off later has it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from swardmark.bundle.adjust import Bundle, Priors, Sightings, adjust, triangulated
from swardmark.bundle.camera import Floats
from swardmark.bundle.flat import apart_deg
from swardmark.photo.decode import Photo
from swardmark.relief.gather import check_set
from swardmark.relief.marks import PEG_IDS, Corners, see_marks
from swardmark.relief.refusals import LEAST_SPAN_DEG, check_fit, check_marks, check_stand, refused
from swardmark.relief.sentences import CLOSE_TOGETHER, FEW_PEGS
from swardmark.relief.solve import mark_bundle

PEG_MM = 60.0
"""Side of a peg's mark."""
LEAST_PEGS, LEAST_VIEWS = 9, 3
FLOOR_MM = 0.05
"""Standard error that remains: what all photos share, such as a lens that bends otherwise than the model."""
SEATING_MM = 1.0
"""How evenly pegs stand on the soil of a lawn, as standard error of one (our judgment)."""
SIZE_OFF = 0.35
"""A mark whose side on the ground differs by more from a peg's is none: leaf that looks like a mark."""
MOVED_TIMES, MOVED_PX = 4.0, 1.5
"""A peg whose corners fit so much worse than the others, and by so many pixels at 2000 px of width, has moved."""


@dataclass(frozen=True, eq=False)
class Pegs:
    """Heights of the pegs of one set of photos.

    Attributes
    ----------
    taken_at : datetime or None
        Time of the first photo.
    numbers : tuple of int
        Numbers on the pegs.
    places_m : ndarray, shape (N, 2)
        Where they stand, in the ground frame in meters.
    height_mm, se_mm : ndarray, shape (N,)
        Heights above the plane through all of them, and their standard errors, in millimeters.
    left_out : tuple of int
        Pegs that moved between the photos, or were seen in too few.
    photos : tuple of str
        Names of the photos.
    """

    taken_at: dt.datetime | None
    numbers: tuple[int, ...]
    places_m: Floats
    height_mm: Floats
    se_mm: Floats
    left_out: tuple[int, ...]
    photos: tuple[str, ...]


def shows_pegs(marks: Sequence[Corners]) -> bool:
    """Return whether photos show pegs: in most of them four or more."""
    return 2 * sum(len(set(one) & set(PEG_IDS)) >= 4 for one in marks) > len(marks)


def measure_pegs(
    photos: Sequence[Photo], *, side_m: float = 1.0, marks: Sequence[Corners] | None = None
) -> Pegs:
    """Measure the heights of pegs from three to eight photos of the marked square with pegs around it.

    Parameters
    ----------
    photos : sequence of Photo
        Taken on an arc around the square within three minutes.
    side_m : float
        Side of the square in meters.
    marks : sequence of Corners, optional
        What `see_marks` found in each, where that is known.

    Raises
    ------
    PhotoRefused
        The photos are not fit for it, or show too few pegs; with what to do.
    """
    chosen = check_set(photos)
    by_photo = {} if marks is None else {id(photo): one for photo, one in zip(photos, marks, strict=True)}
    seen = [by_photo.get(id(photo)) or see_marks(photo, more=PEG_IDS) for photo in chosen]
    names = [photo.name for photo in chosen]
    square = [{n: quad for n, quad in one.items() if n not in PEG_IDS} for one in seen]
    bundle, corners, priors, laid = mark_bundle(chosen, square, side_m=side_m)
    middle = np.array([side_m / 2, side_m / 2])
    check_stand(bundle.views, middle, names)
    widest = float(apart_deg(bundle.views, middle).max())
    if widest < LEAST_SPAN_DEG:
        raise refused(CLOSE_TOGETHER, where=names[0], apart=widest)
    numbers = _often_seen(seen)
    if len(numbers) < LEAST_PEGS:
        raise refused(FEW_PEGS, where=names[0], pegs=len(numbers), least=LEAST_PEGS)
    first = 4 * len(laid)
    pegs = _peg_sightings(seen, numbers, first)
    every = Sightings(*(np.concatenate([getattr(part, name) for part in (corners, pegs)])
                        for name in ("view", "point", "pixels")))  # fmt: skip
    start = _first_points(bundle, pegs, first, len(numbers))
    fitted = adjust(every, bundle.lens, bundle.views, start, priors)
    sound = _sound(fitted, every, numbers, first, priors.width_px)
    if len(sound) < len(numbers):
        keep = np.isin((every.point - first) // 4, [numbers.index(n) for n in sound]) | (every.point < first)
        every = every.only(keep)
        fitted = adjust(every, fitted.lens, fitted.views, fitted.points_m, priors)
    if len(sound) < LEAST_PEGS:
        raise refused(FEW_PEGS, where=names[0], pegs=len(sound), least=LEAST_PEGS)
    check_marks(fitted, every, list(laid), names)
    check_fit(fitted, priors, names[0])
    at = [numbers.index(n) for n in sound]
    places = _tops(fitted, first)[at]
    height = _off_plane(places)
    error = np.sqrt(_jackknife_mm(fitted, every, priors, first, at) ** 2 + FLOOR_MM**2)
    times = [photo.taken_at for photo in chosen if photo.taken_at is not None]
    out = sorted({n for one in seen for n in one if n in PEG_IDS} - set(sound))
    return Pegs(
        min(times) if times else None, tuple(sound), places[:, :2], height, error, tuple(out), tuple(names)
    )


def _often_seen(seen: Sequence[Corners]) -> list[int]:
    """Return the pegs that three photos show."""
    return [n for n in PEG_IDS if sum(n in one for one in seen) >= LEAST_VIEWS]


def _peg_sightings(seen: Sequence[Corners], numbers: list[int], first: int) -> Sightings:
    view, point, pixels = [], [], []
    for n, one in enumerate(seen):
        for k, number in enumerate(numbers):
            if number in one:
                view += [n] * 4
                point += [first + 4 * k + corner for corner in range(4)]
                pixels.append(one[number])
    return Sightings(np.array(view), np.array(point), np.concatenate(pixels))


def _first_points(bundle: Bundle, pegs: Sightings, first: int, count: int) -> Floats:
    """Return all points, the pegs' corners where the first cameras see them."""
    points = np.concatenate([bundle.points_m[:first], np.tile([0.5, 0.5, 0.0], (4 * count, 1))])
    own = replace(pegs, point=pegs.point - first)
    points[first:] = triangulated(own, bundle.lens, bundle.views, points[first:], rounds=8)
    return points


def _tops(fitted: Bundle, first: int) -> Floats:
    """Return the middle of each peg's mark, shape (pegs, 3), in meters."""
    return np.asarray(fitted.points_m[first:].reshape(-1, 4, 3).mean(axis=1))


def _off_plane(places_m: Floats) -> Floats:
    """Return heights above the plane through them, in millimeters."""
    terms = np.column_stack([np.ones(len(places_m)), places_m[:, :2]])
    z = 1000 * places_m[:, 2]
    return np.asarray(z - terms @ np.linalg.lstsq(terms, z, rcond=None)[0])


def _sound(fitted: Bundle, every: Sightings, numbers: list[int], first: int, width_px: float) -> list[int]:
    """Return the pegs that kept still and have a peg's size."""
    tops = fitted.points_m[first:].reshape(-1, 4, 3)
    sides = np.linalg.norm(tops - np.roll(tops, 1, axis=1), axis=2).mean(axis=1)
    most = max(MOVED_TIMES * fitted.spread_px, MOVED_PX * width_px / 2000)
    sound = []
    for k, number in enumerate(numbers):
        own = (every.point - first) // 4 == k
        rest = float(np.sqrt((fitted.rest_px[own] ** 2).mean()))
        if rest <= most and abs(1000 * sides[k] / PEG_MM - 1) <= SIZE_OFF:
            sound.append(number)
    return sound


def _jackknife_mm(fitted: Bundle, every: Sightings, priors: Priors, first: int, at: list[int]) -> Floats:
    """Return the standard error of each peg by leaving out each photo in turn, smoothed toward that of all pegs."""
    count = len(fitted.views)
    heights = []
    for photo in range(count):
        others = [n for n in range(count) if n != photo]
        seen = every.only(every.view != photo)
        number = np.full(count, -1)
        number[others] = np.arange(count - 1)
        seen = replace(seen, view=number[seen.view])
        part = adjust(seen, fitted.lens, [fitted.views[n] for n in others], fitted.points_m, priors, rounds=6)
        heights.append(_off_plane(_tops(part, first)[at]))
    table = np.stack(heights)
    own = ((table - table.mean(axis=0)) ** 2).sum(axis=0) * (count - 1) / count
    return np.asarray(np.sqrt(0.5 * own + 0.5 * own.mean()))
