"""Lawn and record to Season: everything that tables, report and page read.

The stack of ground maps is enough: zones, threshold and covers are computed from it (see zonal.py) and handed on to the
outlook.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from swardmark.common.errors import NothingMeasured, check_argument
from swardmark.forecast.past import PAST_FILE, PastSeason, past_seasons, read_past
from swardmark.forecast.rows import ZoneSeries
from swardmark.forecast.total import ground_notes
from swardmark.lawn.heights import read_heights
from swardmark.lawn.readings import DiaryEntry, Reading, read_diary, read_readings
from swardmark.lawn.toml import read_lawn
from swardmark.lawn.weather import read_weather
from swardmark.level.review import LevelReview, level_review
from swardmark.measure.covers import LawnCovers, clock_notes, measure_covers, unused_notes
from swardmark.measure.points import PointReview, ZoneCover, by_zone
from swardmark.measure.survey import Progress
from swardmark.mowing.agenda import today
from swardmark.mowing.kept import kept_outlook
from swardmark.mowing.rows import LawnOutlook
from swardmark.mowing.strays import future_notes, hidden_zone_notes, placed_readings, stray_notes
from swardmark.mowing.today import Known, Today, known_on, phase_on
from swardmark.record.kept import kept_in
from swardmark.relevel.advice import spot_list
from swardmark.relevel.budget import Budget
from swardmark.relevel.plan import Dip, RelevelPlan
from swardmark.relevel.planning import plan_from_searches, search_seasons, season_maps
from swardmark.relevel.seasons import against_last_season, is_second_sand
from swardmark.relevel.spots import SpotSearch
from swardmark.relief.folder import kept_relief
from swardmark.relief.readings import ReliefReview

if TYPE_CHECKING:
    import pandas as pd

FIRST_PLAN_DAY = 14
"""Before this day sand is still being grown through everywhere, and a bare place says little of the next leveling."""
OF_THE_SPOTS, OF_THE_PLAN = "/spots", "/plan"
"""Where the record keeps them."""


@dataclass(frozen=True, eq=False, kw_only=True, repr=False)
class Season(LawnCovers):
    """A lawn's season as it stands: what was measured, what it means, and what could not be used.

    Attributes
    ----------
    outlook : LawnOutlook
        The forecast of every zone and of the lawn, and the first mow.
    readings, diary : tuple
        The lines of readings.csv and diary.csv up to the season's day.

    The others are those of `LawnCovers`.
    """

    outlook: LawnOutlook
    readings: tuple[Reading, ...]
    diary: tuple[DiaryEntry, ...]

    @cached_property
    def day_zero(self) -> dt.date:
        """The leveling day that the season counts from; the first photo's day where none is given."""
        return self.lawn.leveled_before(self.as_of) or self.covers[0].taken_at.date()

    @cached_property
    def relevel(self) -> RelevelPlan | None:
        """The re-level plan without a budget; None while it is too early in the season to speak of one."""
        return relevel_plan_of(self) if self.is_planned else None

    @property
    def is_planned(self) -> bool:
        """Whether the season is old enough to speak of the next leveling."""
        return (self.as_of - self.day_zero).days >= FIRST_PLAN_DAY

    @cached_property
    def searches(self) -> tuple[tuple[SpotSearch, ...], ...]:
        """The spots of every photo point, whatever the day: one search a point, season by season, oldest first."""

        def found() -> tuple[tuple[SpotSearch, ...], ...]:
            by_zero = [
                [m for p in self.points if (m := season_maps(self.lawn, p, zero, self.day_zero))]
                for zero in self.leveling_days
            ]
            return search_seasons([*(earlier for earlier in by_zero[:-1] if earlier), by_zero[-1]], self.lawn)

        kind = tuple[tuple[SpotSearch, ...], ...]
        return kept_in(self.lawn.folder, OF_THE_SPOTS, self.maps_made_from, found, kind=kind)

    @cached_property
    def maps_made_from(self) -> tuple[object, ...]:
        """What the spots of the season's maps follow from."""
        photos = [(e.point, e.taken_at, e.digest, e.settings, e.facts.camera_m)
                  for point in self.points for e in point.entries]  # fmt: skip
        return (
            self.lawn,
            photos,
            [point.threshold for point in self.points],
            self.leveling_days,
            self.day_zero,
        )

    @property
    def leveling_days(self) -> list[dt.date]:
        """The days from which seasons are counted, oldest first; the first photo's day where none is given."""
        return sorted({d for d in self.lawn.leveling_dates if d <= self.as_of}) or [self.day_zero]

    @cached_property
    def level(self) -> LevelReview:
        """How level the ground is, as far as heights were measured up to the season's day."""
        self.check_folder()
        return level_review(self.lawn, as_of=self.as_of, more=self.relief.sources())

    @cached_property
    def relief(self) -> ReliefReview:
        """What photos of the sand and of pegs gave, as far as they were measured; none is measured here."""
        self.check_folder()
        return kept_relief(self.lawn).until(self.as_of)

    @cached_property
    def known(self) -> Known:
        """What the list of a day is made from, on the season's day."""
        self.check_folder()
        seen = known_on(
            self.lawn,
            self.as_of,
            readings=self.readings,
            diary=self.diary,
            outlook=self.outlook,
            last_photo=max((cover.taken_at.date() for cover in self.covers), default=None),
            weather=read_weather(self.lawn.folder),
        )
        plan = self.relevel if phase_on(seen, self.as_of) == "next leveling" else None
        open_spots = [item for item in plan.spots if item.needs_measuring] if plan is not None else []
        return replace(seen, spots=spot_list(open_spots)) if open_spots else seen

    @cached_property
    def today(self) -> Today:
        """What to do on the season's day: its phase and at most five lines."""
        return today(self.known)

    def to_frame(self) -> pd.DataFrame:
        """Return the covers as a table, one row per photo and zone, oldest first; percent and square meters."""
        import pandas as pd

        numbers = ("cover_pct", "low_pct", "high_pct", "readable_pct", "area_m2")
        columns = ("taken_at", "point", "zone", "photo", *numbers)
        rows = [
            (row.taken_at, row.point, row.zone, row.photo, *(getattr(row.cover, name) for name in numbers))
            for row in self.covers
        ]
        return pd.DataFrame(rows, columns=list(columns))

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{escape(row.zone)}</td><td>{row.status}</td><td>{row.cover_pct:.0f} %</td></tr>"
            for row in (*self.outlook.zones, self.outlook.whole)
        )
        return f"<p><b>{escape(self.outlook.first_mow.sentence)}</b></p><table>{rows}</table>"


def season_of(measured: LawnCovers) -> Season:
    """Add to a lawn's covers what the keeper wrote and what both say of the weeks to come.

    Parameters
    ----------
    measured : LawnCovers
        From `measure_covers`.

    Raises
    ------
    FileError
        A keeper's table cannot be read.
    """
    check_argument(
        measured, LawnCovers, name="measured", where="season_of", remedy="Give what measure_covers returns"
    )
    measured.check_folder()
    lawn, day = measured.lawn, measured.as_of
    every, lines = read_readings(lawn.folder), read_diary(lawn.folder)
    zones = {(z.point, z.name) for z in lawn.zone} | {
        (p.name, z.name) for p in measured.points for z in p.parts
    }
    readings, strays = placed_readings((line for line in every if line.date <= day), zones)
    diary = tuple(line for line in lines if line.date <= day)
    seen = {(row.point, row.zone) for row in measured.covers if row.cover.points}
    own_notes = (
        *stray_notes(strays, zones),
        *future_notes(every, lines, today=dt.date.today()),
        *hidden_zone_notes(lawn, {point.name for point in measured.points}, seen),
        *unused_notes(measured),
        *clock_notes(measured),
        *(one.sentence for point in measured.points for one in point.noted if one.is_newest),
    )
    forecast = kept_outlook(
        zone_series(measured.points, measured.covers),
        lawn=lawn,
        as_of=day,
        readings=readings,
        diary=diary,
        weather=read_weather(lawn.folder),
        past=past_known(lawn.folder),
    )
    grounds = [point.ground for point in measured.points if point.ground is not None]
    left_out_m2 = sum(ground.left_out_m2 for ground in grounds)
    ground = ground_notes(forecast.whole.area_m2, left_out_m2, points=len(measured.points), lawn=lawn)
    forecast = replace(forecast, notes=(*ground, *own_notes, *forecast.notes))
    known = {part.name: getattr(measured, part.name) for part in fields(measured)}
    return Season(**known, outlook=forecast, readings=readings, diary=diary)


def known_in(folder: Path | str, *, on: dt.date, workers: int = 1, progress: Progress | None = None) -> Known:
    """Gather what is known of a lawn on a day, with or without photos.

    Parameters
    ----------
    folder : path
        The lawn folder.
    on : date
        The day; photos, readings and diary lines that are dated later are left out.
    workers : int
        Photos measured at the same time.
    progress : callable, optional
        As for `measure_covers`.
    """
    try:
        return season_of(measure_covers(folder, as_of=on, workers=workers, progress=progress)).known
    except NothingMeasured:
        return known_unseen(folder, on=on)


def known_unseen(folder: Path | str, *, on: dt.date) -> Known:
    """Gather what is known of a lawn on a day without looking at its photos."""
    lawn = read_lawn(folder)
    readings, _ = placed_readings(read_readings(folder), {(zone.point, zone.name) for zone in lawn.zone})
    return known_on(
        lawn,
        on,
        readings=readings,
        diary=read_diary(folder),
        weather=read_weather(folder),
    )


def past_known(folder: Path) -> tuple[PastSeason, ...]:
    """Return the past seasons of the past.csv of a lawn and of the folder of lawns that it stands in."""
    own, lawns = (read_past(place / "out" / PAST_FILE) for place in (folder, folder.resolve().parent))
    return tuple({(row.lawn, row.leveled_on): row for row in (*lawns, *own)}.values())


def seasons_seen(measured: LawnCovers) -> tuple[PastSeason, ...]:
    """Return a lawn's seasons that were seen to their end, the present one among them, as rows of past.csv."""
    series = zone_series(measured.points, measured.covers)
    weather = read_weather(measured.lawn.folder)
    return tuple(past_seasons(series, lawn=measured.lawn, as_of=measured.as_of, weather=weather))


def zone_series(points: Sequence[PointReview], covers: Sequence[ZoneCover]) -> list[ZoneSeries]:
    """Gather each zone's covers into the series that the outlook reads."""
    owned, series = by_zone(covers), []
    for point in points:
        for part in point.parts:
            own = owned.get((point.name, part.name), ())
            series.append(
                ZoneSeries(
                    point=point.name,
                    zone=part.name,
                    area_m2=part.area_m2,
                    taken_on=tuple(c.taken_at.date() for c in own),
                    cover_pct=tuple(c.cover.cover_pct for c in own),
                    low_pct=tuple(c.cover.low_pct for c in own),
                    high_pct=tuple(c.cover.high_pct for c in own),
                )
            )
    return series


def relevel_plan_of(
    season: Season,
    *,
    more_readings: Sequence[Reading] = (),
    budget: Budget | None = None,
    whole_only: bool = False,
) -> RelevelPlan:
    """Plan the next leveling from a season's maps, the seasons before it and the dips that were measured.

    Parameters
    ----------
    season : Season
        The lawn as it stands.
    more_readings : sequence of Reading
        Dips beyond those of readings.csv.
    budget : Budget, optional
        What a season may take; no limit if absent.
    whole_only : bool
        Begin a spot only where all its passes fit the coming season.
    """
    check_argument(
        season, Season, name="season", where="relevel_plan_of", remedy="Give what season_of returns"
    )
    if budget is not None:
        remedy = "Give a Budget, such as Budget(money=300.0, price_per_m3=60.0)"
        check_argument(budget, Budget, name="budget", where="relevel_plan_of", remedy=remedy)
    season.check_folder()
    readings = [line for line in season.readings if line.date >= season.leveling_days[-1]]
    dips = [dip for line in (*readings, *more_readings) if (dip := _dip(line))]
    against = against_last_season(season)

    def planned() -> RelevelPlan:
        *earlier, now = season.searches
        plan = plan_from_searches(
            now,
            lawn,
            dips=dips,
            earlier=earlier,
            budget=budget,
            whole_only=whole_only,
            level=season.level,
            probes=probes,
        )
        return replace(plan, against=against, is_second_sand=is_second_sand(season.leveling_days))

    lawn, sand = season.lawn, season.lawn.leveled_before(season.as_of)
    probes = [p for p in lawn.probe if p.date <= season.as_of and (sand is None or sand <= p.date)]
    rows = [row for row in read_heights(season.lawn.folder) if row.date <= season.as_of]
    heights = [one.told() for one in season.relief.sources()]
    is_sand_day = season.as_of == sand
    made_from = (season.maps_made_from, dips, rows, heights, probes, against, budget, whole_only, is_sand_day)
    at_hand = {"lawn": lawn}
    return kept_in(lawn.folder, OF_THE_PLAN, made_from, planned, kind=RelevelPlan, at_hand=at_hand)


def _dip(line: Reading) -> Dip | None:
    if line.dip_mm is None:
        return None
    spot = int(line.spot) if line.spot.strip().isdigit() else None
    return Dip(line.dip_mm, line.x_m, line.y_m, spot, line.point)
