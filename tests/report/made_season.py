"""An invented season made by hand: every number that the report shows is set here, nothing is measured or forecast.

So the tests of the report hold still while measuring and forecasting are improved. Photos are painted from the same
ground that the maps hold, through the same camera.
"""

from __future__ import annotations

import datetime as dt
import io
import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from swardmark.canopy.cover import Cover
from swardmark.canopy.index import NOT_SEEN, GroundMap, byte_of
from swardmark.canopy.scale import leaf_scale, value_counts
from swardmark.forecast.rows import ForecastBand, ZoneOutlook
from swardmark.ground.plane import apply
from swardmark.lawn.readings import parse_diary
from swardmark.lawn.toml import Lawn, Leveling, Mowing, Zone
from swardmark.measure.points import PointReview, ZoneCover
from swardmark.mowing.rows import Check, FirstMow, LawnOutlook, MowStep
from swardmark.record.store import Entry, PhotoFacts
from swardmark.season import Season

ZERO = dt.date(2026, 6, 3)
DAYS = (0, 4, 8, 12)
SIZE = (800, 600)
ZONES = {
    "by the gate": (
        ((-1.0, 1.2), (0.4, 1.2), (0.4, 2.4), (-1.0, 2.4)),
        (6.0, 14.0, 37.0, 66.0),
        "filling in",
    ),
    "low corner": (((1.2, 0.6), (2.0, 0.6), (2.0, 2.0), (1.2, 2.0)), (5.0, 6.0, 8.0, 9.0), "stalled"),
}
AREAS_M2 = {66.0: 1.68, 9.0: 1.12}
"""Ground of each zone by its last cover; the whole lawn has both."""
DIARY = "date,what,amount,note\n2026-06-04,watered,,\n2026-06-08,fed,,\n2026-06-08,rain,5 mm,\n"
SAND, LEAF, PAPER = (206, 180, 140), (70, 120, 50), (230, 230, 228)


def made_season(
    folder: Path,
    *,
    names: tuple[str, str] = ("by the gate", "low corner"),
    units: str = "metric",
    photos: bool = True,
) -> Season:
    """Return the season, with its photos painted into `folder`."""
    lawn = _lawn(folder, names, units)
    maps = tuple(_ground_map(day) for day in DAYS)
    entries = tuple(_entry(day) for day in DAYS)
    if photos:
        (folder / "photos").mkdir(parents=True, exist_ok=True)
        for entry, ground_map in zip(entries, maps, strict=True):
            (folder / "photos" / entry.name).write_bytes(_photo(ground_map))
    scale = leaf_scale(sum(map(value_counts, maps)), setting=0.1)
    scale = replace(scale, value=0.1, low=0.075, high=0.125, source="photos")
    point = PointReview("main", 1.0, entries, maps, scale, lawn.zone, False)
    season = Season(
        lawn=lawn,
        as_of=ZERO + dt.timedelta(days=DAYS[-1]),
        points=(point,),
        covers=tuple(c for n, day in enumerate(DAYS) for c in _covers(lawn, n, day)),
        outlook=made_outlook(lawn),
        readings=(),
        diary=parse_diary(DIARY),
        refused=(_refused(),),
        duplicates=(("copy-of-day-4.jpg", "day-4.jpg"),),
    )
    season.__dict__["relevel"] = None
    return season


def renamed(season: Season, *, zone: str) -> Season:
    """Return a season of one zone with another name."""
    point = season.points[0]
    first = point.zones[0]
    zones = (first.model_copy(update={"name": zone}),)
    covers = tuple(replace(c, zone=zone) for c in season.covers if c.zone == first.name)
    rows = (replace(season.outlook.zones[0], zone=zone),)
    outlook = replace(season.outlook, zones=rows, whole_without_flagged=None)
    new = replace(season, points=(replace(point, zones=zones),), covers=covers, outlook=outlook)
    new.__dict__["relevel"] = None
    return new


def made_outlook(lawn: Lawn) -> LawnOutlook:
    """Return an outlook with dates, bands and a flagged zone."""
    first, second = (zone.name for zone in lawn.zone)
    good = _zone(first, 66.0, 7.25, mow=13, full=22, chance=0.93)
    bad = replace(
        _zone(second, 9.0, 0.25, mow=None, full=None, chance=0.04),
        status="stalled",
        why="9 % covered on day 12 and hardly gaining.",
        look_for="Probe the sand with a ruler.",
    )
    whole = _zone("whole lawn", 43.0, 4.5, mow=17, full=30, chance=0.41, point="all")
    back = (
        MowStep(ZERO + dt.timedelta(days=17), 30.0, 20.0),
        MowStep(ZERO + dt.timedelta(days=25), 40.0, 26.7),
    )
    notes = ("The diary's last rain was 4 days ago.",)
    return LawnOutlook(
        zones=(good, bad),
        whole=whole,
        whole_without_flagged=good,
        first_mow=_first_mow(),
        notes=notes,
        axis_method="calendar days",
        day_zero=ZERO,
        as_of=ZERO + dt.timedelta(days=DAYS[-1]),
        way_back=back,
    )


def _lawn(folder: Path, names: tuple[str, str], units: str) -> Lawn:
    zones = tuple(
        Zone(name=name, outline_m=shape[0]) for name, shape in zip(names, ZONES.values(), strict=True)
    )
    mowing = Mowing(usual_height_mm=30, target_height_mm=20, scalp_height_mm=12)
    levels = (Leveling(date=ZERO), Leveling(date=dt.date(2026, 8, 12)))
    return Lawn(
        name="Plover Yard",
        grass="zoysiagrass",
        units=units,
        leveling=levels,
        zone=zones,
        mowing=mowing,
        folder=folder,
    )


def _zone(
    name: str, cover: float, gain: float, *, mow, full, chance: float, point: str = "main"
) -> ZoneOutlook:
    def window(day):
        return (None,) * 3 if day is None else tuple(ZERO + dt.timedelta(days=day + n) for n in (0, -2, 4))

    seen = next((shape[1] for shape in ZONES.values() if shape[1][-1] == cover), (5.5, 11.0, 26.0, cover))
    return ZoneOutlook(
        point, name, "filling in", cover, gain, *window(mow), *window(full), chance, f"{cover:.0f} % on day 12.", "",
        AREAS_M2.get(cover, 2.8), tuple(map(float, DAYS)), seen, (False, False, False, name == "low corner"),
        _band(seen[-1]), 0.97, chance,
    )  # fmt: skip


def _band(last: float) -> ForecastBand:
    days = np.arange(0, 41)
    middle = 96 / (1 + np.exp(-(days - 12 - 8 * (1 - last / 66)) / 3.5))
    spread = np.minimum(0.25 * days, 12)
    low80, high80 = np.maximum(middle - spread, 0), np.minimum(middle + spread, 100)
    low95, high95 = np.maximum(middle - 1.6 * spread, 0), np.minimum(middle + 1.6 * spread, 100)
    dates = tuple(ZERO + dt.timedelta(days=int(day)) for day in days)
    return ForecastBand(
        dates, tuple(map(float, days)), *(tuple(v) for v in (middle, low80, high80, low95, high95))
    )


def _first_mow() -> FirstMow:
    checks = (
        Check("cover", "not met", "43 % covered, 70 % wanted"),
        Check("leaf height", "met", "31 mm of 30 mm"),
        Check("surface is dry", "unknown", "check it"),
    )
    days = [ZERO + dt.timedelta(days=n) for n in (17, 15, 21)]
    sentence = "The first mow is likely on 20 June, between 18 and 24 June in four cases of five; the chance is 97 %."
    return FirstMow(
        False, sentence, *days, 5, 0.97, checks, ("cover: 43 % covered, 70 % wanted", "surface is dry: check it"),
        "Pick up stones first, guards on, closed shoes.",
    )  # fmt: skip


def _covers(lawn: Lawn, n: int, day: int) -> list[ZoneCover]:
    rows = []
    for zone, (_, seen, _) in zip(lawn.zone, ZONES.values(), strict=True):
        cover = Cover(
            seen[n], max(0.0, seen[n] - 5), seen[n] + 6, seen[n] + 4, 99.0, 57.5, zone.area_m2, 9000
        )
        rows.append(ZoneCover(_moment(day), f"day-{day}.jpg", "main", zone.name, day, cover, 0.1))
    return rows


def _moment(day: int) -> dt.datetime:
    return dt.datetime.combine(ZERO + dt.timedelta(days=day), dt.time(10, 30))


def _entry(day: int) -> Entry:
    to_photo = camera_homography()
    corners = tuple(map(tuple, apply(to_photo, [[0, 0], [1, 0], [1, 1], [0, 1]])))
    facts = PhotoFacts(
        size=SIZE, corners_px=corners, square="corner marks", error_px=0.4, to_photo=tuple(to_photo.ravel()),
        camera_m=(0.5, -1.2, 1.6), pitch_deg=36.0, focal_px=640.0, focal_from="camera",
    )  # fmt: skip
    return Entry(f"digest{day}", "settings", "main", f"day-{day}.jpg", _moment(day), "camera", facts)


def _refused() -> Entry:
    reason, remedy = (
        "the square's corner marks were not all found (seen: 0, 1)",
        "Photograph the whole square",
    )
    return Entry(
        "digestX", "settings", "main", "blurred.jpg", _moment(6), "camera", PhotoFacts(), reason, remedy
    )


def camera_homography() -> np.ndarray:
    """Return the homography from ground meters to pixels of a camera at 1.6 m, tilted 36 degrees down."""
    tilt, focal = math.radians(36), 640.0
    forward = np.array([0, math.cos(tilt), -math.sin(tilt)])
    right = np.array([1.0, 0, 0])
    turn = np.stack([right, np.cross(forward, right), forward])
    to_camera = np.column_stack([turn[:, 0], turn[:, 1], turn @ -np.array([0.5, -1.2, 1.6])])
    lens = np.array([[focal, 0, SIZE[0] / 2], [0, focal, SIZE[1] / 2], [0, 0, 1]])
    matrix = lens @ to_camera
    return matrix / matrix[2, 2]


def _ground_map(day: int) -> GroundMap:
    """Return a map of sand and leaf, in tufts, with the square left out and the low corner bare."""
    import cv2

    rng = np.random.default_rng(7)
    x, y = np.arange(-150, 251), np.arange(-10, 271)
    tufts = cv2.GaussianBlur(rng.standard_normal((len(y), len(x))), (0, 0), 3)
    order = tufts.ravel().argsort().argsort().reshape(tufts.shape) / tufts.size
    share = 0.06 + 0.6 * (day / 12) ** 2
    values = np.where(order < share, byte_of(0.3), byte_of(0.0)).astype(np.uint8)
    corner = (x >= 120) & (x <= 200) & ((y >= 60) & (y <= 200))[:, None]
    values[corner & (order >= 0.08)] = byte_of(0.0)
    square = (x >= -5) & (x <= 105) & ((y >= -5) & (y <= 105))[:, None]
    values[square] = NOT_SEEN
    return GroundMap(values, -10, -150, 0.01)


def _photo(ground_map: GroundMap) -> bytes:
    """Paint the ground through the camera and save it with a GPS position that must never reach a report."""
    import cv2
    from PIL import Image

    colors = np.where(ground_map.canopy(0.1)[..., None], LEAF, SAND).astype(np.uint8)
    colors[ground_map.values == NOT_SEEN] = PAPER
    from_cells = np.array([[0.01, 0, ground_map.col0 * 0.01], [0, 0.01, ground_map.row0 * 0.01], [0, 0, 1]])
    picture = cv2.warpPerspective(colors, camera_homography() @ from_cells, SIZE, borderValue=(120, 140, 170))
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 28.0, 38.0), 3: "W", 4: (0.0, 0.0, 5.0)})
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "JPEG", quality=88, exif=exif.tobytes())
    return out.getvalue()
