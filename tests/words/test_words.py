from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from made_season import ZERO

from swardmark.common.phrases import DateForm, percent
from swardmark.common.text import clean
from swardmark.season import Season
from swardmark.words.phrases import (
    mow_text,
    next_photo_dates,
    percent_text,
    short_months,
    window_text,
)


def season_with_last_photo(season: Season, day: int, *, as_of: int | None = None, status: str = "slow"):
    taken = dt.datetime.combine(ZERO + dt.timedelta(days=day), dt.time(9))
    whole = replace(season.outlook.whole, status=status)
    return replace(
        season,
        covers=(replace(season.covers[0], taken_at=taken, day=day),),
        as_of=ZERO + dt.timedelta(days=day if as_of is None else as_of),
        outlook=replace(season.outlook, whole=whole),
    )


@pytest.mark.parametrize(
    ("last", "status", "days"),
    [
        (0, "too early to say", [3, 6, 9, 12]),
        (12, "slow", [15, 19, 23, 27]),
        (26, "slow", [30, 37, 44, 51]),
        (15, "full", [22, 29, 36, 43]),
    ],
)
def test_next_photos_every_3_days_then_4_then_7(
    season: Season, last: int, status: str, days: list[int]
) -> None:
    dates = next_photo_dates(season_with_last_photo(season, last, status=status))
    assert [(date - ZERO).days for date in dates] == days


def test_an_overdue_photo_is_due_today(season: Season) -> None:
    dates = next_photo_dates(season_with_last_photo(season, 3, as_of=20))
    assert [(date - ZERO).days for date in dates] == [20, 24, 28, 35]


@pytest.mark.parametrize(
    ("first", "last", "form", "said"),
    [
        (dt.date(2026, 6, 9), dt.date(2026, 6, 14), "day month", "9 to 14 June"),
        (dt.date(2026, 6, 9), dt.date(2026, 6, 14), "month day", "June 9 to 14"),
        (dt.date(2026, 6, 28), dt.date(2026, 7, 3), "day month", "28 June to 3 July"),
        (dt.date(2026, 6, 28), dt.date(2026, 6, 28), "day month", "28 June"),
        (dt.date(2026, 6, 9), dt.date(2026, 6, 14), "iso", "2026-06-09 to 2026-06-14"),
        (None, dt.date(2026, 6, 28), "day month", ""),
    ],
)
def test_windows(first, last, form: DateForm, said: str) -> None:
    assert window_text(first, last, form) == said


@pytest.mark.parametrize(
    ("today", "on", "said"),
    [
        (20, 24, "24 June (now to 30 June)"),
        (17, 24, "24 June (18 to 30 June)"),
        (25, 24, "24 June (18 to 30 June)"),
    ],
)
def test_a_window_that_has_begun_begins_now(season: Season, today: int, on: int, said: str) -> None:
    """It named days that were past for a day that is to come."""
    days = {
        f"mow_{name}": dt.date(2026, 6, day) for name, day in (("on", on), ("earliest", 18), ("latest", 30))
    }
    zone = replace(season.outlook.zones[0], chance_mow=0.9, **days)
    assert mow_text(zone, "day month", as_of=dt.date(2026, 6, today)) == said


def test_chances_never_promise() -> None:
    assert [percent(c) for c in (0.0, 0.5, 1.0, float("nan"))] == [
        "under 1 %", "50 %", "over 99 %", "not known yet",
    ]  # fmt: skip
    assert percent_text(float("nan")) == "not known yet"


def test_clean_and_short() -> None:
    assert clean("a\x00b\r\nc\u202ed  e") == "a b c d e"
    assert len(clean("z" * 500)) == 200
    assert short_months("28 June to 3 July") == "28 Jun to 3 Jul"


@pytest.mark.parametrize(("chance", "said"), [(0.53, ", chance 48 %)"), (0.9, "June)")])
def test_a_day_that_may_not_come_is_said_with_its_chance(season: Season, chance: float, said: str) -> None:
    zone = next(z for z in season.outlook.zones if z.mow_on and z.mow_earliest != z.mow_latest)
    assert mow_text(replace(zone, chance_mow=chance), "day month").endswith(said)
    assert "chance" not in mow_text(replace(zone, chance_mow=float("nan")), "day month")
