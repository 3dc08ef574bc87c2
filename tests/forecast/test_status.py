"""The words and sentences of a status."""

from __future__ import annotations

import datetime as dt
from typing import get_args

import numpy as np
import pytest

from swardmark.common.phrases import DateForm, date_words
from swardmark.forecast.recovery import Belief
from swardmark.forecast.status import (
    deadline_day,
    enough,
    look_for,
    measured_gain,
    percent,
    stand,
)
from swardmark.lawn.toml import Lawn


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


def standing_of(covers, *, in_time, late=0.1, full_now=0.0, fallen=0.0, over=0.5, expected=80.0, before=None):
    cover = np.array(covers, float)
    return stand(
        Belief(cover[-1], full_now, in_time, late, fallen),
        day=5.0 * np.arange(len(cover)),
        cover_pct=cover,
        full_pct=90.0,
        time_over=over,
        expected_pct=expected,
        before=before,
    )


def status_of(covers, **told):
    return standing_of(covers, **told).status


STEADY, CREEPING = (10, 30, 45, 55), (30, 35, 38, 40)


@pytest.mark.parametrize(
    ("covers", "in_time", "late", "status"),
    [
        (CREEPING, 0.1, 0.15, "stalled"),
        (CREEPING, 0.1, 0.4, "slow"),
        (CREEPING, 0.3, 0.2, "filling in"),
        (STEADY, 0.1, 0.15, "slow"),
        (STEADY, 0.3, 0.2, "filling in"),
        (CREEPING[:3], 0.05, 0.1, "filling in"),
    ],
)
def test_one_photo_flags_a_zone_only_where_it_leaves_little_doubt_and_from_the_fourth_on(
    covers, in_time, late, status
):
    assert status_of(covers, in_time=in_time, late=late) == status


@pytest.mark.parametrize(
    ("over", "in_time", "status"),
    [(0.3, 0.1, "slow"), (0.3, 0.2, "filling in"), (0.6, 0.2, "slow"), (0.6, 0.29, "filling in"),
     (0.8, 0.29, "slow")],
)  # fmt: skip
def test_the_less_time_is_left_the_less_it_takes_to_flag(over, in_time, status):
    assert status_of(STEADY, in_time=in_time, over=over) == status


@pytest.mark.parametrize(
    ("first", "then", "status"),
    [
        (0.3, 0.25, "slow"),  # neither photo alone would do
        (0.5, 0.25, "filling in"),
        (0.1, 0.96, "slow"),  # one photo does not drop what another raised
        (0.1, 0.98, "filling in"),
    ],
)
def test_two_photos_raise_and_drop_a_flag_together(first, then, status):
    before = standing_of(STEADY, in_time=first)
    assert status_of((*STEADY, 60), in_time=then, before=before) == status


def test_what_was_said_stays_until_there_is_strong_evidence_for_the_opposite():
    stalled = standing_of(CREEPING, in_time=0.05, late=0.1)
    quick = (*CREEPING, 60)
    assert status_of(quick, in_time=0.3, late=0.8, before=stalled) == "stalled"
    assert status_of(quick, in_time=0.3, late=0.98, before=stalled) == "slow"
    full = standing_of((60, 80, 92, 93), in_time=1.0, full_now=0.9)
    doubted = standing_of((80, 92, 93, 80), in_time=0.9, full_now=0.02, before=full)
    assert doubted.status == "full"
    assert status_of((92, 93, 80, 80), in_time=0.9, full_now=0.02, before=doubted) == "filling in"
    assert (
        status_of((80, 92, 93, 80), in_time=0.9, full_now=0.2, fallen=0.7, expected=95.0, before=full)
        == "losing ground"
    )
    lost = standing_of((60, 80, 55, 56), in_time=0.3, fallen=0.9)
    assert lost.status == "losing ground"
    assert status_of((55, 56, 60, 62), in_time=0.3, fallen=0.2, before=lost) == "losing ground"


@pytest.mark.parametrize(("behind", "status"), [(11.0, "filling in"), (13.0, "slow")])
def test_no_zone_is_flagged_within_twelve_points(behind, status):
    assert status_of(STEADY, in_time=0.1, expected=STEADY[-1] + behind) == status


@pytest.mark.parametrize(("last", "status"), [(86.0, "filling in"), (88.0, "full")])
def test_full_is_measured_within_three_points(last, status):
    assert status_of((40, 60, 75, last), in_time=0.99, full_now=0.6, expected=last) == status


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.004, "under 1 %"), (0.42, "42 %"), (0.996, "over 99 %"), (float("nan"), "not known yet")],
)
def test_chances_never_claim_certainty(chance, words):
    assert percent(chance) == words


def test_dates_in_each_habit():
    """The short form of ISO 8601 that files use, and the two habits of English."""
    day = dt.date(2026, 6, 4)
    said = {form: (date_words(day, form), date_words(day, form, year=True)) for form in get_args(DateForm)}
    assert said == {
        "day month": ("4 June", "4 June 2026"),
        "month day": ("June 4", "June 4, 2026"),
        "iso": ("2026-06-04", "2026-06-04"),
    }
    us = Lawn(name="ours", units="us")
    assert (Lawn(name="ours").date_form, us.date_form) == ("day month", "month day")
    assert us.model_copy(update={"dates": "iso"}).date_form == "iso"


def test_what_to_look_at_has_the_keepers_units_and_the_dry_days():
    assert "13 mm" in look_for("stalled", units="metric", dry_days=None)
    assert "1/2 in" in look_for("stalled", units="us", dry_days=None)
    assert "6 days" in look_for("slow", units="us", dry_days=6)
    assert "days" not in look_for("slow", units="us", dry_days=1)
    assert look_for("filling in", units="us", dry_days=9) == ""
