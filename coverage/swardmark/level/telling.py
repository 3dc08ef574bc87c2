"""A LevelReview in sentences, the most important first; the templates are in sentences.py."""

from __future__ import annotations

import math
from collections.abc import Iterable

from swardmark.common.phrases import date_words
from swardmark.common.units import (
    FOOT_M,
    LITRE_M3,
    Units,
    format_area,
    format_depth,
    format_length,
    format_volume,
)
from swardmark.lawn.heights import TILTLESS_HOWS
from swardmark.lawn.toml import Lawn
from swardmark.level import sentences
from swardmark.level.cutfill import CutFill
from swardmark.level.ground import Fall
from swardmark.level.lows import LevelSpot
from swardmark.level.remeasure import NOTHING, Volume
from swardmark.level.review import LevelReview, laid_litres
from swardmark.level.straightedge import StraightedgeEstimate

GOOD_MM, GOOD_UNDER_M = 6.0, 2.4
"""A leveled lawn is good within this under a 2.4 m (8 ft) straightedge (common practice, no source); under a shorter
one, which shows less, within as much less (our judgment)."""
MOST_NAMED = 12
COARSE_SHARE = 0.8
"""With less sand in view than this, the keeper is asked to measure more closely."""
SAME_FALL_PERCENT, LITTLE_FALL_PERCENT = 0.5, 1.0


def level_sentences(review: LevelReview) -> tuple[str, ...]:
    """Say how level a lawn is, what it takes, and what that rests on."""
    units = review.lawn.units
    if review.is_empty:
        grid, size = ("2ft", "20x26ft") if units == "us" else ("0.75m", "6x8m")
        nothing = sentences.NOTHING_YET.format(folder=review.lawn.folder, grid=grid, size=size)
        return review.unfinished or (nothing,)
    return (
        *_outdated(review),
        *_verdict(review),
        *_fill(review),
        *_cut(review),
        *(line for one in review.maps for line in _coarse(one, units)),
        *(line for one in review.before for line in _compared(review, one)),
        *(line for one in review.layings for line in _layings(review, one)),
        *_hollows(review),
        *(line for one in review.maps for line in (*_fall(one), _readings(one, review.lawn))),
        *((sentences.KEEP_FALL,) if review.maps else ()),
        *review.unfinished,
    )


def spot_sentences(review: LevelReview) -> tuple[str, ...]:
    """Say where each low and high spot lies and what it takes."""
    units = review.lawn.units
    maps = [(one, one.point if len(review.maps) > 1 else "") for one in review.maps]
    return (
        *(_spot(sentences.WHERE_LOW, spot, point, units) for one, point in maps for spot in one.low),
        *(_spot(sentences.WHERE_HIGH, spot, point, units) for one, point in maps for spot in one.high),
    )


def edge_text(straightedge_m: float, units: Units) -> str:
    """Say a straightedge's length: `2.4 m`, or in whole feet."""
    return f"{straightedge_m / FOOT_M:.0f} ft" if units == "us" else f"{straightedge_m:g} m"


def litres_text(litres: float, units: Units) -> str:
    """Say a volume of sand of which two figures are known."""
    volume = litres * LITRE_M3
    return format_volume(float(f"{volume:.2g}"), units=units)


def place_text(x_m: float, y_m: float, units: Units) -> str:
    """Say a place in the ground frame."""
    shown = [f"{v / FOOT_M:.1f} ft" if units == "us" else f"{v:.1f} m" for v in (x_m, y_m)]
    return sentences.PLACE.format(x=shown[0], y=shown[1])


def direction_text(direction_deg: float) -> str:
    """Say a direction as seen from the photo point: the nearest of eight, such as `far right`."""
    names = (
        "the far side",
        "far right",
        "the right",
        "near right",
        "the near side",
        "near left",
        "the left",
        "far left",
    )
    return names[round(direction_deg % 360 / 45) % 8]


def finer_spacing(spacing_m: float, units: Units) -> str:
    """Say the next closer spacing that a tape has: half of it, in steps of 0.25 m or half a foot."""
    step = FOOT_M / 2 if units == "us" else 0.25
    finer = max(step, math.floor(spacing_m / 2 / step + 1e-6) * step)
    return f"{finer / FOOT_M:g} ft" if units == "us" else f"{finer:g} m"


def _outdated(review: LevelReview) -> tuple[str, ...]:
    """Say what was measured before sand that was laid since."""
    form = review.lawn.date_form
    return tuple(
        sentences.BEFORE_THE_SAND.format(
            day=date_words(day, form, year=True), sand=date_words(sand, form, year=True)
        )
        for day, sand in review.outdated
    )


def _verdict(review: LevelReview) -> tuple[str, ...]:
    median, high = review.deviation_mm
    if math.isnan(high):
        return ()
    units = review.lawn.units
    edge = review.maps[0].straightedge_m if review.maps else review.lawn.level.straightedge_m
    good = GOOD_MM * min(1.0, edge / GOOD_UNDER_M)
    said = (
        sentences.LEVEL_ENOUGH
        if high <= good
        else sentences.NOT_LEVEL
        if median >= 1
        else sentences.NOT_LEVEL_LITTLE
    )
    good = good if units == "metric" else good * 25.4 / 4 / GOOD_MM
    depths = {"high": high, "median": median, "good": good}
    shown = {name: format_depth(_rounded(depth, units), units=units) for name, depth in depths.items()}
    return (said.format(edge=edge_text(edge, units), **shown),)


def _rounded(depth_mm: float, units: Units) -> float:
    return float(round(depth_mm)) if units == "metric" and depth_mm >= 1 else depth_mm


def _fill(review: LevelReview) -> tuple[str, ...]:
    if not review.maps:
        return ()
    total = sum((one.fill for one in review.maps), NOTHING)
    low = [spot for one in review.maps for spot in one.low]
    if not low:
        return () if review.hollows else (sentences.NO_FILL,)
    units = review.lawn.units
    area = format_area(sum(spot.area_m2 for spot in low), units=units)
    spots = f"one low spot of {area}" if len(low) == 1 else f"{len(low)} low spots, together {area}"
    return (sentences.FILL.format(**_volume(total, units), spots=spots),)


def _cut(review: LevelReview) -> tuple[str, ...]:
    high = [spot for one in review.maps for spot in one.high]
    if not high or review.cut is None:
        return ()
    units = review.lawn.units
    highest = format_depth(_rounded(max(spot.deepest_mm for spot in high), units), units=units)
    litres = litres_text(review.cut.litres, units)
    said = sentences.CUT_ONE if len(high) == 1 else sentences.CUT
    return (said.format(spots=f"{len(high)} high spots", highest=highest, litres=litres),)


def _spot(template: str, spot: LevelSpot, point: str, units: Units) -> str:
    """Say one spot; by its photo point where there are several, for each map has its own letters."""
    return template.format(
        letter=sentences.LETTER_AT.format(letter=spot.letter, point=point) if point else spot.letter,
        where=place_text(spot.x_m, spot.y_m, units),
        area=format_area(spot.area_m2, units=units),
        deepest=format_depth(_rounded(spot.deepest_mm, units), units=units),
        mean=format_depth(_rounded(spot.mean_mm, units), units=units),
        **_volume(Volume(spot.litres, spot.low_litres, spot.high_litres), units),
    )


def _coarse(one: CutFill, units: Units) -> Iterable[str]:
    if one.seen_share >= COARSE_SHARE or not one.low:
        return
    missed = 1 - one.seen_share
    share = next(word for least, word in sentences.SHARES if missed >= least)
    spacing = format_length(one.raster.spacing_m, units=units)
    yield sentences.COARSE.format(
        spacing=spacing, share=share, finer=finer_spacing(one.raster.spacing_m, units)
    )


def _compared(review: LevelReview, first: CutFill) -> Iterable[str]:
    units = review.lawn.units
    last = next(one for one in review.maps if one.point == first.point)
    yield sentences.BEFORE_AFTER.format(
        first=date_words(first.date, review.lawn.date_form, year=True),
        last=date_words(last.date, review.lawn.date_form, year=True),
        edge=edge_text(last.straightedge_m, units),
        before=format_depth(_rounded(first.deviation_mm[1], units), units=units),
        after=format_depth(_rounded(last.deviation_mm[1], units), units=units),
        litres=litres_text(first.fill.litres, units),
        now=litres_text(last.fill.litres, units),
    )
    hows = first.hows, last.hows
    laid = laid_litres(review.lawn, first.date, last.date, last.raster.area_m2, hows=hows)
    if laid:
        found = first.fill.litres - last.fill.litres
        if found <= 0:
            yield sentences.LAID_NONE.format(laid=litres_text(laid, units))
            return
        down = math.hypot(first.fill.litres - first.fill.low_litres, last.fill.high_litres - last.fill.litres)
        up = math.hypot(first.fill.high_litres - first.fill.litres, last.fill.litres - last.fill.low_litres)
        shown = _volume(Volume(found, max(0.0, found - down), found + up), units)
        yield sentences.LAID_FOUND.format(
            laid=litres_text(laid, units), found=shown["litres"], low=shown["low"], high=shown["high"]
        )


def _layings(review: LevelReview, one: StraightedgeEstimate) -> Iterable[str]:
    units, area = review.lawn.units, review.lawn.ground_m2
    gap, low, high = (format_depth(mm, units=units) for mm in (one.gap_mm, one.low_mm, one.high_mm))
    yield sentences.STRAIGHTEDGE.format(
        layings=one.layings,
        date=date_words(one.date, review.lawn.date_form, year=True),
        gap=gap,
        low=low,
        high=high,
    )
    if area is None:
        yield sentences.NO_AREA
        return
    shown = _volume(one.fill(area), units)
    yield sentences.STRAIGHTEDGE_FILL.format(
        area=format_area(area, units=units), litres=shown["litres"], least=shown["low"], most=shown["high"]
    )


def _hollows(review: LevelReview) -> Iterable[str]:
    units = review.lawn.units
    for one in review.hollows:
        yield sentences.HOLLOW.format(
            name=sentences.HOLLOW_NAME[one.how].format(name=one.name).strip(),
            where=place_text(one.x_m, one.y_m, units),
            area=format_area(one.area_m2, units=units),
            deepest=format_depth(one.deepest_mm, units=units),
            **_volume(one.volume, units),
        )


def _fall(one: CutFill) -> Iterable[str]:
    if set(one.hows) <= TILTLESS_HOWS:
        return
    fall, measured = one.fall, one.measured_fall
    words = {"percent": fall.percent, "direction": direction_text(fall.direction_deg)}
    if not fall.is_designed:
        yield sentences.FALL_FITTED.format(**words)
        if fall.percent < LITTLE_FALL_PERCENT:
            yield sentences.LITTLE_FALL.format(percent=fall.percent)
        return
    words |= {"measured": measured.percent, "other": direction_text(measured.direction_deg)}
    is_off = _difference(fall, measured) > SAME_FALL_PERCENT
    yield (sentences.FALL_OFF if is_off else sentences.FALL_DESIGNED).format(**words)


def _difference(one: Fall, other: Fall) -> float:
    (a, b), (c, d) = one.slopes, other.slopes
    return math.hypot(a - c, b - d) / 10


def _readings(one: CutFill, lawn: Lawn) -> str:
    units = lawn.units
    return sentences.READINGS.format(
        readings=one.readings,
        date=date_words(one.date, lawn.date_form, year=True),
        hows=", ".join(one.hows),
        spacing=format_length(one.raster.spacing_m, units=units),
        scale=format_length(one.surface.scale_m, units=units),
        loo=format_depth(one.surface.loo_mm, units=units),
    )


def _volume(volume: Volume, units: Units) -> dict[str, str]:
    names = {"litres": volume.litres, "low": volume.low_litres, "high": volume.high_litres}
    return {name: litres_text(litres, units) for name, litres in names.items()}
