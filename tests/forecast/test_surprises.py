"""Lawns that once made the outlook confidently wrong, each as it was seen; the covers are invented."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from swardmark.bank import priors as p
from swardmark.bank.bank import draw_bank
from swardmark.bank.curves import logistic
from swardmark.bank.members import FIRST, KIND, SECOND, share_of
from swardmark.forecast import sentences
from swardmark.forecast.rows import ZoneSeries
from swardmark.forecast.timeaxis import growth_rate, time_axis
from swardmark.forecast.weigh import fit_recovery, fit_zones
from swardmark.lawn.toml import Lawn, Leveling
from swardmark.lawn.weather import Temperatures, Weather
from swardmark.mowing.outlook import outlook

SUMMER, FALL = dt.date(2026, 6, 1), dt.date(2026, 9, 1)
BANK = draw_bank("bermudagrass")
WEEKS = np.arange(3, 100, 7)


def series(zero, days, covers, zone="front"):
    taken = tuple(zero + dt.timedelta(days=int(day)) for day in days)
    cover = tuple(np.clip(covers, 0, 100).tolist())
    return ZoneSeries("main", zone, 5.0, taken, cover, *(tuple(c + side for c in cover) for side in (-8, 8)))


def said(zero, days, zones, *, on=None, weather=None, **settings):
    home = Lawn(name="ours", grass="bermudagrass", leveling=(Leveling(date=zero),), **settings)
    rows = [series(zero, days, covers, f"zone {i}") for i, covers in enumerate(zones)]
    as_of = on or rows[0].taken_on[-1]
    return outlook(rows, lawn=home, as_of=as_of, weather=weather)


def test_a_sowing_of_sand_in_fall_that_hardly_grows_gets_no_date_from_a_few_members():
    """1 to 4 % on days 0, 8, 15 and 22 of a fall once gave a first mow for January "in nine cases of ten"."""
    days, cover = (0, 8, 15, 22), (1, 2, 3, 4)
    assert fit_recovery(np.array(days), np.array(cover), bank=BANK).effective_members >= 100
    answer = said(dt.date(2026, 9, 20), days, [cover])
    assert answer.first_mow.mow_on is None and "No date" in answer.first_mow.sentence


def test_a_dying_zone_is_promised_nothing():
    """60, 48 and 33 % once gave "full day 35 (35 to 41)"."""
    zone = said(SUMMER, (0, 5, 12, 16, 20), [(20, 45, 60, 48, 33)]).zones[0]
    assert zone.status == "losing ground" and zone.full_on is None and zone.chance_full < 0.4


@pytest.mark.parametrize(("zones", "off"), [(4, -20.0), (4, 20.0), (1, -30.0), (1, 30.0)])
def test_a_bad_newest_photo_of_the_whole_lawn_is_held_out_or_said(zones, off):
    days = np.array([1, 5, 9, 13, 17, 21, 25.0])
    covers = [logistic(days, 14.0 + i, 2.2, 97.0) for i in range(zones)]
    asks = ("Take another one now", "photograph it again")
    assert not any(ask in note for note in said(SUMMER, days, covers).notes for ask in asks)
    for cover in covers:
        cover[-1] += off
    assert any(ask in note for note in said(SUMMER, days, covers).notes for ask in asks)


@pytest.mark.parametrize(("gap", "fall", "asked"), [(3, 9, True), (3, 7, True), (3, 3, False)])
def test_cover_that_falls_in_every_zone_within_three_days_asks_for_another_photo(gap, fall, asked):
    """A leveled-off lawn, whose fall is too small to be held out."""
    days = np.array([2, 7, 12, 18, 24, 24 + gap])
    covers = [np.array([12, 40, 62, 70, 71, 71.0 - fall]) - i for i in range(3)]
    notes = said(SUMMER, days, covers).notes
    assert any("Take another one now" in note for note in notes) is asked
    healthy = [*covers[:2], np.array([12, 40, 62, 70, 71, 72.0])]
    assert not any("every zone" in note for note in said(SUMMER, days, healthy).notes)


def a_year(day: dt.date) -> float:
    """Mean temperatures between 5 degC in January and 27 degC in July."""
    return float(16.0 + 11.0 * np.cos(2 * np.pi * (day.timetuple().tm_yday - 208) / 365.25))


def fall_lawn(paces=(30, 36, 42)):
    """Return days and covers of a lawn that grows by warmth until mid-November and browns from day 75 on."""
    grown = np.cumsum([growth_rate(a_year(FALL + dt.timedelta(days=n))) for n in range(100)])
    brown = 1.0 - 0.7 * np.clip((WEEKS - 75) / 20, 0, 1)
    return [logistic(grown[WEEKS], pace, 2.4, 97.0) * brown for pace in paces]


def fall_weather(last: dt.date) -> Weather:
    days = [FALL + dt.timedelta(days=n) for n in range(-20, (last - FALL).days + 1)]
    return Weather(tuple(Temperatures(date=d, tmin_c=a_year(d) - 5, tmax_c=a_year(d) + 5) for d in days), "")


@pytest.mark.parametrize("known", ["weather", "frost"])
def test_in_fall_no_first_mow_in_a_few_days_and_dormancy_is_no_damage(known):
    """The lawn stays under the cover for the first mow: until late November it was once due "in a few days"."""
    covers, notes, statuses = fall_lawn(), {}, {}
    for n in (5, 7, 9, 11, 13):
        on = FALL + dt.timedelta(days=int(WEEKS[n - 1]))
        how = {"weather": fall_weather(on)} if known == "weather" else {"first_frost": "11-12"}
        answer = said(FALL, WEEKS[:n], [cover[:n] for cover in covers], **how)
        assert answer.first_mow.mow_on is None, on
        notes[n], statuses[n] = " ".join(answer.notes), {zone.status for zone in answer.zones}
        assert answer.whole.full_on is None
    assert "Growth ends about" in notes[9] and "stays bare until spring" in notes[9]
    assert sentences.GROWTH_HAS_ENDED in notes[11] and "behind" not in notes[11]
    assert sentences.DORMANT in notes[13] and "held out" not in notes[13]
    assert statuses[13] == {"too early to say"} and "losing ground" not in statuses[11]
    assert all("no damage" in z.why and not z.look_for for z in answer.zones)


def test_without_weather_and_frost_the_end_of_growth_is_not_known_and_that_is_said():
    covers = [cover[:6] for cover in fall_lawn()]
    assert sentences.NO_END_KNOWN in said(FALL, WEEKS[:6], covers).notes
    assert sentences.NO_END_KNOWN not in said(SUMMER, WEEKS[:6], covers).notes


@pytest.mark.parametrize(("warm", "ends"), [(True, (-7, 7)), (False, (28, 42))])
def test_days_slow_down_towards_the_usual_first_frost_and_never_warm_up_before_spring(warm, ends):
    frost = dt.date(2026, 10, 25)
    axis = time_axis(FALL, None, as_of=FALL, warm_season=warm, first_frost="10-25")
    rates = np.diff(axis.reached)
    assert (np.diff(rates[: (frost - FALL).days + 90]) <= 1e-9).all()
    assert ends[0] <= (axis.growth_ends(FALL) - frost).days <= ends[1]
    assert rates[(dt.date(2027, 6, 15) - FALL).days] == pytest.approx(1.0)
    summer = time_axis(SUMMER, None, as_of=SUMMER, warm_season=warm, first_frost="10-25")
    assert summer.model_day(SUMMER + dt.timedelta(days=60)) == pytest.approx(60.0)
    assert "10-25" in axis.method


@pytest.mark.parametrize("ceiling", [108.0, 70.0])
def test_three_weeks_ahead_closing_cover_closes_and_cover_that_levels_off_stays(ceiling):
    """Once 6 points short of 100 %, and 15 to 19 points over a ceiling of 65 to 75 %."""
    days = np.array([2, 6, 10, 14, 18, 22.0])
    covers = [np.minimum(logistic(days, 11.0, 2.6, ceiling), 99.8) + off for off in (0.0, -1.0, 1.0)]
    truth = min(float(logistic(np.array([43.0]), 11.0, 2.6, ceiling)[0]), 99.8)
    for fit in fit_zones([days] * 3, covers, bank=BANK):
        band = fit.cover(43.0)
        assert band.low95[0] <= truth <= band.high95[0] + 0.5
        assert abs(band.median[0] - truth) < (4.0 if ceiling > 100 else 12.0)


def test_how_long_a_pause_still_lasts_is_as_open_as_before_the_photos():
    """Few members once told it: whether growth goes on within a week came out anywhere between 2 and 62 %.

    Lengths are even over the log between PAUSE_DAYS, so of pauses of `stood` days or more those of up to a week longer
    are log(1 + 7 / stood) / log(longest / stood).
    """
    days, (shortest, longest) = np.arange(2, 21, 3.0), p.PAUSE_DAYS
    clock, off = days - np.clip(days - 7, 0, 14), []
    for t50 in range(6, 13):
        fit = fit_recovery(days, logistic(clock, float(t50), 2.4, 97.0), bank=BANK)
        pauses = fit.bank.members[np.flatnonzero(fit.bank.members.kind == KIND["pauses"])]
        weight = fit.weight[fit.bank.members.kind == KIND["pauses"]]
        low, high = p.TROUBLE_DAY
        begin = low + (high - low) * share_of(pauses.score[FIRST])
        end = begin + shortest * (longest / shortest) ** share_of(pauses.score[SECOND])
        on = (end > days[-1]) & (begin < 17.0)
        stood = days[-1] - begin[on]
        within = weight[on] @ (end[on] <= days[-1] + 7.0)
        off.append(
            (within - weight[on] @ (np.log1p(7.0 / stood) / np.log(longest / stood))) / weight[on].sum()
        )
    assert np.sqrt(np.mean(np.square(off))) < 0.2


def test_a_stalled_zone_has_no_date_and_its_curve_forks_as_its_text_says():
    """The stalled zone of a lawn was once drawn rising from 43 to 63 % while the text said "not in sight"."""
    days = np.array([0, 3, 6, 9, 12, 16, 21, 28.0])
    good = logistic(days, 9.0, 2.4, 97.0)
    buried = np.array([6, 15, 24, 30, 36, 40, 42, 43.0])
    zone = said(SUMMER, days, [good, good - 2, buried]).zones[2]
    assert zone.status == "stalled" and zone.full_on is None
    stays, resumes = zone.courses
    assert (
        f"about {stays.band.median[-1]:.0f} %" in zone.ahead
        and f"{resumes.band.median[-1]:.0f} %" in zone.ahead
    )
    assert abs(stays.band.median[-1] - 43) < 10 <= resumes.band.median[-1] - 43
    assert stays.share + resumes.share == pytest.approx(1.0)
