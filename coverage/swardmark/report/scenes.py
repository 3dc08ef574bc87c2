"""The pictures of the report: for each photo point the newest photo beside its ground view, the slider and the strip.

Outlines of bare ground lie over the pictures as vector lines; the pictures keep their own colours. The bytes of all
pictures together are bounded, so a report with many dates shows some of them, the first and the last always.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from swardmark.report.ground_view import (
    RGB,
    Outline,
    Window,
    bare_outlines,
    common_window,
    look_down,
    on_picture,
    reduced,
    svg_path,
)
from swardmark.report.pictures import PhotoSource, data_address, encode, evenly, shrink
from swardmark.report.words import clean, day_text, percent_text

if TYPE_CHECKING:
    from swardmark.canopy.index import GroundMap
    from swardmark.lawn.record import Entry
    from swardmark.review import PointReview, SeasonReview

PHOTO_PX, THUMB_PX, READ_PX = 1120, 240, 1600
PHOTO_BYTES, VIEWS_BYTES, VIEW_BYTES, THUMBS_BYTES, THUMB_BYTES = 300_000, 900_000, 100_000, 250_000, 12_000
"""For each kind of picture the most bytes of all together and of one, before base64 adds a third; of one photo point."""
MOST_VIEWS, MOST_THUMBS, MOST_POINTS_WITH_PICTURES = 24, 60, 12


@dataclass(frozen=True)
class Picture:
    """One picture with its outlines; `address` is empty where the photo could not be had."""

    address: str
    width: int
    height: int
    outlines: str
    alt: str


@dataclass(frozen=True)
class Frame:
    """One date on the slider."""

    picture: Picture
    label: str


@dataclass(frozen=True)
class Scene:
    """One photo point's pictures; `left_out` counts dates that the slider does not show."""

    name: str
    title: str
    newest: Picture
    newest_day: str
    frames: tuple[Frame, ...]
    strip: tuple[Frame, ...]
    left_out: int
    missing: int


def scenes(review: SeasonReview, photos: PhotoSource) -> tuple[Scene, ...]:
    """Return the pictures of every photo point that the report has room for."""
    points = review.points[:MOST_POINTS_WITH_PICTURES]
    return tuple(_scene(review, point, photos, share=1 / len(points)) for point in points)


def outlines_of(review: SeasonReview, point: PointReview, ground_map: GroundMap) -> list[Outline]:
    """Outline the bare ground of a map, inside the lawn's outline where the keeper drew one."""
    rings = bare_outlines(ground_map, point.threshold.value)
    if review.lawn.lawn_outline_m is None:
        return rings
    from shapely import Polygon

    lawn = Polygon(review.lawn.lawn_outline_m).buffer(0)
    parts = [Polygon(ring).buffer(0).intersection(lawn) for ring in rings]
    flat = [piece for part in parts for piece in getattr(part, "geoms", [part])]
    return [np.asarray(p.exterior.coords) for p in flat if p.geom_type == "Polygon" and not p.is_empty]


def mean_cover(review: SeasonReview, photo: str, point: str) -> float:
    """Return the area-weighted mean cover of a photo's zones, percent; NaN where nothing was seen."""
    rows = [c for c in review.covers if (c.photo, c.point) == (photo, point) and np.isfinite(c.cover.cover_pct)]
    area = sum(c.cover.area_m2 for c in rows)
    return sum(c.cover.cover_pct * c.cover.area_m2 for c in rows) / area if area else float("nan")


def _scene(review: SeasonReview, point: PointReview, photos: PhotoSource, *, share: float) -> Scene:
    window = common_window(point.maps)
    pairs = tuple(zip(point.entries, point.maps, strict=True))
    viewed = {entry.name for entry, _ in evenly(pairs, MOST_VIEWS)}
    shown = evenly(pairs, MOST_THUMBS)
    view_bytes = min(VIEW_BYTES, int(VIEWS_BYTES * share / max(1, len(viewed))))
    thumb_bytes = min(THUMB_BYTES, int(THUMBS_BYTES * share / max(1, len(shown))))
    frames, strip, newest, missing = [], [], None, 0
    for entry, ground_map in shown if len(shown) >= len(viewed) else pairs:
        rgb = photos.picture(entry, longest_px=READ_PX)
        missing += rgb is None
        label = date_label(review, entry)
        strip.append(Frame(_thumb(rgb, entry, label, thumb_bytes), label))
        if entry.name in viewed:
            rings = outlines_of(review, point, ground_map)
            frames.append(Frame(_view(rgb, entry, window, rings, label, view_bytes), label))
            if entry is point.entries[-1]:
                newest = _photo(rgb, entry, rings, label, int(PHOTO_BYTES * share))
    assert newest is not None
    day = day_text(_day(point.entries[-1]), review.lawn.units)
    title = "Pictures" if len(review.points) == 1 else f"Pictures from {clean(point.name)}"
    return Scene(clean(point.name), title, newest, day, tuple(frames), tuple(strip), len(pairs) - len(frames), missing)


def date_label(review: SeasonReview, entry: Entry) -> str:
    """Say a photo's day and cover: `12 June, day 9: 22 % covered`."""
    day = _day(entry)
    zero = review.lawn.leveled_before(day) or review.day_zero
    cover = percent_text(mean_cover(review, entry.name, entry.point))
    return f"{day_text(day, review.lawn.units)}, day {(day - zero).days}: {cover} covered"


def _day(entry: Entry):  # noqa: ANN202
    assert entry.taken_at is not None
    return entry.taken_at.date()


def _photo(rgb: RGB | None, entry: Entry, rings: Sequence[Outline], label: str, most_bytes: int) -> Picture:
    alt = f"Photo of {label}. {_rings_text(rings)}"
    if rgb is None:
        return _no_picture(entry, alt)
    small = shrink(rgb, PHOTO_PX)
    size = (small.shape[1], small.shape[0])
    placed = on_picture(rings, reduced(entry.facts.to_photo, entry.facts.size, size))
    return Picture(_address(small, most_bytes), *size, svg_path(placed), alt)


def _view(
    rgb: RGB | None, entry: Entry, window: Window, rings: Sequence[Outline], label: str, most_bytes: int
) -> Picture:
    alt = f"The ground seen straight down on {label}. {_rings_text(rings)}"
    if rgb is None:
        return _no_picture(entry, alt, size=window.size)
    laid = look_down(rgb, entry.facts.to_photo, entry.facts.size, window)
    return Picture(_address(laid, most_bytes), *window.size, svg_path(on_picture(rings, window.to_picture)), alt)


def _thumb(rgb: RGB | None, entry: Entry, label: str, most_bytes: int) -> Picture:
    alt = f"Small photo of {label}."
    if rgb is None:
        return _no_picture(entry, alt)
    small = shrink(rgb, THUMB_PX)
    return Picture(_address(small, most_bytes), small.shape[1], small.shape[0], "", alt)


def _no_picture(entry: Entry, alt: str, *, size: tuple[int, int] = (4, 3)) -> Picture:
    return Picture("", *size, "", f"{clean(entry.name)} is not in photos/ any more. {alt}")


def _rings_text(rings: Sequence[Outline]) -> str:
    if not rings:
        return "No bare place large enough to be outlined."
    places = "One bare place is" if len(rings) == 1 else f"{len(rings)} bare places are"
    return f"{places} outlined."


def _address(rgb: RGB, most_bytes: int) -> str:
    return data_address(encode(rgb, most_bytes=max(1500, most_bytes)), "image/webp")
