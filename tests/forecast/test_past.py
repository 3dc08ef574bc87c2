"""What past seasons say of the next one: rows from seasons of known pace, the prior they give, and past.csv."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from swardmark.bank.curves import logistic
from swardmark.bank.priors import ANY_LAWN, LAWN_PACE_SHARE, prior_of
from swardmark.common.errors import FileError
from swardmark.forecast.outlook import forecast
from swardmark.forecast.past import (
    PAST_COLUMNS,
    PAST_FILE,
    PastSeason,
    expected_of,
    folder_name,
    lawn_prior,
    past_seasons,
    read_past,
)
from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.toml import Lawn, Leveling
from swardmark.words.tables import write_past

GRASS = "bermudagrass"
FIRST, SECOND = dt.date(2025, 6, 1), dt.date(2026, 6, 1)
LAWN = Lawn(name="invented", grass=GRASS, leveling=(Leveling(date=FIRST), Leveling(date=SECOND)))
PHOTO_DAYS = (1, 4, 8, 11, 15, 19, 23, 27, 31, 36)


def series(days_of, *, t50):
    """Two zones that grow as the textbook logistic does, on the given days after the levelings."""
    taken = [(zero + dt.timedelta(days=day), day) for zero, days in days_of.items() for day in days]
    rows = []
    for number, share in enumerate((0.95, 1.05)):
        cover = [float(logistic(np.float64(day), share * t50, 2.4, 97.0)) for _, day in taken]
        dates = tuple(date for date, _ in taken)
        low, high = (tuple(np.array(cover) + side) for side in (-6, 6))
        rows.append(ZoneSeries("main", f"zone {number}", 5.0, dates, tuple(cover), low, high))
    return rows


def row(lawn, year, half_way_days, *, grass=GRASS, closes=0.1):
    rest = dict.fromkeys(("levels_off", "stops", "pauses", "dies_back"), 0.05)
    return PastSeason(
        lawn=lawn, grass=grass, leveled_on=FIRST.replace(year=year), last_photo=FIRST.replace(year=year, month=8),
        zones=2, half_way_days=half_way_days, half_way_log_sd=0.05, closes=closes, **rest,
    )  # fmt: skip


@pytest.mark.parametrize("t50", [6.0, 9.0, 13.0])
def test_a_season_is_read_at_its_own_pace(t50):
    (seen,) = past_seasons(series({FIRST: PHOTO_DAYS}, t50=t50), lawn=LAWN, as_of=dt.date(2025, 8, 1))
    assert seen.half_way_days == pytest.approx(t50, rel=0.15)
    assert (seen.leveled_on, seen.last_photo, seen.zones) == (FIRST, dt.date(2025, 7, 7), 2)
    assert seen.states.sum() < 0.6


def test_the_sand_of_a_deep_leveling_is_taken_out_of_its_pace():
    deep = LAWN.model_copy(update={"leveling": (Leveling(date=FIRST, depth_mm=24.0),)})
    rows = series({FIRST: PHOTO_DAYS}, t50=9.0)
    (thin,) = past_seasons(rows, lawn=LAWN, as_of=dt.date(2025, 8, 1))
    (thick,) = past_seasons(rows, lawn=deep, as_of=dt.date(2025, 8, 1))
    assert thick.half_way_days < 0.9 * thin.half_way_days


def test_a_season_that_was_not_seen_to_its_end_is_no_row():
    early = series({FIRST: PHOTO_DAYS[:6]}, t50=9.0)
    few = series({FIRST: (1, 15, 27, 36)}, t50=9.0)
    assert not list(past_seasons(early, lawn=LAWN, as_of=dt.date(2025, 8, 1)))
    assert not list(past_seasons(few, lawn=LAWN, as_of=dt.date(2025, 8, 1)))


def test_many_like_seasons_move_the_pace_and_make_it_surer():
    quick = [row(f"lawn {i}", 2025, 6.0) for i in range(20)]
    said = lawn_prior(quick, lawn="another", grass=GRASS)
    prior = prior_of(GRASS)
    wanted = np.log(6.0 / prior.t50_days) / prior.t50_log_sd
    assert said.pace == pytest.approx(wanted, abs=0.15)
    assert said.pace_variance < 0.6 * LAWN_PACE_SHARE


def test_a_normal_hierarchical_model_in_closed_form():
    """One other lawn: the center moves by the ratio of variances (Gelman et al., BDA 3rd ed., eq. 2.12)."""
    prior = prior_of(GRASS)
    days = prior.t50_days * float(np.exp(prior.t50_log_sd))  # one standard deviation slow
    said = lawn_prior([row("other", 2025, days)], lawn="mine", grass=GRASS)
    # Center variance 0.25 against that of one lawn about it, which lies near the judged 0.40.
    assert 0.25 / (0.25 + 0.50) < said.pace < 0.25 / (0.25 + 0.35)
    own = lawn_prior([row("mine", 2025, days)], lawn="mine", grass=GRASS)
    assert said.pace < own.pace < 1.0
    assert own.pace_variance < said.pace_variance < LAWN_PACE_SHARE + 0.05


def test_other_grasses_and_no_seasons_say_nothing():
    assert lawn_prior([], lawn="mine", grass=GRASS) == ANY_LAWN
    assert lawn_prior([row("other", 2025, 5.0, grass="tall fescue")], lawn="mine", grass=GRASS) == ANY_LAWN


def test_lawns_that_closed_make_closing_likelier():
    closing = [row(f"lawn {i}", 2025, 9.0, closes=0.8) for i in range(10)]
    assert lawn_prior(closing, lawn="mine", grass=GRASS).times[0] > 2.0


def test_the_lawns_own_season_before_moves_its_forecast_and_is_said():
    slow = series({FIRST: (*PHOTO_DAYS, 45), SECOND: (1, 4, 7)}, t50=20.0)
    day = SECOND + dt.timedelta(days=8)
    alone = forecast(series({SECOND: (1, 4, 7)}, t50=20.0), lawn=LAWN, as_of=day)
    learned = forecast(slow, lawn=LAWN, as_of=day)
    assert "The forecast starts from this lawn's season before." in learned.notes
    assert not any("past season" in note or "season before" in note for note in alone.notes)
    truth = float(logistic(np.float64(14.0), 20.0, 2.4, 97.0))
    bands = [one.whole.band for one in (alone, learned)]
    miss = [abs(band.median[band.day.index(14.0)] - truth) for band in bands]
    width = [band.high80[band.day.index(14.0)] - band.low80[band.day.index(14.0)] for band in bands]
    assert miss[1] < 0.7 * miss[0] and width[1] < width[0]


def test_a_season_whose_day_of_sand_was_corrected_or_whose_folder_was_renamed_counts_once(tmp_path):
    days = {FIRST: PHOTO_DAYS, SECOND: (1, 4, 8)}
    know = {"lawn": LAWN, "zero": SECOND, "as_of": dt.date(2026, 6, 10)}
    alone = expected_of(series=series(days, t50=14.0), past=(), **know)
    (seen,) = past_seasons(series(days, t50=14.0), lawn=LAWN, as_of=dt.date(2026, 5, 31))
    corrected = seen.model_copy(update={"leveled_on": FIRST + dt.timedelta(days=1)})
    renamed = seen.model_copy(update={"lawn": "the old folder"})
    for past in ((corrected,), (renamed,)):
        assert expected_of(series=series(days, t50=14.0), past=past, **know) == alone
    write_past([corrected, renamed], folder=tmp_path)
    write_past([seen], folder=tmp_path)
    assert set(read_past(tmp_path / PAST_FILE)) == {seen, renamed}


def test_a_forecast_reads_no_season_dated_later():
    now = series({SECOND: (1, 4, 7)}, t50=9.0)
    day = SECOND + dt.timedelta(days=8)
    later = [row(f"lawn {i}", 2026, 4.0) for i in range(5)]  # photographed to August
    earlier = [row(f"lawn {i}", 2025, 4.0) for i in range(5)]
    plain = forecast(now, lawn=LAWN, as_of=day)
    assert forecast(now, lawn=LAWN, as_of=day, past=later) == plain
    told = forecast(now, lawn=LAWN, as_of=day, past=earlier)
    assert "The forecast starts from 5 past seasons of other lawns (past.csv)." in told.notes


def test_the_table_comes_back_as_it_was_written_and_keeps_what_it_held(tmp_path):
    first, again = row("=1+1", 2024, 8.0), row("=1+1", 2025, 9.5)
    path = write_past([first], folder=tmp_path)
    assert path == tmp_path / PAST_FILE
    assert path.read_text().splitlines()[0] == ",".join(PAST_COLUMNS)
    write_past([again, replace_pace(first, 8.5)], folder=tmp_path)
    assert [one.half_way_days for one in read_past(path)] == [8.5, 9.5]
    assert read_past(path)[1] == again
    assert write_past([], folder=tmp_path / "none") is None
    path.write_text("lawn,season,notes\nold,2019,of another hand\n")
    write_past([first], folder=tmp_path)
    assert [kept.read_text() for kept in tmp_path.glob("past.csv.*.bak")] == [
        "lawn,season,notes\nold,2019,of another hand\n"
    ]


def replace_pace(one, days):
    return one.model_copy(update={"half_way_days": days})


def test_another_table_of_that_name_is_left_unread_and_a_broken_one_is_named(tmp_path):
    path = tmp_path / PAST_FILE
    path.write_text("date,event\n2020-01-01,party\n")
    assert read_past(path) == ()
    write_past([row("a", 2024, 8.0)], folder=tmp_path / "b")
    good = (tmp_path / "b" / PAST_FILE).read_text()
    path.write_text(good.replace(",8,", ",-8,").replace(",8.0,", ",-8.0,"))
    with pytest.raises(FileError, match="half_way_days"):
        read_past(path)


def test_the_lawn_goes_by_its_folder(tmp_path):
    assert folder_name(LAWN.model_copy(update={"folder": tmp_path / "plot 3"})) == "plot 3"
