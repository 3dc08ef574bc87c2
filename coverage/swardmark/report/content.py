"""What the report says, section by section, as plain values for the template."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.units import format_cut
from swardmark.measure.points import evenly
from swardmark.mowing.preparation import PreparationStep, preparation_calendar
from swardmark.relevel import advice
from swardmark.report.figures import (
    MOST_PANELS,
    cover_curves,
    figure_bytes,
    ordered_zones,
    season_comparison,
    season_means,
    zone_curve,
)
from swardmark.report.maps import ground_map_figure, relevel_map
from swardmark.report.pictures import data_address
from swardmark.report.plotting import diary_key
from swardmark.words.phrases import (
    chance_text,
    clean,
    day_text,
    gain_text,
    next_photo_dates,
    percent_text,
    window_text,
)
from swardmark.words.rows import (
    PHOTO_HEADS,
    SPOT_HEADS,
    STATUS_HEADS,
    Row,
    covers_by_photo,
    photo_row,
    spot_row,
    status_row,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.measure.points import PointReview
    from swardmark.mowing.rows import Check
    from swardmark.relevel.plan import RelevelPlan
    from swardmark.season import Season

STATE_SIGNS = {"met": "✓", "not met": "✕", "unknown": "?"}
MOST_PHOTO_ROWS = 60
GENERAL_CAUTIONS = (
    "A photo sees cover, not height and not health: probe with a straightedge and look closely before you spend.",
    "A forecast carries the recoveries of other lawns over to this one; heat, cold, water and feet change it.",
    "For products, rates and timing follow the label and the local rules; for trees and buried lines ask first.",
)


@dataclass(frozen=True)
class Number:
    """One large number: what it is, its value, and the words below it."""

    name: str
    value: str
    below: str = ""


@dataclass(frozen=True)
class Plot:
    """One figure: its title, its address, its description, and whether it needs a wide screen."""

    title: str
    address: str
    alt: str
    note: str = ""
    wide: bool = False


def head(season: Season) -> dict[str, str]:
    """Return the title line: lawn, grass, day."""
    units = season.lawn.units
    day = (season.as_of - season.day_zero).days
    return {
        "title": clean(season.lawn.name),
        "grass": season.lawn.grass,
        "as_of": f"{day_text(season.as_of, units)} {season.as_of.year}",
        "day": f"day {day} after leveling"
        if season.lawn.leveled_before(season.as_of)
        else f"day {day} of photos",
        "photos": _count(sum(len(point.entries) for point in season.points), "photo"),
    }


def verdict(season: Season) -> dict[str, object]:
    """Return the verdict sentence and the large numbers."""
    mow, whole, units = season.outlook.first_mow, season.outlook.whole, season.lawn.units
    numbers = [Number("Lawn covered", percent_text(whole.cover_pct), gain_text(whole.gain_pct_per_day))]
    if mow.mowed_on is not None:
        numbers.append(Number("First mow", day_text(mow.mowed_on, units), "done, by your diary"))
    elif mow.ready:
        numbers.append(Number("First mow", "ready", "all checks are met"))
    elif mow.mow_on is not None:
        numbers.append(Number(*_first_mow_number(season)))
    else:
        numbers.append(Number("First mow", UNKNOWN_DATE, "no date can be named yet"))
    numbers.append(Number("Lawn full", _short_full(whole, units), _full_below(whole, units)))
    return {"sentence": mow.sentence, "numbers": numbers, "notes": season.outlook.notes, "ready": mow.ready}


def what_next(season: Season) -> dict[str, object]:
    """Return the next photo's day, the checks before the first mow, what to look at, and the mower's caution."""
    mow, units = season.outlook.first_mow, season.lawn.units
    first, *later = next_photo_dates(season)
    return {
        "photo": day_text(first, units),
        "later": ", ".join(day_text(day, units) for day in later),
        "checks": () if mow.mowed_on else tuple(_check(check) for check in mow.checks),
        "look": tuple((clean(z.zone), z.look_for) for z in ordered_zones(season) if z.flagged and z.look_for),
        "caution": mow.caution,
        "heads": ("Day", "What", "Take care"),
        "steps": _preparation(season),
        "back_heads": ("Mowing", "Leaf before", "Cut at"),
        "back": _way_back(season),
    }


def curves(season: Season) -> dict[str, object]:
    """Return the figures over time."""
    whole, zones = season.outlook.whole, ordered_zones(season)
    plots = []
    if len(zones) > 1:
        alt = "All zones in one picture. " + " ".join(_curve_alt(zone) for zone in zones[:8])
        plots.append(_plot("All zones together", cover_curves(season), alt, wide=True))
    shown = [whole, *zones[:MOST_PANELS]] if len(zones) > 1 else zones
    for zone in shown:
        plots.append(
            _plot(_zone_title(zone, season), zone_curve(season, zone), _curve_alt(zone), note=zone.why)
        )
    if len(season_means(season)) > 1:
        alt = "Mean cover of each season over the days since its leveling."
        plots.append(_plot("Season against season", season_comparison(season), alt))
    hidden = max(0, len(zones) - MOST_PANELS)
    return {"plots": plots, "hidden": hidden, "diary": diary_key(season)}


def status(season: Season) -> dict[str, object]:
    """Return the status table: the whole lawn, the same without flagged zones, then every zone."""
    outlook = season.outlook
    rows = [status_row(outlook.whole, season, kind="total")]
    if outlook.whole_without_flagged is not None:
        name = "without the flagged zones"
        rows.append(status_row(outlook.whole_without_flagged, season, name=name, kind="total"))
    rows += [status_row(zone, season) for zone in ordered_zones(season)]
    return {"heads": STATUS_HEADS, "rows": rows}


def relevel(season: Season) -> dict[str, object] | None:
    """Return the re-level plan; None while it is too early for one."""
    plan = season.relevel
    if plan is None:
        return None
    spotted = {item.spot.point for item in plan.spots} | {s.point for s in plan.searches if s.left_out_m}
    spotted |= {old.point for old in plan.comparison.mended} if plan.comparison else set()
    maps = [
        _plot("The spots from above" if len(season.points) == 1 else f"Spots seen from {clean(point.name)}",
              relevel_map(season, point),
              "Map of the ground in view with each spot outlined and numbered as in the table.")
        for point in season.points if point.name in spotted
    ]  # fmt: skip
    return {
        "sentences": advice.plan_sentences(plan),
        "maps": maps,
        "key": _map_key(plan),
        "heads": SPOT_HEADS,
        "spots": [spot_row(item, season) for item in plan.spots],
        "cautions": advice.cautions(plan),
    }


def how_sure(season: Season) -> dict[str, object]:
    """Return what the figures rest on: zones, threshold, view angle, photos refused and copied."""
    entries = [entry for point in season.points for entry in point.entries]
    groups = covers_by_photo(season)
    rows = [
        photo_row(entry, groups.get((entry.point, entry.name), ()), units=season.lawn.units)
        for entry in evenly(entries, MOST_PHOTO_ROWS)
    ]
    refused = [
        {"photo": clean(e.name), "reason": clean(e.refusal), "remedy": clean(e.remedy)}
        for e in season.refused
    ]
    return {
        "lines": _sure_lines(season),
        "heads": PHOTO_HEADS,
        "photos": rows,
        "hidden": len(entries) - len(rows),
        "refused": refused,
        "copies": [(clean(copy), clean(first)) for copy, first in season.duplicates],
        "maps": [_ground_plot(season, point) for point in season.points],
    }


def cautions(season: Season) -> tuple[str, ...]:
    """Return the cautions that hold whatever the season."""
    return GENERAL_CAUTIONS


UNKNOWN_DATE = "open"


def _map_key(plan: RelevelPlan) -> str:
    """Say what the outlines on the map of spots mean; only those that are on it."""
    said = ["Solid outline: sand in the coming season."] if plan.chosen else []
    if len(plan.chosen) < len(plan.spots):
        said.append("Dashed: no sand yet.")
    if any(search.left_out_m for search in plan.searches):
        said.append("Dotted: left out.")
    if plan.comparison and plan.comparison.mended:
        said.append("Dash and dot: mended since the season before.")
    return " ".join(said)


def _first_mow_number(season: Season) -> tuple[str, str, str]:
    mow, units = season.outlook.first_mow, season.lawn.units
    assert mow.mow_on is not None
    window = window_text(mow.mow_earliest, mow.mow_latest, units)
    if mow.days_to_go == 0:
        return "First mow", "after the checks", "the cover is there"
    return "First mow", day_text(mow.mow_on, units), f"{window}, chance {chance_text(mow.chance)}"


def _short_full(zone: ZoneOutlook, units: str) -> str:
    if zone.status == "full":
        return "now"
    return UNKNOWN_DATE if zone.full_on is None else day_text(zone.full_on, units)


def _full_below(zone: ZoneOutlook, units: str) -> str:
    if zone.full_on is None or zone.status == "full":
        return "" if zone.status == "full" else "not in sight yet"
    return (
        f"{window_text(zone.full_earliest, zone.full_latest, units)}, chance {chance_text(zone.chance_full)}"
    )


def _check(check: Check) -> dict[str, str]:
    return {
        "name": check.name,
        "state": check.state,
        "sign": STATE_SIGNS[check.state],
        "detail": check.detail,
    }


def _preparation(season: Season) -> tuple[Row, ...]:
    lawn = season.lawn
    coming = [day for day in lawn.leveling_dates if day > season.as_of]
    if not coming:
        return ()
    heights = {"usual_mm": lawn.mowing.usual_height_mm, "scalp_mm": lawn.mowing.scalp_height_mm}
    steps: Sequence[PreparationStep] = preparation_calendar(coming[0], units=lawn.units, **heights)
    return tuple(Row((day_text(s.date, lawn.units), s.what, s.caution)) for s in steps)


def _way_back(season: Season) -> tuple[Row, ...]:
    """Return the mowings from the first to the usual height of cut; none while the first cannot be dated."""
    units = season.lawn.units
    steps = season.outlook.way_back
    return tuple(Row((day_text(s.on, units), *format_cut(s.leaf_mm, s.cut_mm, units=units))) for s in steps)


def _zone_title(zone: ZoneOutlook, season: Season) -> str:
    name = clean(zone.zone, most=60)
    point = f" ({clean(zone.point, most=40)})" if len(season.points) > 1 and zone.point != "all" else ""
    return f"{name[0].upper()}{name[1:]}{point}: {zone.status}"


def _curve_alt(zone: ZoneOutlook) -> str:
    name = clean(zone.zone)
    if not zone.day:
        return f"{name}: no photo yet."
    said = f"{name}: {zone.observed_pct[0]:.0f} % on day {zone.day[0]:.0f}"
    if len(zone.day) > 1:
        said += f", {zone.observed_pct[-1]:.0f} % on day {zone.day[-1]:.0f}"
    if zone.band is not None:
        band = zone.band
        said += f"; forecast for day {band.day[-1]:.0f}: {band.low80[-1]:.0f} to {band.high80[-1]:.0f} %"
    return said + "."


def _plot(title: str, figure: Figure, alt: str, *, note: str = "", wide: bool = False) -> Plot:
    return Plot(title, data_address(figure_bytes(figure, "svg"), "image/svg+xml"), alt, note, wide)


def _ground_plot(season: Season, point: PointReview) -> Plot:
    names = ", ".join(clean(zone.name, most=40) for zone in point.zones[:12])
    alt = f"Map of the ground in view on the newest date with the zones {names}."
    address = data_address(figure_bytes(ground_map_figure(season, point), "png"), "image/png")
    title = "Where the zones lie" if len(season.points) == 1 else f"Zones of {clean(point.name)}"
    return Plot(title, address, alt)


def _sure_lines(season: Season) -> list[str]:
    finite = [c.cover for c in season.covers if math.isfinite(c.cover.view_deg)]
    lines = []
    if finite:
        view = np.average([c.view_deg for c in finite], weights=[max(c.area_m2, 1e-9) for c in finite])
        half = np.mean([(c.high_pct - c.low_pct) / 2 for c in finite])
        steep = " Photograph from higher up (a firm step, a porch) and closer in." if view > 55 else ""
        lines.append(f"The ground was seen {view:.0f} degrees from the vertical on average.{steep}")
        lines.append(f"The 95 % interval of one measured cover is about {half:.0f} points either way.")
    for point in season.points:
        value = point.threshold
        where = "" if len(season.points) == 1 else f" at {clean(point.name)}"
        lines.append(f"A point counts as half leaf{where} at an excess green of {value.value:.3f} "
                     f"(from: {value.source}; likely range {value.low:.3f} to {value.high:.3f}).")  # fmt: skip
        if point.zones_are_patches:
            lines.append(f"No zones are drawn{where}: the ground in view was divided into named patches, near left "
                         "to far right. Draw your own under [[zone]] in lawn.toml.")  # fmt: skip
    lines.append(season.outlook.first_mow.footnote)
    lines.append(f"Time axis of the forecast: {season.outlook.axis_method}.")
    return lines


def _count(number: int, name: str) -> str:
    return f"{number} {name}" if number == 1 else f"{number} {name}s"
