"""How far the walk around the square has come: from which directions there are photos, and where to stand next.

Read from the marks alone, a fifth of a second a photo, so that it can be asked after each photo of the sand or of pegs.
Directions are seen from the middle of the square: 0 straight in front of its near side, positive toward the right hand
of somebody who faces the square.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from swardmark.bundle.camera import Floats, Lens, View, first_view
from swardmark.common.errors import PhotoRefused
from swardmark.photo.decode import Photo
from swardmark.photo.header import Camera
from swardmark.relief import sentences
from swardmark.relief.gather import LEAST_PHOTOS, MOST_PHOTOS, difference
from swardmark.relief.marks import laid_corners, see_marks
from swardmark.relief.refusals import MOST_STEP_DEG, check_stand
from swardmark.relief.solve import USUAL_FOCAL_SHARE

WANTED_PHOTOS, STEP_DEG, STAND_M = 5, 22.0, 1.6
"""The walk that is asked for: so many photos, so far apart, from so far away."""
UNKNOWN_CAMERA = Camera()
SAME_DEG = 8.0
"""Photos nearer to each other than this count as one place."""


@dataclass(frozen=True)
class ArcPhoto:
    """From where one photo was taken.

    Attributes
    ----------
    name : str
        The photo.
    direction_deg : float
        Direction from the square's middle, 0 in front of the near side, positive to the right; NaN if not known.
    distance_m, height_m : float
        Camera from the square's middle along the ground, and above it; NaN if not known.
    fault : str
        Why it cannot be used, with what to do; empty for a good one.
    taken_at, size, camera : datetime or None, tuple of int, Camera or None
        As of the photo: one set is of one camera and one size.
    """

    name: str
    direction_deg: float = math.nan
    distance_m: float = math.nan
    height_m: float = math.nan
    fault: str = ""
    taken_at: dt.datetime | None = None
    size: tuple[int, int] = (0, 0)
    camera: Camera = UNKNOWN_CAMERA


@dataclass(frozen=True)
class ArcSoFar:
    """What there is of a set of photos, and what is missing.

    Attributes
    ----------
    photos : tuple of ArcPhoto
        In the order given.
    places_deg : tuple of float
        Directions covered, from left to right; photos from nearly one place count once.
    next_deg : float or None
        Direction of the next photo; None when nothing is missing.
    next_m : tuple of float or None
        Where to stand for it: x, y in the ground frame, in meters.
    coming_deg : tuple of float
        Directions of all photos that are still missing, the next first.
    can_measure : bool
        Whether the set can be measured as it is.
    text : str
        One sentence for the keeper.
    """

    photos: tuple[ArcPhoto, ...]
    places_deg: tuple[float, ...]
    next_deg: float | None
    next_m: tuple[float, float] | None = field(repr=False)
    coming_deg: tuple[float, ...]
    can_measure: bool
    text: str

    @property
    def is_complete(self) -> bool:
        """Whether no further photo is asked for."""
        return self.next_deg is None


def arc_so_far(photos: Sequence[Photo | ArcPhoto], *, side_m: float = 1.0) -> ArcSoFar:
    """Say from where photos of the square were taken and where the next is to be taken.

    Parameters
    ----------
    photos : sequence of Photo or ArcPhoto
        The photos so far in the order they were taken, or what `arc_photo` gave of them; none at the beginning.
    side_m : float
        Side of the square in meters.

    Returns
    -------
    ArcSoFar
        A photo that cannot be used is in it with its fault and covers no direction; nothing is raised.
    """
    read = [one if isinstance(one, ArcPhoto) else arc_photo(one, side_m=side_m) for one in photos]
    found = [_of_one_camera(one, read[0]) for one in read]
    good = [one for one in found if not one.fault]
    places = _places([one.direction_deg for one in good])
    after = _next_deg(places, good[-1].direction_deg if good else 0.0)
    if len(good) >= MOST_PHOTOS:
        after = None
    gaps = [right - left for left, right in pairwise(places)]
    measurable = len(good) >= LEAST_PHOTOS and len(places) >= 2 and max(gaps) <= MOST_STEP_DEG
    stand = None if after is None else _stand(after, side_m)
    told = tuple(round(_wrapped(one), 1) for one in places)
    coming = _coming(places, after)
    return ArcSoFar(tuple(found), told, after, stand, coming, measurable, _text(found, good, places, after))


def arc_photo(photo: Photo, *, side_m: float = 1.0) -> ArcPhoto:
    """Return from where one photo was taken, by its marks; one that cannot be used has its fault. Nothing is raised."""
    told = ArcPhoto(photo.name, taken_at=photo.taken_at, size=photo.size, camera=photo.camera)
    middle = np.array([side_m / 2, side_m / 2])
    try:
        view = view_of(photo, side_m=side_m)
        check_stand([view], middle, [photo.name])
    except PhotoRefused as refusal:
        return replace(told, fault=f"{refusal.what}. {refusal.remedy}")
    away: Floats = view.position_m[:2] - middle
    direction = math.degrees(math.atan2(away[0], -away[1]))
    return replace(
        told, direction_deg=round(direction, 1), distance_m=round(math.hypot(*away), 2),
        height_m=round(float(view.position_m[2]), 2),
    )  # fmt: skip


def view_of(photo: Photo, *, side_m: float) -> View:
    """Return from where a photo was taken, by its four marks.

    Raises
    ------
    PhotoRefused
        The photo does not show all four marks on a square.
    """
    width = float(max(photo.size))
    corners = see_marks(photo)
    laid = laid_corners([corners], [photo.name], side_m=side_m, width_px=width)
    flat = np.concatenate([np.column_stack([quad, np.zeros(4)]) for quad in laid.values()])
    pixels = np.concatenate([corners[number] for number in laid])
    lens = Lens(photo.focal_px or USUAL_FOCAL_SHARE * width, (np.array(photo.size, float) - 1) / 2)
    return first_view(flat, pixels, lens)


def _of_one_camera(one: ArcPhoto, first: ArcPhoto) -> ArcPhoto:
    """Return a photo with its fault if it is not of the first one's camera, zoom and size."""
    what = difference(first, one)
    if not what or one.fault:
        return one
    said = sentences.MIXED[0].format(what=sentences.WHAT_DIFFERS[what])
    return replace(one, direction_deg=math.nan, fault=f"{said}. {sentences.SAME_CAMERA}")


def _places(directions_deg: Sequence[float]) -> list[float]:
    """Return the directions covered from left to right, unrolled about their mean; near ones count once."""
    if not directions_deg:
        return []
    turns = np.radians(directions_deg)
    middle = math.degrees(math.atan2(np.sin(turns).sum(), np.cos(turns).sum()))
    unrolled = sorted(middle + _wrapped(one - middle) for one in directions_deg)
    kept = unrolled[:1]
    for one in unrolled[1:]:
        if one - kept[-1] >= SAME_DEG:
            kept.append(one)
    return kept


def _next_deg(places: Sequence[float], last_deg: float) -> float | None:
    """Return where a photo is missing: in a gap that is too wide, else beyond the end nearer to the last photo.

    After the first photo it is asked for toward the front.
    """
    if not places:
        return 0.0
    gap, left = max(((b - a, a) for a, b in pairwise(places)), default=(0.0, places[0]))
    if gap > MOST_STEP_DEG:
        return round(_wrapped(left + (gap / 2 if gap <= 2 * MOST_STEP_DEG else STEP_DEG)), 1)
    if len(places) >= WANTED_PHOTOS:
        return None
    if len(places) == 1:
        right, left = _wrapped(places[0] + STEP_DEG), _wrapped(places[0] - STEP_DEG)
        return round(right if abs(right) <= abs(left) else left, 1)
    to_right, to_left = abs(_wrapped(places[-1] - last_deg)), abs(_wrapped(places[0] - last_deg))
    return round(_wrapped(places[-1] + STEP_DEG if to_right <= to_left else places[0] - STEP_DEG), 1)


def _coming(places: Sequence[float], after: float | None) -> tuple[float, ...]:
    """Return the directions that will be asked for one after the other if each photo is taken where it is asked for."""
    coming: list[float] = []
    have = list(places)
    while after is not None and len(coming) < MOST_PHOTOS:
        coming.append(after)
        have = _places([*have, after])
        after = _next_deg(have, after)
    return tuple(coming)


def _text(
    found: Sequence[ArcPhoto], good: Sequence[ArcPhoto], places: Sequence[float], after: float | None
) -> str:
    if found and found[-1].fault:
        return sentences.ARC_FAULT.format(fault=found[-1].fault)
    if not good:
        return sentences.ARC_FIRST
    if after is None:
        return sentences.ARC_DONE.format(photos=len(good))
    turn = _wrapped(after - good[-1].direction_deg)
    here = sentences.ARC_SAME if len(places) < len(good) and _repeats(good) else ""
    step = 2 * STAND_M * math.sin(math.radians(abs(turn)) / 2)
    text = sentences.ARC_NEXT.format(
        done=len(places), wanted=max(WANTED_PHOTOS, len(places) + 1), side=sentences.HANDS[turn < 0],
        metric=step, feet=step / 0.3048,
    )  # fmt: skip
    return here + text


def _repeats(good: Sequence[ArcPhoto]) -> bool:
    last = good[-1].direction_deg
    return any(abs(_wrapped(one.direction_deg - last)) < SAME_DEG for one in good[:-1])


def _stand(direction_deg: float, side_m: float) -> tuple[float, float]:
    turn = math.radians(direction_deg)
    return round(side_m / 2 + STAND_M * math.sin(turn), 2), round(side_m / 2 - STAND_M * math.cos(turn), 2)


def _wrapped(degrees: float) -> float:
    return (degrees + 180) % 360 - 180
