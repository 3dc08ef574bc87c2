"""The tables that swardmark writes: their columns, what each means, and how they become CSV.

The columns are frozen: scripts read them by name. Units stand in the names; an empty field means unknown, never 0.
Text that a spreadsheet would run as a formula is written with a leading apostrophe.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from swardmark.common.files import back_up, write_whole
from swardmark.common.text import plain_cell
from swardmark.common.units import Units
from swardmark.forecast.past import PAST_COLUMNS, PAST_FILE, PastSeason, past_rows, read_past
from swardmark.forecast.rows import ZoneOutlook
from swardmark.lawn.toml import Lawn
from swardmark.level.review import LevelReview
from swardmark.level.rows import LEVEL_COLUMNS, LEVEL_SPOT_COLUMNS, level_rows, level_spot_rows
from swardmark.measure.covers import LawnCovers
from swardmark.relevel.advice import where_is
from swardmark.relevel.plan import RelevelPlan, SpotPlan
from swardmark.relevel.why import why_of
from swardmark.season import Season

COVER_COLUMNS = {
    "taken_at": "when the photo was taken, local time",
    "photo": "the photo's name below photos/",
    "point": "the photo point",
    "zone": "the zone, or the named patch",
    "day": "days since the leveling before the photo (negative before the first)",
    "cover_pct": "cover estimated for looking straight down, percent",
    "cover_low_pct": "lower end of its 95 % interval",
    "cover_high_pct": "upper end of its 95 % interval",
    "seen_cover_pct": "cover as the slanting photo shows it, percent",
    "readable_pct": "share of the points seen that were neither too dark nor clipped, percent",
    "view_deg": "mean view angle from the vertical, degrees",
    "area_m2": "ground of the zone that was seen, square meters",
    "threshold": "excess green of a point that is half leaf",
    "notes": "what was odd, separated by semicolons",
}
OUTLOOK_COLUMNS = {
    "point": "the photo point; all for the whole lawn",
    "zone": "the zone, or: rest of the lawn, whole lawn",
    "status": "filling in, slow, stalled, losing ground, full, or too early to say",
    "cover_pct": "cover on the day of the last photo, percent",
    "gain_pct_per_day": "points of cover gained a day",
    "mow_on": "day on which the cover for the first mow is reached",
    "mow_earliest": "start of its 80 % window",
    "mow_latest": "end of its 80 % window",
    "full_on": "day on which the lawn counts as full",
    "full_earliest": "start of its 80 % window",
    "full_latest": "end of its 80 % window",
    "chance_full_by_day28": "chance, 0 to 1, of being full by day 28",
    "why": "the status in one sentence",
}
SPOT_COLUMNS = {
    "spot": "its number on the picture, near to far",
    "point": "the photo point",
    "zone": "the zone its middle lies in",
    "x_m": "its middle: meters from the square's corner 0 along the near side",
    "y_m": "and meters away from you along the left side",
    "area_m2": "its area, square meters",
    "cover_pct": "cover inside it on the last dates, percent",
    "lag_days": "days behind the lawn, so far where it is still bare; empty where heights alone show it",
    "depth_mm": "mean depth below the straightedge, millimeters; empty if it was not measured",
    "sand_litres": "sand to fill it, liters; 0 unless it is measured and low",
    "passes": "passes it takes",
    "priority": "1 is worth most per liter of sand",
    "seasons_seen": "seasons in which it was a spot",
    "why": "why it is one, and what speaks against plain sand there",
}


def cover_rows(season: LawnCovers) -> list[dict[str, Any]]:
    """Return the rows of cover.csv."""
    return [
        {
            "taken_at": row.taken_at.isoformat(sep="T", timespec="seconds"),
            "photo": row.photo,
            "point": row.point,
            "zone": row.zone,
            "day": row.day,
            "cover_pct": _rounded(row.cover.cover_pct, 2),
            "cover_low_pct": _rounded(row.cover.low_pct, 2),
            "cover_high_pct": _rounded(row.cover.high_pct, 2),
            "seen_cover_pct": _rounded(row.cover.seen_pct, 2),
            "readable_pct": _rounded(row.cover.readable_pct, 2),
            "view_deg": _rounded(row.cover.view_deg, 1),
            "area_m2": _rounded(row.cover.area_m2, 4),
            "threshold": _rounded(row.threshold, 4),
            "notes": "; ".join(row.notes),
        }
        for row in season.covers
    ]


def outlook_rows(season: Season) -> list[dict[str, Any]]:
    """Return the rows of outlook.csv: one per zone, then the whole lawn."""
    return [_outlook_row(row) for row in (*season.outlook.zones, season.outlook.whole)]


def outlook_details(season: Season) -> list[dict[str, Any]]:
    """Return the rows of outlook.csv with what JSON has room for: the chance beside each date, what to look at."""
    rows = (*season.outlook.zones, season.outlook.whole)
    extra = [
        {
            "chance_mow": _rounded(row.chance_mow, 3),
            "chance_full": _rounded(row.chance_full, 3),
            "look_for": row.look_for,
        }
        for row in rows
    ]
    return [_outlook_row(row) | more for row, more in zip(rows, extra, strict=True)]


def spots_table(plan: RelevelPlan) -> list[dict[str, object]]:
    """Return one row for each spot: the columns of spots.csv, then what the JSON document adds to them.

    None is an empty cell. `SPOT_COLUMNS` come first; beyond them stand the place in words, the outline in
    meters as well-known text (OGC Simple Features), the most sand in litres where the dip is not measured,
    and the season and passes of the plan.
    """
    return [_spot_row(spot, plan.lawn.units) | _more_of_spot(spot, plan.lawn) for spot in plan.spots]


SEASON_TABLES = ("cover.csv", "outlook.csv", "spots.csv", "level.csv", "level_spots.csv")


def season_tables(season: Season) -> dict[str, str]:
    """Return every table of a season as CSV text, by its file name; the heights only where some were measured."""
    tables = {"cover.csv": cover_text(season), "outlook.csv": to_csv(OUTLOOK_COLUMNS, outlook_rows(season))}
    if season.relevel is not None:
        tables["spots.csv"] = to_csv(SPOT_COLUMNS, spots_table(season.relevel))
    if not season.level.is_empty:
        tables |= level_texts(season.level)
    return tables


def cover_text(season: LawnCovers) -> str:
    """Return cover.csv as text."""
    return to_csv(COVER_COLUMNS, cover_rows(season))


def level_texts(review: LevelReview) -> dict[str, str]:
    """Return level.csv and level_spots.csv as text."""
    return {
        "level.csv": to_csv(LEVEL_COLUMNS, level_rows(review)),
        "level_spots.csv": to_csv(LEVEL_SPOT_COLUMNS, level_spot_rows(review)),
    }


def write_cover(season: LawnCovers, *, folder: Path) -> Path:
    """Write cover.csv into a folder."""
    return write_whole(folder / "cover.csv", cover_text(season))


def write_past(seasons: Iterable[PastSeason], *, folder: Path) -> Path | None:
    """Write past.csv into a folder: these seasons, and those that it holds already; None where there are none."""
    path = folder / PAST_FILE
    known = read_past(path)
    rows = past_rows(known, seasons)
    if rows and not known and path.is_file() and path.stat().st_size:
        back_up(path)  # of other columns: seasons whose photos may be gone
    return write_whole(path, to_csv(PAST_COLUMNS, rows)) if rows else None


def write_outlook(season: Season, *, folder: Path) -> Path:
    """Write outlook.csv into a folder."""
    return write_whole(folder / "outlook.csv", to_csv(OUTLOOK_COLUMNS, outlook_rows(season)))


def write_spots(plan: RelevelPlan, *, folder: Path) -> Path:
    """Write spots.csv into a folder."""
    return write_whole(folder / "spots.csv", to_csv(SPOT_COLUMNS, spots_table(plan)))


def write_level(review: LevelReview, *, folder: Path) -> list[Path]:
    """Write level.csv and level_spots.csv into a folder."""
    return [write_whole(folder / name, text) for name, text in level_texts(review).items()]


def to_csv(columns: Iterable[str], rows: Sequence[Mapping[str, Any]]) -> str:
    """Write rows as CSV: UTF-8 text, a header, LF line ends, empty fields for None and NaN."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    names = list(columns)
    writer.writerow(names)
    writer.writerows([[_field(row[name]) for name in names] for row in rows])
    return out.getvalue()


def to_frame(columns: Iterable[str], rows: Sequence[Mapping[str, Any]]) -> Any:
    """Return rows as a pandas DataFrame with the given columns."""
    import pandas as pd

    return pd.DataFrame(list(rows), columns=list(columns))


def for_json(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return rows with days as text and NaN as None, ready for a JSON document."""
    return [{key: _plain(value) for key, value in row.items()} for row in rows]


def _outlook_row(row: ZoneOutlook) -> dict[str, Any]:
    places = {"cover_pct": 1, "gain_pct_per_day": 2, "chance_full_by_day28": 3}
    values = {name: getattr(row, name) for name in OUTLOOK_COLUMNS}
    return {
        name: _rounded(value, places[name]) if name in places else value for name, value in values.items()
    }


def _spot_row(plan: SpotPlan, units: Units) -> dict[str, object]:
    spot = plan.spot
    values = (
        spot.number,
        spot.point,
        spot.zone,
        round(spot.x_m, 2),
        round(spot.y_m, 2),
        round(spot.area_m2, 3),
        round(spot.cover_pct, 1) if math.isfinite(spot.cover_pct) else None,
        round(spot.lag_days, 1) if math.isfinite(spot.lag_days) else None,
        None if plan.depth_mm is None else round(plan.depth_mm, 1),
        round(plan.litres, 1),
        plan.passes,
        plan.priority,
        spot.seasons_seen,
        why_of(plan, units=units),
    )
    return dict(zip(SPOT_COLUMNS, values, strict=True))


def _more_of_spot(plan: SpotPlan, lawn: Lawn) -> dict[str, object]:
    from shapely import to_wkt

    return {
        "where": where_is(plan, lawn),
        "outline_wkt": to_wkt(plan.spot.polygon, rounding_precision=3),
        "cause": plan.cause,
        "least_litres": round(plan.least_litres, 1),
        "most_litres": round(plan.most_litres, 1),
        "season": plan.season,
        "passes_now": plan.passes_now,
    }


def _rounded(value: float, places: int) -> float:
    return round(value, places) + 0.0 if math.isfinite(value) else math.nan


def _plain(value: Any) -> Any:
    if isinstance(value, dt.date):
        return value.isoformat()
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _field(value: Any) -> Any:
    if type(value) is float:  # most cells of a long table
        return value if math.isfinite(value) else ""
    value = _plain(value)
    if isinstance(value, str):
        return plain_cell(value.replace("\r\n", "\n").replace("\r", "\n"))
    return "" if value is None else value
