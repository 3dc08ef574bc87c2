"""Dates to model days and back, by the calendar and by warmth."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from swardmark.forecast import sentences
from swardmark.forecast.timeaxis import TimeAxis, growth_rate, time_axis
from swardmark.lawn.weather import Temperatures, Weather

ZERO = dt.date(2026, 6, 1)


def on(day):
    return ZERO + dt.timedelta(days=day)


def weather(means, first=-1):
    days = [Temperatures(date=on(first + n), tmin_c=m - 5, tmax_c=m + 5) for n, m in enumerate(means)]
    return Weather(tuple(days), "test")


def test_calendar_days_are_themselves():
    axis = TimeAxis(ZERO)
    assert axis.model_day(on(9)) == 9.0
    assert axis.date_of(9.0) == on(9)
    assert axis.date_of(8.2) == on(9)
    assert axis.date_of(float("inf")) is None and axis.date_of(float("nan")) is None


@pytest.mark.parametrize(
    ("mean", "rate"), [(27, 1.0), (10, 0.02), (-5, 0.02), (18.5, 0.5), (33, 23 / 17), (45, 23 / 17)]
)
def test_the_27_degree_day(mean, rate):
    assert growth_rate(mean) == pytest.approx(min(rate, 1.3))


def test_a_steady_27_degrees_is_the_calendar():
    axis = time_axis(ZERO, weather([27.0] * 12), as_of=on(10))
    assert [axis.model_day(on(n)) for n in (0, 5, 11)] == pytest.approx([0, 5, 11])
    assert axis.date_of(10.0) == on(10)
    assert "27 °C days" in axis.method and "base 10 °C" in axis.method


def test_cold_days_hold_the_clock():
    axis = time_axis(ZERO, weather([27.0] * 5 + [10.0] * 10), as_of=on(13))
    assert axis.model_day(on(4)) == pytest.approx(4.0)
    assert axis.model_day(on(10)) == pytest.approx(4.0 + 6 * 0.02)
    assert axis.calendar_day(4.06) == pytest.approx(7.0)
    model = np.array([axis.model_day(on(n)) for n in range(60)])
    assert (np.diff(model) > 0).all()


def test_the_last_three_days_fade_into_the_course_of_the_season():
    spell = time_axis(ZERO, weather([27.0] * 28 + [18.5] * 3), as_of=on(29))
    usual = time_axis(ZERO, weather([27.0] * 31), as_of=on(29))
    off = np.diff(usual.reached)[30:60] - np.diff(spell.reached)[30:60]
    assert off[0] > 0.25 and off[25] < 0.1
    assert sentences.FUTURE_LAST_DAYS in spell.method


def a_year(day: dt.date) -> float:
    """Mean temperatures of a year between 5 degC in January and 27 degC in July."""
    return 16.0 + 11.0 * np.cos(2 * np.pi * (day.timetuple().tm_yday - 208) / 365.25)


@pytest.mark.parametrize("begun", [dt.date(2026, 8, 25), dt.date(2026, 9, 20), dt.date(2026, 4, 20)])
def test_the_season_ahead_warms_in_spring_and_cools_in_autumn(begun):
    days = [begun + dt.timedelta(days=n) for n in range(-30, 25)]
    seen = Weather(
        tuple(Temperatures(date=d, tmin_c=a_year(d) - 5, tmax_c=a_year(d) + 5) for d in days), "test"
    )
    axis = time_axis(begun, seen, as_of=days[-1])
    true = np.cumsum([growth_rate(a_year(begun + dt.timedelta(days=n))) for n in range(90)])
    coming = np.diff(axis.reached)[25:85]
    assert (np.diff(coming) <= 0.01).all() if begun.month > 7 else (np.diff(coming) >= -0.01).all()
    assert axis.reached[85] - axis.reached[25] == pytest.approx(true[84] - true[24], rel=0.2)


@pytest.mark.parametrize(
    ("begun", "frost", "half_years"), [((2026, 5, 20), "10-25", 0), ((2026, 11, 18), "04-25", 1)]
)
def test_the_first_frost_tells_the_hemisphere_while_a_few_weeks_of_weather_do_not(begun, frost, half_years):
    days = [dt.date(*begun) + dt.timedelta(days=n) for n in range(25)]
    means = [a_year(day - dt.timedelta(days=182 * half_years)) for day in days]
    seen = Weather(
        tuple(Temperatures(date=d, tmin_c=c - 5, tmax_c=c + 5) for d, c in zip(days, means, strict=True)),
        "test",
    )
    axis = time_axis(days[0], seen, as_of=days[-1], first_frost=frost)
    assert (np.diff(axis.reached, n=2)[25:60] >= -0.01).all()  # early summer: it goes on warming


def test_days_to_come_from_the_same_days_of_other_years():
    years = [
        Temperatures(date=dt.date(year, 1, 1) + dt.timedelta(days=n), tmin_c=13.5, tmax_c=23.5)
        for year in (2024, 2025)
        for n in range(365)
    ]
    axis = time_axis(ZERO, Weather((*years, *weather([27.0] * 12).days), "test"), as_of=on(10))
    rates = np.diff(axis.reached)
    assert rates[:11] == pytest.approx(1.0) and rates[12:200] == pytest.approx(0.5)
    assert "other years" in axis.method


@pytest.mark.filterwarnings("error")
def test_weather_of_more_days_than_the_axis_has_warns_of_nothing():
    assert time_axis(ZERO, weather([27.0] * 450), as_of=on(440)).reached[-1] == pytest.approx(400.0)


def test_nothing_later_than_the_day_of_the_forecast_is_known():
    warm, cold = weather([27.0] * 12 + [35.0] * 30), weather([27.0] * 12 + [5.0] * 30)
    reached = [time_axis(ZERO, w, as_of=on(10)).reached for w in (warm, cold)]
    assert np.array_equal(*reached)


def test_small_gaps_are_bridged_and_large_ones_fall_back():
    days = weather([27.0] * 20).days
    small = Weather(days[:6] + days[9:], "test")
    large = Weather(days[:4] + days[16:], "test")
    assert "27 °C" in time_axis(ZERO, small, as_of=on(18)).method
    axis = time_axis(ZERO, large, as_of=on(18))
    assert axis.reached is None and axis.method == sentences.CALENDAR_DAYS_WEATHER_SHORT
    assert time_axis(ZERO, None, as_of=on(18)).method == "calendar days"


def test_cool_season_and_the_keepers_base():
    cool = time_axis(ZERO, weather([20.0] * 12), as_of=on(10), warm_season=False)
    assert cool.model_day(on(8)) == pytest.approx(8.0) and "20 °C days" in cool.method
    based = time_axis(ZERO, weather([16.0] * 12), as_of=on(10), base_c=5.0)
    assert based.model_day(on(10)) == pytest.approx(5.0)
    assert "base 5 °C" in based.method


def test_photos_before_the_sand_have_negative_days():
    axis = time_axis(ZERO, weather([27.0] * 12), as_of=on(10))
    assert axis.model_day(on(-4)) == -4.0
    assert axis.date_of(1e6) is None


def test_cool_season_growth_declines_in_heat():
    """NC State turf council: cool-season shoots grow best at 60 to 75 degF and stop at 90 degF (32.2 degC)."""
    days = {mean: time_axis(ZERO, weather([mean] * 12), as_of=on(10), warm_season=False).model_day(on(8))
            for mean in (18.0, 24.0, 28.0, 32.2, 36.0)}  # fmt: skip
    assert days[24.0] == max(days.values())
    assert days[28.0] == pytest.approx(days[24.0] / 2)
    assert days[32.2] == days[36.0] == pytest.approx(8 * 0.02)
    warm = time_axis(ZERO, weather([34.0] * 12), as_of=on(10)).model_day(on(8))
    assert warm > 8, "warm-season grass grows on in such heat"
