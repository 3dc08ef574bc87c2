"""What the page shows, as plain values for its elements: no element is made here, so that all of it can be tested."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
from collections.abc import Iterable
from typing import Any

from swardmark.canopy.cover import total_cover
from swardmark.common.errors import PhotoRefused
from swardmark.common.phrases import DateForm
from swardmark.drawing.ground_view import common_window
from swardmark.drawing.palette import WHOLE_LOOK, look_of
from swardmark.lawn.edits.aside import Where, marks_aside, moment_of, photos_aside
from swardmark.lawn.marks import PhotoMarks
from swardmark.lawn.toml import MAIN_POINT, Lawn, PhotoFile
from swardmark.measure.points import PointReview, findings_of
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.places.plain import plain
from swardmark.page.routes import MOST_PHOTO_BYTES, ground_address, picture_address
from swardmark.photo.decode import read_bytes
from swardmark.photo.findings import Finding
from swardmark.photo.header import read_header
from swardmark.record.store import Entry
from swardmark.relevel.planning import RelevelPlan
from swardmark.words.phrases import day_text, next_photo_dates
from swardmark.words.rows import covers_by_photo

ASIDE: dict[Where, str] = {"left_out": "left", "bin": "binned"}
DASHES = {"-": "", "--": "6 4", "-.": "8 3 2 3"}


def photo_rows(desk: Desk) -> list[dict[str, Any]]:
    """Return a row for each photo of the lawn, the newest first."""
    lawn = desk.lawn()
    entries = {entry.name: entry for entry in desk.standing.entries}
    copies = dict(desk.standing.duplicates)
    found = _findings(desk.standing.entries)
    marks = marks_aside(desk.folder, "left_out")
    rows = [
        _photo_row(
            file,
            entries.get(file.name),
            copies.get(file.name),
            marks.get(file.name),
            found.get(file.name, ()),
        )
        for file in lawn.photos()
    ]
    rows.sort(key=lambda row: (row["when"], row["name"]), reverse=True)
    for where, state in ASIDE.items():
        own = marks if where == "left_out" else marks_aside(desk.folder, where)
        aside = [
            _aside_row(file, where, state, own.get(file.name)) for file in photos_aside(desk.folder, where)
        ]
        rows += sorted(aside, key=lambda row: row["when"], reverse=True)
    _add_noted(rows, desk)
    covers = _covers(desk)
    return [_labeled(row, covers.get(row["name"]), lawn.date_form) for row in rows]


def _add_noted(rows: list[dict[str, Any]], desk: Desk) -> None:
    """Add to the photos' rows what is odd on their ground."""
    points = desk.season.points if desk.season is not None else ()
    noted = {one.photo: one.what for point in points for one in point.noted}
    for row in rows:
        said = (plain(f"{what[:1].upper()}{what[1:]}.") for what in noted.get(row["name"], ()))
        row["notes"] = list(dict.fromkeys((*row["notes"], *said)))


def _labeled(row: dict[str, Any], cover: float | None, form: DateForm) -> dict[str, Any]:
    """Add to a photo's row what the grid says of it."""
    when = row.pop("when")
    known = when not in (dt.datetime.min, dt.datetime.max)
    day = day_text(when.date(), form, year=True) if known else ""
    said = sentences.SAID[row["state"]]
    words = sentences.COVER_OF_PHOTO.format(cover=cover) if cover is not None and math.isfinite(cover) else ""
    label = sentences.PHOTO_LABEL.format(day=day or row["name"], said=words or said)
    signs = {"refused": "!", "left": "–", "binned": "×", "waiting": "…"}
    sign = signs.get(row["state"], "!" if row["notes"] else "")
    short, iso = (day_text(when.date(), form), when.date().isoformat()) if known else ("", "")
    grid = {"day": short, "date": day, "iso": iso, "said": said, "cover": words, "label": label}
    return row | grid | {"short": sentences.UNDATED, "sign": sign}


def _covers(desk: Desk) -> dict[str, float]:
    """Return the cover of each measured photo over all its parts, percent."""
    season = desk.season
    if season is None:
        return {}
    found = {}
    for (_, name), rows in covers_by_photo(season).items():
        seen = [row.cover for row in rows]
        found[name] = total_cover(seen, [cover.area_m2 for cover in seen])
    return found


def _aside_row(file: PhotoFile, where: Where, state: str, marks: PhotoMarks | None) -> dict[str, Any]:
    view = picture_address("view", f"{where}/{file.name}")
    when, source = moment_of(file, marks)
    return {
        "name": file.name, "where": where, "point": file.point, "when": when or dt.datetime.min, "state": state,
        "from": sentences.FROM[source],
        "thumb": picture_address("thumb", f"{where}/{file.name}"), "view": view, "size": None, "corners": None,
        "found": "", "notes": [], "reason": "", "remedy": "",
    }  # fmt: skip


def intake(desk: Desk) -> dict[str, Any]:
    """Return what the camera needs: each photo point's first photo, when the next one is due, and the limit."""
    points = photo_points(desk)
    return {
        "ghosts": {point: ghost_address(desk, point) for point in points},
        "due": due_text(desk),
        "points": points,
        "most_mb": MOST_PHOTO_BYTES // 1_000_000,
        "lawn": {"key": lawn_key(desk), "name": desk.lawn().name, "run": desk.notes.run},
        "waits": sentences.WAITS,
    }


def lawn_key(desk: Desk) -> str:
    """Return what tells this lawn's photos from another's that wait in the same browser: a digest of its folder."""
    return hashlib.sha256(str(desk.folder).encode()).hexdigest()[:16]


def refusal_rows(desk: Desk) -> list[tuple[str, str]]:
    """Return name and sentence of each photo that was sent and not taken in."""
    return [(r.where, sentences.REFUSED.format(what=r.what, remedy=r.remedy)) for r in desk.upload_refusals]


def due_text(desk: Desk) -> str:
    """Return when the next photo is due, in words."""
    season = desk.season
    if season is None:
        return sentences.FIRST_PHOTO if desk.has_lawn else ""
    day = next_photo_dates(season, count=1)[0]
    words = day_text(day, season.lawn.date_form)
    if day <= dt.date.today():
        return sentences.DUE_TODAY.format(day=words)
    return sentences.DUE.format(day=words)


def photo_points(desk: Desk) -> list[str]:
    """Return the names of the lawn's photo points: main first; main alone if there is none."""
    lawn = desk.lawn()
    named = [*(point.name for point in lawn.point), *(file.point for file in lawn.photos())]
    return sorted(dict.fromkeys(named), key=lambda name: name != MAIN_POINT) or [MAIN_POINT]


def ghost_address(desk: Desk, point: str) -> str:
    """Return the address of a photo point's first measured photo, or of its first photo, or ""."""
    for entry in desk.standing.entries:
        if entry.point == point and entry.is_measured:
            return picture_address("view", entry.name, entry.digest[:8])
    return ""


def ground_sheet(desk: Desk, lawn: Lawn, revision: str, point: str) -> dict[str, Any]:
    """Return the properties of the sheet on which zones are drawn."""
    place = next((p for p in desk.season.points if p.name == point), None) if desk.season else None
    empty = {"picture": "", "frame": {"left": -2.0, "bottom": -1.0, "right": 3.0, "top": 3.5}}
    return {
        **(_ground(place) if place is not None else empty),
        "side": lawn.side_of(point),
        "zones": zone_dicts(lawn, point),
        "outline": [list(corner) for corner in lawn.lawn_outline_m or ()],
        "revision": revision,
        "us": lawn.units == "us",
    }


def spot_sheets(desk: Desk, plan: RelevelPlan) -> list[dict[str, Any]]:
    """Return the properties of a sheet with the spots for each photo point that has any."""
    sheets = []
    chosen = {item.spot.number for item in plan.chosen}
    for place in desk.season.points:
        spots = [
            {
                "number": s.number, "x": s.x_m, "y": s.y_m, "chosen": s.number in chosen,
                "outline_m": [list(corner) for corner in s.outline_m],
            }
            for s in (item.spot for item in plan.spots)
            if s.point == place.name
        ]  # fmt: skip
        if spots:
            sheets.append({**_ground(place), "spots": spots})
    return sheets


def zone_dicts(lawn: Lawn, point: str) -> list[dict[str, Any]]:
    """Return a photo point's zones for the sheet."""
    return [
        {"name": z.name, "was": z.name, "outline_m": [list(corner) for corner in z.outline_m]}
        for z in lawn.zones_of(point)
    ]


def curves(desk: Desk) -> dict[str, Any]:
    """Return the properties of the curves: each zone and the whole lawn."""
    season = desk.season
    forecast = season.outlook
    rows = [*forecast.zones, forecast.whole] if len(forecast.zones) > 1 else [*forecast.zones]
    lines = []
    for number, row in enumerate(rows):
        look = WHOLE_LOOK if number and row is forecast.whole else look_of(number)
        dash = (
            DASHES.get(look.dash)
            if isinstance(look.dash, str)
            else " ".join(str(n * 3) for n in look.dash[1])
        )
        lines.append({
            "name": row.zone, "color": look.color, "dash": dash or "",
            "day": list(row.day), "pct": [_finite(v) for v in row.observed_pct], "held": list(row.held_out),
            "band": _band(row.band),
        })  # fmt: skip
    zero = season.day_zero
    marks = [
        {"day": (line.date - zero).days, "what": " ".join(f"{line.what} {line.amount} {line.note}".split())}
        for line in season.diary
        if line.date >= zero
    ]
    return {
        "lines": lines,
        "mow": season.lawn.outlook.first_mow_cover_pct,
        "marks": marks,
        "zero": day_text(zero, season.lawn.date_form),
        "zero_iso": zero.isoformat(),
        "date_form": season.lawn.date_form,
        "label": sentences.CURVES_LABEL.format(zones=", ".join(row.zone for row in rows)),
    }


def wipe_days(desk: Desk, point: str) -> list[dict[str, str]]:
    """Return the days of a photo point for the wipe, oldest first."""
    season = desk.season
    place = next(p for p in season.points if p.name == point)
    mark = str(hash(common_window(place.maps)) % 10**6)
    days = [entry.taken_at.date() for entry in place.entries]
    rows = []
    for n, (day, entry) in enumerate(zip(days, place.entries, strict=True)):
        label = day_text(day, season.lawn.date_form)
        if days.count(day) > 1:
            label = sentences.ONE_OF_A_DAY.format(day=label, number=days[: n + 1].count(day))
        address = ground_address(point, entry.name, entry.digest[:8] + mark)
        rows.append({"label": label, "picture": address})
    return rows


def _ground(place: PointReview) -> dict[str, Any]:
    """Return address and frame in meters of a photo point's newest picture of the ground."""
    window, newest = common_window(place.maps), place.entries[-1]
    frame = {name: round(float(getattr(window, name)), 3) for name in ("left", "bottom", "right", "top")}
    mark = newest.digest[:8] + str(hash(window) % 10**6)
    return {"picture": ground_address(place.name, newest.name, mark), "frame": frame}


def _findings(entries: Iterable[Entry]) -> dict[str, tuple[Finding, ...]]:
    """Return what was found wanting in each measured photo, by name."""
    by_point: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.is_measured:
            by_point.setdefault(entry.point, []).append(entry)
    return {
        e.name: found for own in by_point.values() for e, found in zip(own, findings_of(own), strict=True)
    }


def _photo_row(
    file: PhotoFile,
    entry: Entry | None,
    original: str | None,
    marks: PhotoMarks | None,
    found: tuple[Finding, ...],
) -> dict[str, Any]:
    version = str(file.size_and_time()[1] % 10**9)
    row: dict[str, Any] = {
        "name": file.name, "where": "", "point": file.point, "when": dt.datetime.max, "state": "waiting", "from": "",
        "thumb": picture_address("thumb", file.name, version), "view": picture_address("view", file.name, version),
        "size": None, "corners": None, "found": "", "notes": [], "reason": "", "remedy": "",
    }  # fmt: skip
    if original is not None:
        return {
            **row,
            "state": "refused",
            "reason": sentences.SAME_PHOTO.format(photo=original),
            "when": moment_of(file, marks)[0] or dt.datetime.min,
        }
    if entry is None:
        return row
    row |= {
        "notes": [plain(note) for note in (*(finding.words for finding in found), *entry.facts.notes)],
        "when": entry.taken_at or dt.datetime.min,
    }
    row |= {"size": _size(file, entry), "from": sentences.FROM.get(entry.taken_from, entry.taken_from)}
    if entry.facts.corners_px and row["size"]:
        width, height = row["size"]
        row["corners"] = [[(x + 0.5) / width, (y + 0.5) / height] for x, y in entry.facts.corners_px]
    if not entry.is_measured:
        return {
            **row,
            "state": "refused",
            "reason": plain(f"{entry.refusal}."),
            "remedy": plain(f"{entry.remedy}."),
        }
    return {**row, "state": "measured", "found": sentences.SQUARE_FOUND.format(how=entry.facts.square)}


def _size(file: PhotoFile, entry: Entry) -> list[int] | None:
    """Return the upright photo's size, read from its header where the record does not hold it."""
    if entry.facts.size != (0, 0):
        return list(entry.facts.size)
    try:
        header = read_header(read_bytes(file.path), name=file.name)
    except PhotoRefused:
        return None
    return list(header.size if header.orientation < 5 else header.size[::-1])


def _band(band: Any) -> dict[str, list[float | None]] | None:
    if band is None:
        return None
    return {name: [_finite(v) for v in getattr(band, name)] for name in ("day", "median", "low80", "high80")}


def _finite(value: float) -> float | None:
    return round(float(value), 2) if math.isfinite(value) else None
