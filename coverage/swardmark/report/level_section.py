"""What the report says of level ground: sentences, map, what to carry where, and the spots as a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from swardmark.common.phrases import date_words
from swardmark.common.text import clean
from swardmark.common.units import FOOT_M, LITRE_M3, format_area, format_depth, format_volume
from swardmark.drawing import sentences
from swardmark.drawing.figures import level_name
from swardmark.drawing.level_map import CONTOUR_MM, LOAD_STEP_M, level_map, load_map
from swardmark.drawing.relief_map import relief_map
from swardmark.level.telling import litres_text, place_text
from swardmark.relevel.outlines import fine_ground
from swardmark.relevel.sand import BULKING
from swardmark.words.rows import Row

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from swardmark.level.cutfill import CutFill
    from swardmark.level.lows import LevelSpot
    from swardmark.level.review import LevelReview
    from swardmark.measure.points import PointReview
    from swardmark.season import Season

DEEP_MM = 12.0
"""Places that took more sand than this in the mean are told apart (half an inch, to the whole millimeter below)."""
SLOW_POINTS, ALIKE_POINTS = 15.0, 5.0
"""Deep places so far behind the rest grew through slowly; nearer than this they did not (our judgment)."""
FINE_POINT_M2 = 1e-4
LEAST_SEEN_M2 = 0.1


def level_figures(review: LevelReview) -> list[tuple[str, str, Callable[[], Figure], str, str]]:
    """Return name, title, how to draw it, description and note of each map."""
    units = review.lawn.units
    figures: list[tuple[str, str, Callable[[], Figure], str, str]] = []
    for one in review.maps:
        title, name = sentences.LEVEL_MAP, level_name(review, one.point)
        if len(review.maps) > 1:
            title = sentences.LEVEL_MAP_OF.format(point=clean(one.point))
        step = format_depth(CONTOUR_MM[units], units=units)
        alt = sentences.LEVEL_MAP_ALT.format(low=len(one.low), high=len(one.high))
        note = sentences.LEVEL_MAP_NOTE.format(step=step)
        figures.append((name, title, partial(level_map, one, units=units), alt, note))
        if one.low and review.is_current(one):
            litres = review.lawn.sand.bucket_litres
            draw = partial(load_map, one, bucket_litres=litres, bulking=BULKING, units=units)
            size = LOAD_STEP_M[units]
            note = sentences.LOAD_MAP_NOTE.format(
                bucket=bucket_text(litres, units),
                step=f"{size / FOOT_M:.0f} ft" if units == "us" else f"{size:g} m",
            )
            figures.append((f"load-{name}", sentences.LOAD_MAP, draw, sentences.LOAD_MAP_ALT, note))
    return figures


def relief_figures(season: Season) -> list[tuple[str, Figure, str, str]]:
    """Return title, figure, description and note of the newest map of measured sand at each photo point."""
    newest = {one.point: one for one in season.relief.sand}
    figures = []
    for one in newest.values():
        title = sentences.RELIEF_MAP.format(day=date_words(one.date, season.lawn.date_form))
        if len(newest) > 1:
            title = sentences.RELIEF_MAP_OF.format(title=title, point=clean(one.point))
        unit = sentences.HEIGHT_UNIT[season.lawn.units]
        note = (
            sentences.RELIEF_MAP_NOTE.format(unit=unit)
            if one.relief.is_bare
            else sentences.RELIEF_PLACES_NOTE
        )
        alt = sentences.RELIEF_MAP_ALT.format(dips=len(one.relief.hollows.dips))
        figures.append((title, relief_map(one.relief, units=season.lawn.units), alt, note))
    return figures


def level_rows(review: LevelReview) -> list[Row]:
    """Return a row for each low spot, then for each high one."""
    low = [spot for one in review.maps for spot in one.low]
    high = [spot for one in review.maps for spot in one.high]
    return [
        *_rows(sentences.LEVEL_LOW, sentences.LEVEL_FILL, low, review),
        *_rows(sentences.LEVEL_HIGH, sentences.LEVEL_CUT, high, review),
    ]


def cover_by_depth(season: Season) -> tuple[str, ...]:
    """Say how the places that were filled deeply stand now beside the rest, where both heights and photos know them."""
    said = []
    for one in season.level.before:
        deep = [spot for spot in one.low if spot.mean_mm > DEEP_MM]
        place = next((point for point in season.points if point.name == one.point and len(point.maps)), None)
        if not deep or place is None:
            continue
        covers = _covers(place, one, deep)
        if covers is not None:
            template = sentences.COVER_BY_DEPTH[0 if len(deep) == 1 else 1]
            depth = format_depth(DEEP_MM, units=season.lawn.units)
            said.append(template.format(count=len(deep), depth=depth, deep=covers[0], rest=covers[1]))
            said += _judged_depth(covers[1] - covers[0], depth)
    return tuple(said)


def _judged_depth(behind_points: float, depth: str) -> list[str]:
    """Say what the covers mean for the depth of the next passes; nothing where they are neither alike nor apart."""
    if behind_points >= SLOW_POINTS:
        return [sentences.COVER_DEPTH_SLOW.format(points=behind_points, depth=depth)]
    return [sentences.COVER_DEPTH_FINE] if behind_points <= ALIKE_POINTS else []


def _covers(place: PointReview, one: CutFill, deep: Sequence[LevelSpot]) -> tuple[float, float] | None:
    """Return the newest cover inside the deep spots and on the other mapped ground, in percent; None if not seen."""
    from shapely import Polygon, box, union_all

    ground = fine_ground(place.maps[-1:], place.threshold)
    filled = ground.rasterise(union_all([Polygon(spot.outline_m).buffer(0) for spot in deep]))
    x, y = one.raster.x_m, one.raster.y_m
    mapped = ground.rasterise(box(float(x[0]), float(y[0]), float(x[-1]), float(y[-1])))
    square = ground.rasterise(box(0, 0, place.side_m, place.side_m))
    shares = []
    for mask in (filled & mapped & ~square, mapped & ~filled & ~square):
        readable = float((ground.readable[0] * mask).sum())
        if readable * FINE_POINT_M2 < LEAST_SEEN_M2:
            return None
        shares.append(100 * float((ground.leaf[0] * mask).sum()) / readable)
    return shares[0], shares[1]


def bucket_text(litres: float, units: str) -> str:
    """Say how large a bucket is: `14 L`, or in US gallons."""
    if units == "us":
        return f"{litres / 3.785411784:.0f} gallons"
    return format_volume(litres * LITRE_M3, units="metric")


def _rows(name: str, what: str, spots: Sequence[LevelSpot], review: LevelReview) -> list[Row]:
    units = review.lawn.units
    return [
        Row((
            name.format(letter=spot.letter),
            place_text(spot.x_m, spot.y_m, units),
            format_area(spot.area_m2, units=units),
            format_depth(float(round(spot.deepest_mm)), units=units),
            format_depth(float(round(spot.mean_mm)), units=units),
            what.format(litres=litres_text(spot.litres, units)),
            sentences.LEVEL_RANGE.format(
                low=litres_text(spot.low_litres, units), high=litres_text(spot.high_litres, units)
            ),
        ))
        for spot in spots
    ]  # fmt: skip
