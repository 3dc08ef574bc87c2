"""The answer of the first screen as plain values: what to do, the one number with its ground, and the newest photo."""

from __future__ import annotations

import datetime as dt
import math
from statistics import fmean
from typing import TYPE_CHECKING, Any

from swardmark.common.phrases import percent
from swardmark.common.text import clean
from swardmark.common.units import format_area, format_cut
from swardmark.drawing.bare import outlines_of
from swardmark.drawing.ground_view import on_picture, reduced, svg_path
from swardmark.mowing.firstmow import LIKELY
from swardmark.mowing.parts import whole_interval
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.page.routes import picture_address
from swardmark.words.phrases import day_text, window_text

if TYPE_CHECKING:
    from swardmark.lawn.toml import Lawn
    from swardmark.mowing.rows import FirstMow, LawnOutlook
    from swardmark.page.desk import Desk
    from swardmark.season import Season

PICTURE_PX = 1000
MOST_CHIPS = 4


def answer(desk: Desk) -> dict[str, Any]:
    """Return what the first screen says of the lawn as it stands; without a season, what comes first."""
    season = desk.season
    if season is None:
        waits = bool(desk.lawn().photos())
        first = sentences.PHOTOS_WAIT if waits else sentences.FIRST_PHOTO
        return {"sentence": desk.standing.fault or first, "full": "", "number": None, "photo": None}
    outlook = desk.standing.outlook or season.outlook
    chips = _chips(season)
    return {
        "sentence": headline(outlook, season.lawn),
        "full": plain(outlook.first_mow.sentence),
        "number": round(season.outlook.whole.cover_pct)
        if math.isfinite(season.outlook.whole.cover_pct)
        else None,
        "ground": _ground(season),
        "change": change(season),
        "day": day_text(season.as_of, season.lawn.date_form),
        "notes": [plain(note) for note in season.outlook.notes],
        "photo": _photo(season, chips),
        "chips": [{"number": number, "text": text} for number, text, _, _ in chips],
    }


def headline(outlook: LawnOutlook, lawn: Lawn) -> str:
    """Return what to do in a sentence that fits two lines of a phone."""
    mow, units, form = outlook.first_mow, lawn.units, lawn.date_form
    cut = (
        sentences.AT.format(cut=format_cut(0.0, mow.set_mower_mm, units=units)[1]) if mow.set_mower_mm else ""
    )
    if mow.mowed_on is not None:
        return _mowed(outlook, lawn)
    if mow.overdue:
        return (sentences.OVERDUE if mow.ready else sentences.OVERDUE_SOFT).format(cut=cut)
    if not math.isfinite(outlook.whole.cover_pct) or not outlook.whole.day:
        return sentences.TOO_EARLY
    if mow.old_photo is not None:
        return sentences.PHOTO_TOO_OLD.format(day=day_text(mow.old_photo, form))
    if mow.ready:
        return sentences.MOW_NOW.format(cut=cut, steer=_steer(mow))
    if mow.checks[0].state == "met":
        return _almost(mow)
    if mow.mow_on is None:
        return sentences.NO_DAY
    window = window_text(mow.mow_earliest, mow.mow_latest, form)
    template = sentences.WAIT_LIKELY if mow.chance >= LIKELY else sentences.WAIT_MAYBE
    return template.format(window=window, chance=percent(mow.chance))


def change(season: Season) -> dict[str, Any] | None:
    """Return the change since the day of photos before: from, to, points and days; None with one day of photos.

    Two photos of a day count as their mean.
    """
    whole = season.outlook.whole
    seen: dict[float, list[float]] = {}
    for one, cover, held in zip(whole.day, whole.observed_pct, whole.held_out, strict=True):
        if not held and math.isfinite(cover):
            seen.setdefault(one, []).append(cover)
    if len(seen) < 2:
        return None
    day, last = sorted(seen)[-2:]
    before, now = fmean(seen[day]), fmean(seen[last])
    points = round(now) - round(before)
    days = round(last - day)
    template = sentences.CHANGE_DAY if days == 1 else sentences.CHANGE
    words = template.format(before=before, now=now, points=points, days=days)
    return {"before": round(before), "now": round(now), "words": words}


def _mowed(outlook: LawnOutlook, lawn: Lawn) -> str:
    mow = outlook.first_mow
    assert mow.mowed_on is not None
    if outlook.way_back:
        step = outlook.way_back[0]
        cut = format_cut(step.leaf_mm, step.cut_mm, units=lawn.units)[1]
        return sentences.MOW_NEXT.format(day=day_text(step.on, lawn.date_form), cut=cut)
    return sentences.MOWED.format(day=day_text(mow.mowed_on, lawn.date_form))


def _almost(mow: FirstMow) -> str:
    """Say what stands between cover that is there and the first mow."""
    if mow.checks[1].state == "not met":
        return sentences.WAIT_FOR_LEAF
    if any(check.state == "not met" for check in mow.checks[2:]):
        return sentences.WAIT_FOR_GROUND
    return sentences.MOW_AFTER_LOOKS.format(steer=_steer(mow))


def _steer(mow: FirstMow) -> str:
    count = len(mow.steer_round)
    if not count:
        return ""
    return sentences.STEER_ONE if count == 1 else sentences.STEER_MANY.format(count=count)


def _ground(season: Season) -> str:
    whole, units = season.outlook.whole, season.lawn.units
    if not math.isfinite(whole.cover_pct):
        return ""
    area = plain(format_area(whole.area_m2, units=units))
    low, high = whole_interval(season.outlook.first_mow.parts)
    template = sentences.GROUND_RANGE if season.outlook.first_mow.parts else sentences.GROUND
    return template.format(area=area, low=low, high=high)


def _chips(season: Season) -> list[tuple[int, str, str, str]]:
    """Return the parts that are not ready: number, words, photo point and name."""
    status = {(zone.point, zone.zone): zone.status for zone in season.outlook.zones}
    chips = []
    for number, part in enumerate(season.outlook.first_mow.steer_round[:MOST_CHIPS], start=1):
        state = status.get((part.point, part.name), "")
        template = sentences.CHIP_STATE if state else sentences.CHIP
        text = template.format(part=clean(part.name, most=28), cover=part.cover_pct, state=state)
        chips.append((number, text, part.point, part.name))
    return chips


def _photo(season: Season, chips: list[tuple[int, str, str, str]]) -> dict[str, Any]:
    place = max(season.points, key=lambda point: point.entries[-1].taken_at or dt.datetime.min)
    entry = place.entries[-1]
    assert entry.taken_at is not None
    scale = min(1.0, PICTURE_PX / max(entry.facts.size))
    width, height = (round(side * scale) for side in entry.facts.size)
    to_picture = reduced(entry.facts.to_photo, entry.facts.size, (width, height))
    zones = {zone.name: [*zone.outline_m, zone.outline_m[0]] for zone in place.zones}
    parts = []
    for number, _, point, name in chips:
        placed = on_picture([zones[name]], to_picture) if point == place.name and name in zones else []
        if placed:
            x, y = _middle(placed[0], width, height)
            parts.append({"number": number, "path": svg_path([*placed]), "x": x, "y": y})
    day = day_text(entry.taken_at.date(), season.lawn.date_form)
    return {
        "src": picture_address("first", entry.name, entry.digest[:8]),
        "width": width,
        "height": height,
        "bare": svg_path(on_picture(outlines_of(season, place, len(place.entries) - 1), to_picture)),
        "parts": parts,
        "alt": sentences.PHOTO_ALT.format(day=day),
    }


def _middle(ring: Any, width: int, height: int) -> tuple[float, float]:
    """Return where the number of a part stands: inside the part of its outline that is in the picture."""
    from shapely import Polygon, box

    seen = Polygon(ring).buffer(0).intersection(box(20, height * 0.12, width - 20, height * 0.88))
    at = seen.representative_point() if not seen.is_empty else Polygon(ring).centroid
    return round(float(at.x), 1), round(float(at.y), 1)
