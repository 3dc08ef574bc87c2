"""Growing degree-days against printed examples, and the reading of NOAA's GHCN-Daily lines."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.lawn.weather import growing_degree_days, parse_weather


@pytest.mark.parametrize(
    ("low", "high", "base", "expected"),
    [
        (9, 17, 6, 7.0),  # a teaching example, degrees C; source not kept
        (48, 72, 50, 10.0),  # calculator7.snowdaycalculatornow.com, degrees F
        (42, 68, 50, 5.0),
        (46, 70, 50, 8.0),
        (39, 61, 50, 0.0),
        (52, 75, 50, 13.5),
        (55, 80, 50, 17.5),
        (37, 54, 32, 13.5),  # kccgc.blogspot.com 2013, printed rounded as 14
    ],
)
def test_printed_examples_by_the_mean(low, high, base, expected):
    assert growing_degree_days(low, high, base=base) == pytest.approx(expected)


def test_printed_total_of_five_days():
    # calculator7.snowdaycalculatornow.com: five days, base 50 F, total 44.
    low, high = np.array([42, 46, 39, 52, 55]), np.array([68, 70, 61, 75, 80])
    assert growing_degree_days(low, high, base=50).sum() == pytest.approx(44.0)


@pytest.mark.parametrize(
    ("low", "high", "base", "mean", "lifted"),
    [(5, 20, 10, 2.5, 5.0), (2, 14, 10, 0.0, 2.0), (48, 72, 50, 10.0, 11.0), (39, 61, 50, 0.0, 5.5)],
)
def test_the_two_methods_of_mcmaster_and_wilhelm(low, high, base, mean, lifted):
    # McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291-300: method 1 compares the mean with the base, method 2
    # lifts both temperatures to it first; they differ only where the night is colder than the base.
    assert growing_degree_days(low, high, base=base, method="mean") == pytest.approx(mean)
    assert growing_degree_days(low, high, base=base, method="lifted") == pytest.approx(lifted)


@pytest.mark.parametrize("low_high", [(12.0, 25.0), (10.0, 31.0)])
def test_the_two_methods_agree_on_warm_nights(low_high):
    low, high = low_high
    both = [growing_degree_days(low, high, base=10, method=method) for method in ("mean", "lifted")]
    assert both[0] == pytest.approx(both[1])


def test_upper_cap_of_thirty_degrees_for_corn():
    # The 30 C cap as used for corn (McMaster & Wilhelm 1997): 36/20 C counts as 30/20.
    assert growing_degree_days(20, 36, base=10, cap=30) == pytest.approx(15.0)


def test_ghcn_lines_in_tenths_of_a_degree():
    # Format: NOAA readme, https://www.ncei.noaa.gov/pub/data/ghcn/daily/readme.txt.
    text = (
        "AE000041196,20190101,TMIN,140,,,S,\n"
        "AE000041196,20190101,TMAX,262,,,S,\n"
        "AE000041196,20190101,PRCP,0,D,,S,\n"
        "AE000041196,20190102,TMAX,311,,,S,\nAE000041196,20190102,TMIN,178,,,S,0700\n"
        "AE000041196,20190103,TMAX,183,,,S,\nAE000041196,20190103,TMIN,44,,,S,\n"
        "AE000041196,20190104,TMAX,990,,X,S,\nAE000041196,20190104,TMIN,44,,,S,\n"
    )
    weather = parse_weather(text)
    days = {day.date.isoformat(): (day.tmin_c, day.tmax_c) for day in weather.days}
    assert days == {"2019-01-01": (14.0, 26.2), "2019-01-02": (17.8, 31.1), "2019-01-03": (4.4, 18.3)}
    assert weather.source == "GHCN-Daily station AE000041196"
    for date, mean, lifted in (("2019-01-02", 14.45, 14.45), ("2019-01-03", 1.35, 4.15)):
        low, high = days[date]
        assert growing_degree_days(low, high, base=10) == pytest.approx(mean)
        assert growing_degree_days(low, high, base=10, method="lifted") == pytest.approx(lifted)
