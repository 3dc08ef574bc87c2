"""The pictures of the report: for each photo point the newest photo beside its ground view, the slider and the strip.

Outlines of bare ground lie over the pictures as vector lines; the pictures keep their own colors. The bytes of all
pictures together are bounded, so a report with many dates shows some of them, the first and the last always.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from swardmark.canopy.cover import total_cover
from swardmark.common.phrases import plural
from swardmark.common.text import clean
from swardmark.drawing import sentences
from swardmark.drawing.figures import Drawn
from swardmark.drawing.ground_view import (
    LONGEST_PX,
    RGB,
    Outline,
    Window,
    common_window,
    look_down,
    on_picture,
    reduced,
    svg_path,
)
from swardmark.drawing.labels import label_places
from swardmark.drawing.pictures import Encoder, PhotoSource, data_address, shrink
from swardmark.measure.points import evenly
from swardmark.words.phrases import day_text, percent_text
from swardmark.words.rows import covers_by_photo

if TYPE_CHECKING:
    from swardmark.measure.points import PointReview
    from swardmark.record.store import Entry
    from swardmark.season import Season

PHOTO_PX, THUMB_PX, READ_PX = 1120, 240, 1600
LEAST_PX = 960
"""Longer side that a photo keeps at least for its ground view, of which no side is longer than 720 pixels."""
PHOTO_BYTES, VIEWS_BYTES, VIEW_BYTES, THUMBS_BYTES, THUMB_BYTES = 300_000, 900_000, 100_000, 250_000, 12_000
"""Most bytes of each kind of picture before base64 adds a third; photo points share the sums among them."""
ALBUM_DAYS, ALBUM_PX, ALBUM_BYTES = (0, 7, 14, 28), 480, 32_000
"""Days of the album, and the longer side and most bytes of each of its pictures."""
MARK_PX = 58
"""Room that the number of a spot takes on the newest photo; its circle has a radius of 27."""
MOST_VIEWS, MOST_THUMBS, MOST_POINTS_WITH_PICTURES = 24, 40, 12


@dataclass(frozen=True)
class Picture:
    """One picture with its outlines; `address` is empty where the photo could not be had.

    `dips` outlines low ground under green turf. `marks` are the numbers of the spots, where they stand, in pixels, and
    whether they are such dips.
    """

    address: str
    width: int
    height: int
    outlines: str
    alt: str
    dips: str = ""
    marks: tuple[tuple[float, float, str, bool], ...] = ()


@dataclass(frozen=True)
class Frame:
    """One date on the slider."""

    picture: Picture
    label: str


@dataclass(frozen=True)
class Page:
    """One day of the album: the photo as taken, and the same ground straight down."""

    taken: Picture
    straight: Picture
    label: str


@dataclass(frozen=True)
class Scene:
    """One photo point's pictures; `left_out` counts dates that the slider does not show, `key` explains the lines."""

    name: str
    title: str
    newest: Picture
    newest_day: str
    frames: tuple[Frame, ...]
    strip: tuple[Frame, ...]
    left_out: int
    album: tuple[Page, ...]
    key: str


def scenes(season: Season, photos: PhotoSource, *, drawn: Drawn | None = None) -> tuple[Scene, ...]:
    """Return the pictures of every photo point that the report has room for."""
    points, drawn = season.points[:MOST_POINTS_WITH_PICTURES], drawn or Drawn()
    labels = date_labels(season)
    return tuple(_scene(season, point, photos, labels, drawn, share=1 / len(points)) for point in points)


def date_labels(season: Season) -> dict[tuple[str, str], str]:
    """Return each photo's day and mean cover, `12 June, day 9: 22 % covered`, by photo point and name."""
    groups, labels = covers_by_photo(season), {}
    areas = {(zone.point, zone.zone): zone.area_m2 for zone in season.outlook.zones}
    for entry in (entry for point in season.points for entry in point.entries):
        assert entry.taken_at is not None
        day = entry.taken_at.date()
        zero = season.lawn.leveled_before(day) or season.day_zero
        seen = groups.get((entry.point, entry.name), ())
        weights = [areas.get((row.point, row.zone), row.cover.area_m2) for row in seen]
        cover = percent_text(total_cover([row.cover for row in seen], weights))
        said = {"day": day_text(day, season.lawn.date_form), "number": (day - zero).days, "cover": cover}
        labels[entry.point, entry.name] = sentences.PHOTO_LABEL.format(**said)
    return labels


def _scene(
    season: Season,
    point: PointReview,
    photos: PhotoSource,
    labels: Mapping[tuple[str, str], str],
    drawn: Drawn,
    *,
    share: float,
) -> Scene:
    window = common_window(point.maps)
    shown = evenly(list(enumerate(point.entries)), MOST_THUMBS)
    viewed = {number for number, _ in evenly(shown, MOST_VIEWS)}
    views = _encoder(min(VIEW_BYTES, VIEWS_BYTES * share / len(viewed)))
    thumbs = _encoder(min(THUMB_BYTES, THUMBS_BYTES * share / len(shown)))
    taken, straight = (_encoder(ALBUM_BYTES * share) for _ in range(2))
    album_days = album_of(season, point)
    outlines = {number: drawn.outlines(season, point, number) for number in sorted({*viewed, *album_days})}
    frames, strip = [], []
    for number, entry in shown:
        is_newest = number == len(point.entries) - 1
        rgb = photos.picture(entry, longest_px=READ_PX, least_px=READ_PX if is_newest else LEAST_PX)
        label = labels[entry.point, entry.name]
        strip.append(Frame(_thumb(rgb, entry, label, thumbs), label))
        if number in viewed:
            frames.append(Frame(_view(rgb, entry, window, outlines[number], label, views), label))
    newest = _photo(rgb, entry, outlines[number], label, _encoder(PHOTO_BYTES * share))
    newest = _numbered(season, point, newest)
    album = tuple(
        _page(point.entries[number], photos, window, outlines[number], labels, taken, straight)
        for number in album_days
    )
    template = sentences.PICTURES if len(season.points) == 1 else sentences.PICTURES_FROM
    title = template.format(point=clean(point.name))
    day = day_text(entry.taken_at.date() if entry.taken_at else None, season.lawn.date_form)
    return Scene(
        clean(point.name), title, newest, day, tuple(frames), tuple(strip), len(point.entries) - len(frames),
        album, sentences.OUTLINE_KEY + sentences.DIP_KEY * bool(newest.dips),
    )  # fmt: skip


def album_of(season: Season, point: PointReview) -> tuple[int, ...]:
    """Return which photos of the season stand side by side: those nearest to days 0, 7, 14 and 28."""
    zero, days = season.day_zero, {}
    for number, entry in enumerate(point.entries):
        if entry.taken_at is not None and (day := (entry.taken_at.date() - zero).days) >= 0:
            days[number] = day
    if not days:
        return ()
    return tuple(sorted({min(days, key=lambda n: abs(days[n] - wanted)) for wanted in ALBUM_DAYS}))


def _page(
    entry: Entry,
    photos: PhotoSource,
    window: Window,
    rings: Sequence[Outline],
    labels: Mapping[tuple[str, str], str],
    as_taken: Encoder,
    straight_down: Encoder,
) -> Page:
    label = labels[entry.point, entry.name]
    rgb = photos.picture(entry, longest_px=READ_PX, least_px=LEAST_PX)
    small = replace(window, px_per_m=window.px_per_m * ALBUM_PX / LONGEST_PX)
    taken = _photo(rgb, entry, rings, label, as_taken, longest_px=ALBUM_PX)
    return Page(taken, _view(rgb, entry, small, rings, label, straight_down), label)


def _numbered(season: Season, point: PointReview, picture: Picture) -> Picture:
    """Add the numbers of the spots to a photo point's newest photo, and the outlines of dips under green turf."""
    if season.relevel is None or not picture.address:
        return picture
    from shapely import Polygon, box

    facts = point.entries[-1].facts
    to_picture = reduced(facts.to_photo, facts.size, (picture.width, picture.height))
    view, shapes, dips = box(0, 0, picture.width, picture.height), {}, []
    items = {item.spot.number: item for item in season.relevel.spots if item.spot.point == point.name}
    for number, item in items.items():
        for ring in on_picture([[*item.spot.outline_m, item.spot.outline_m[0]]], to_picture):
            dips += [ring] if item.is_green else []
            shape = Polygon(ring).buffer(0).intersection(view)
            if not shape.is_empty:
                shapes[number] = max(getattr(shape, "geoms", [shape]), key=lambda part: part.area)
    places = label_places(list(shapes.values()), width=MARK_PX, height=MARK_PX, view=view.bounds)
    marks = tuple(
        (round(x), round(y), str(n), items[n].is_green) for n, (x, y) in zip(shapes, places, strict=True)
    )
    return replace(picture, dips=svg_path(dips), marks=marks)


def _photo(
    rgb: RGB | None,
    entry: Entry,
    rings: Sequence[Outline],
    label: str,
    encoder: Encoder,
    *,
    longest_px: int = PHOTO_PX,
) -> Picture:
    alt = sentences.PHOTO_ALT.format(label=label, rings=_rings_text(rings))
    if rgb is None:
        return _no_picture(entry, alt)
    small = shrink(rgb, longest_px)
    size = (small.shape[1], small.shape[0])
    placed = on_picture(rings, reduced(entry.facts.to_photo, entry.facts.size, size))
    return Picture(_address(small, encoder), *size, svg_path(placed), alt)


def _view(
    rgb: RGB | None, entry: Entry, window: Window, rings: Sequence[Outline], label: str, encoder: Encoder
) -> Picture:
    alt = sentences.VIEW_ALT.format(label=label, rings=_rings_text(rings))
    if rgb is None:
        return _no_picture(entry, alt, size=window.size)
    laid = look_down(rgb, entry.facts.to_photo, entry.facts.size, window)
    return Picture(_address(laid, encoder), *window.size, svg_path(on_picture(rings, window.to_picture)), alt)


def _thumb(rgb: RGB | None, entry: Entry, label: str, encoder: Encoder) -> Picture:
    alt = sentences.THUMB_ALT.format(label=label)
    if rgb is None:
        return _no_picture(entry, alt)
    small = shrink(rgb, THUMB_PX)
    return Picture(_address(small, encoder), small.shape[1], small.shape[0], "", alt)


def _no_picture(entry: Entry, alt: str, *, size: tuple[int, int] = (4, 3)) -> Picture:
    return Picture("", *size, "", sentences.PHOTO_GONE.format(photo=clean(entry.name), alt=alt))


def _rings_text(rings: Sequence[Outline]) -> str:
    template = plural(len(rings), sentences.ONE_RING, sentences.RINGS) if rings else sentences.NO_RING
    return template.format(count=len(rings))


def _encoder(most_bytes: float) -> Encoder:
    return Encoder(most_bytes=max(1500, int(most_bytes)))


def _address(rgb: RGB, encoder: Encoder) -> str:
    return data_address(encoder.encode(rgb), "image/webp")
