"""Which photos make a set: taken within three minutes with one camera, of one size."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol, TypeVar

import numpy as np

from swardmark.photo.decode import Photo
from swardmark.photo.header import Camera
from swardmark.relief.refusals import refused
from swardmark.relief.sentences import FEW_PHOTOS, MANY_PHOTOS, MIXED, WHAT_DIFFERS

LEAST_PHOTOS, MOST_PHOTOS = 3, 8
MOST_MINUTES = 3
SAME_ZOOM = 0.02


class Timed(Protocol):
    """A photo, or what is known of one, with the time at which it was taken."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def taken_at(self) -> dt.datetime | None:
        """When it was taken."""


class Shot(Protocol):
    """A photo, or what is known of one, with its size and camera."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""

    @property
    def camera(self) -> Camera:
        """What it was taken with."""


T = TypeVar("T", bound=Timed)


def gather(photos: Sequence[T]) -> list[list[T]]:
    """Return sets of photos in order of time, each of three minutes at most; undated ones are one set.

    A photo that comes later begins a new set: meanwhile light and ground are others.
    """
    dated = sorted(
        (one for one in photos if one.taken_at is not None), key=lambda one: (_time(one), one.name)
    )
    undated = sorted((one for one in photos if one.taken_at is None), key=lambda one: one.name)
    sets: list[list[T]] = []
    for photo in dated:
        if sets and _time(photo) - _time(sets[-1][0]) <= dt.timedelta(minutes=MOST_MINUTES):
            sets[-1].append(photo)
        else:
            sets.append([photo])
    return [*sets, undated] if undated else sets


def check_set(photos: Sequence[Photo]) -> list[Photo]:
    """Return the photos of a set, turned alike; their order does not matter.

    Raises
    ------
    PhotoRefused
        Too few or too many photos, or of different camera, zoom, size or time.
    """
    if len(photos) < LEAST_PHOTOS:
        where = photos[0].name if photos else ""
        raise refused(FEW_PHOTOS, where=where, photos=len(photos), minutes=MOST_MINUTES)
    if len(photos) > MOST_PHOTOS:
        raise refused(MANY_PHOTOS, where=photos[0].name, photos=len(photos), most=MOST_PHOTOS)
    chosen = sorted(photos, key=lambda one: one.digest)
    first = chosen[0]
    for photo in chosen[1:]:
        what = difference(first, photo)
        if what:
            raise refused(MIXED, where=photo.name, what=WHAT_DIFFERS[what], minutes=MOST_MINUTES)
    times = [_time(one) for one in chosen if one.taken_at is not None]
    if times and max(times) - min(times) > dt.timedelta(minutes=MOST_MINUTES):
        late = max(chosen, key=lambda one: one.taken_at or dt.datetime.min)
        raise refused(MIXED, where=late.name, what=WHAT_DIFFERS["time"], minutes=MOST_MINUTES)
    mixed = len({one.size for one in chosen}) > 1
    return [_landscape(one) if mixed else one for one in chosen]


def difference(one: Shot, other: Shot) -> str:
    """Return in what the cameras of two photos differ, a key of `WHAT_DIFFERS`; empty if in nothing."""
    if sorted(one.size) != sorted(other.size):
        return "size"
    if (one.camera.make, one.camera.model) != (other.camera.make, other.camera.model):
        return "camera"
    a, b = one.camera.focal_35mm, other.camera.focal_35mm
    if (a is None) != (b is None) or (a and b and abs(a / b - 1) > SAME_ZOOM):
        return "focal"
    return ""


def _landscape(photo: Photo) -> Photo:
    """Return a photo lying on its side, as the sensor saw it: one lens serves all photos of a set."""
    width, height = photo.size
    return replace(photo, rgb=np.ascontiguousarray(np.rot90(photo.rgb))) if height > width else photo


def _time(photo: Timed) -> dt.datetime:
    return photo.taken_at or dt.datetime.min


def spread_mm(halves_m: np.ndarray) -> float:
    """Return the median difference of heights from two halves of the photos, in millimeters."""
    apart = np.abs(halves_m[0] - halves_m[1])
    known = np.isfinite(apart)
    return 1000 * float(np.median(apart[known])) if known.any() else float("inf")
