"""The words and sentences of a status."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from swardmark.forecast.status import date_words, deadline_day, enough, look_for, measured_gain, percent


def test_three_photos_over_five_days_are_enough():
    none = np.zeros(3, bool)
    assert enough(np.array([0, 3, 5.0]), none)
    assert not enough(np.array([0, 3, 4.9]), none)
    assert not enough(np.array([0, 9.0]), none[:2])
    assert not enough(np.array([0, 3, 9.0]), np.array([False, False, True]))
    assert not enough(np.zeros(0), np.zeros(0, bool))


def test_the_gain_is_that_of_the_latest_four_photos():
    day = np.array([0, 4, 8, 12, 16.0])
    assert measured_gain(day, np.array([0, 40, 42, 44, 46.0])) == pytest.approx(0.5)
    assert measured_gain(day[:2], np.array([10.0, 18.0])) == pytest.approx(2.0)
    assert np.isnan(measured_gain(day[:1], np.array([10.0])))
    assert np.isnan(measured_gain(np.array([3.0, 3.0]), np.array([10.0, 20.0])))


def test_the_deadline_grows_with_the_usual_pace():
    assert deadline_day("bermudagrass") == 35
    assert deadline_day("bermudagrass") < deadline_day("zoysiagrass") < deadline_day("tall fescue")


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.004, "under 1 %"), (0.42, "42 %"), (0.996, "over 99 %"), (float("nan"), "not known yet")],
)
def test_chances_never_claim_certainty(chance, words):
    assert percent(chance) == words


def test_dates_in_both_habits():
    assert date_words(dt.date(2026, 6, 4), "metric") == "4 June"
    assert date_words(dt.date(2026, 6, 4), "us") == "June 4"


def test_what_to_look_at_has_the_keepers_units_and_the_dry_days():
    assert "13 mm" in look_for("stalled", units="metric", dry_days=None)
    assert "1/2 in" in look_for("stalled", units="us", dry_days=None)
    assert "6 days" in look_for("slow", units="us", dry_days=6)
    assert "days" not in look_for("slow", units="us", dry_days=1)
    assert look_for("filling in", units="us", dry_days=9) == ""
