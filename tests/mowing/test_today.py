"""What to do today: phases in their order, five lines at most, and the list of every day as kept."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from pathlib import Path

import pytest
from today_lawns import LAWNS

from swardmark.common.phrases import date_words, percent
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn, Leveling, Mowing
from swardmark.lawn.weather import Temperatures, Weather
from swardmark.mowing.agenda import days_ahead, routines, today
from swardmark.mowing.today import known_on, phase_on
from swardmark.page.places.answer import headline

GOLD = Path(__file__).parent / "gold"
DAYS = range(-21, 91)
ORDER = ("prepare", "sand day", "keep it moist", "grow in", "first mow", "raise the cut", "next leveling")
JUNE = dt.date(2026, 6, 3)


def written(name: str) -> str:
    """Return the lists of all days; a line that stood there the day before is given by its first words alone."""
    drawn, before, text = LAWNS[name], set(), []
    for number in DAYS:
        known = drawn.known(number)
        now = today(known)
        text.append(f"Day {number}, {date_words(known.as_of, drawn.lawn.date_form)}: {now.phase}")
        for line in now.lines:
            whole = " | ".join(part for part in (line.do, line.why, line.careful) if part)
            text.append(f"  = {line.do}" if whole in before else f"  - {whole}")
        before = {" | ".join(p for p in (one.do, one.why, one.careful) if p) for one in now.lines}
    return "\n".join(text) + "\n"


@pytest.mark.parametrize("name", LAWNS)
def test_the_lists_of_every_day_are_as_kept(name):
    """Delete a kept file to write it anew, then read it through as prose."""
    text, path = written(name), GOLD / f"today_{name}.txt"
    if not path.exists():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
        pytest.fail(f"{path} was missing and has been written: read it and run again")
    assert text == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", LAWNS)
def test_phases_come_in_their_order_and_no_day_is_without_its_list(name):
    places = []
    for number in DAYS:
        now = today(LAWNS[name].known(number))
        assert 1 <= len(now.lines) <= 5
        assert all(line.do and line.why for line in now.lines)
        assert len({line.key for line in now.lines}) == len(now.lines)
        assert len({line.careful for line in now.lines if line.careful}) == len(
            [x for x in now.lines if x.careful]
        )
        places.append(ORDER.index(now.phase))
    assert places == sorted(places)
    assert {"prepare", "sand day", "keep it moist", "first mow"} <= {ORDER[place] for place in places}


def lawn_of(*, day=JUNE, grass="zoysiagrass", **more):
    mowing = Mowing(usual_height_mm=40, target_height_mm=25, scalp_height_mm=15)
    return Lawn(name="ours", grass=grass, leveling=(Leveling(date=day),), mowing=mowing, **more)


def said(known) -> str:
    return " ".join(f"{line.do} {line.why} {line.careful}" for line in today(known).lines)


def test_before_the_sand_there_is_no_day_since_leveling():
    for number in range(-21, 0):
        assert not re.search(r"since|photo", said(LAWNS["no_photos"].known(number)))


def test_a_leveling_that_harms_is_refused_and_nothing_else_is_asked():
    known = known_on(lawn_of(day=dt.date(2026, 12, 10)), dt.date(2026, 12, 1))
    (line,) = today(known).lines
    assert line.do.startswith("Do not level on 10 December") and "not growing" in line.why
    heat = known_on(lawn_of(day=dt.date(2026, 7, 10), grass="tall fescue"), dt.date(2026, 7, 1))
    assert "summer heat" in today(heat).lines[0].why


@pytest.mark.parametrize("did", [LAWNS["warm"].did, ()])
def test_a_forecast_ends_where_the_next_sand_comes(did):
    """The day after the second sand of a season was once one to mow: its forecast was that of the first."""
    second = JUNE + dt.timedelta(days=75)
    warm = LAWNS["warm"]
    lawn = warm.lawn.model_copy(update={"leveling": (*warm.lawn.leveling, Leveling(date=second, depth_mm=6))})
    known = replace(warm, lawn=lawn, did=did).known(60)
    phases = [phase_on(known, second + dt.timedelta(days=number)) for number in range(11)]
    assert phases == ["sand day", *["keep it moist"] * 7, "grow in", "grow in", "first mow"]
    after = [line for line in days_ahead(known, 24) if line.date > second]
    assert {line.do.split()[0] for line in after} == {"Take"}
    assert [(line.date - second).days for line in after] == [3, 6, 9]


def test_the_sand_of_today_goes_before_the_preparation_for_the_next():
    lawn = LAWNS["warm"].lawn.model_copy(
        update={"leveling": tuple(Leveling(date=JUNE + dt.timedelta(days=days)) for days in (0, 20))}
    )
    phases = [
        phase_on(known_on(lawn, JUNE + dt.timedelta(days=n)), JUNE + dt.timedelta(days=n)) for n in (0, 3, 15)
    ]
    assert phases == ["sand day", "keep it moist", "prepare"]


@pytest.mark.parametrize("grass", ["zoysiagrass", "tall fescue"])
def test_nothing_to_do_holds_until_the_day_that_is_named(grass):
    """Soil, weed killers and thatch come before the two weeks of the way down, and were once passed over."""
    lawn = lawn_of(day=dt.date(2026, 5, 20), grass=grass)
    for left in range(30, 14, -1):
        day = lawn.leveling[0].date - dt.timedelta(days=left)
        known = known_on(lawn, day)
        line = today(known).lines[-1]
        if line.do.startswith("Nothing to do for the sand until"):
            first = min(one.date for one in days_ahead(known, 30))
            assert date_words(first, lawn.date_form) in line.do


@pytest.mark.parametrize(
    ("frost", "day", "said_now"),
    [
        ("10-05", dt.date(2026, 9, 12), "Overseed the gaps now"),
        ("10-05", dt.date(2026, 9, 20), "too late in the year"),
        ("10-05", dt.date(2026, 10, 20), "too late in the year"),
        (None, dt.date(2026, 10, 20), "Overseed the gaps now"),
        ("05-01", dt.date(2026, 4, 20), "too late in the year"),
        ("10-05", dt.date(2026, 3, 20), "in early fall"),
    ],
)
def test_seed_is_sown_while_it_can_root_before_the_frost(frost, day, said_now):
    """Mid-August to mid-September where the first frost comes in early October (from memory)."""
    lawn = lawn_of(day=day - dt.timedelta(days=70), grass="tall fescue").model_copy(
        update={"first_frost": frost}
    )
    assert said_now in said(known_on(lawn, day))


def test_the_season_of_a_cool_season_grass_is_the_same_everywhere():
    """A list of April once planned a leveling now, because September to October was the season."""
    april = dt.date(2026, 4, 20)
    lawn = lawn_of(day=april - dt.timedelta(days=200), grass="kentucky bluegrass")
    assert "The season for Kentucky bluegrass is spring or early fall" in said(known_on(lawn, april))
    warm = lawn_of(day=april - dt.timedelta(days=200), grass="zoysiagrass")
    assert "The season for zoysiagrass is May to August" in said(known_on(warm, april))


@pytest.mark.parametrize(
    ("height", "words"), [(60, "at 40 mm, once"), (38, "at 26 mm, once"), (30, "is 38 mm, at 25 mm")]
)
def test_without_a_photo_a_leaf_that_is_due_is_mown_by_the_third(height, words):
    """One third at most: 60 mm to 40. The list once said to mow at 40 mm when the leaf is 38."""
    day = JUNE + dt.timedelta(days=14)
    reading = Reading(date=day, height_mm=height)
    assert words in said(known_on(lawn_of(), day, readings=(reading,)))


def test_st_augustinegrass_gets_half_the_sand_of_bermudagrass():
    """Half of the usual 1/4 in, after company figures (weak): no heavy topdressing, disease."""
    assert "Spread 3.2 mm" in said(known_on(lawn_of(grass="st augustinegrass"), JUNE))


def test_the_edge_of_the_season_asks_to_check_and_not_to_change():
    april = known_on(lawn_of(day=dt.date(2026, 4, 20)), dt.date(2026, 4, 10))
    assert "Check the plan before the sand comes. 20 April is at the edge of the season" in said(april)


def test_dates_of_warm_grasses_are_never_said_of_cool_ones():
    for number in DAYS:
        text = said(LAWNS["cool"].known(number))
        assert not re.search(r"\b(May|June|July) |May to August", text)


def test_no_amounts_of_water_or_feed():
    for name in LAWNS:
        for number in DAYS:
            for line in today(LAWNS[name].known(number)).lines:
                if re.search(r"\b[Ww]ater |[Ff]eed", line.do):
                    assert not re.search(r"\d+ ?(mm|in|L|gal|lb|kg|minutes)\b", line.do + line.why)


def test_rain_in_the_diary_and_heat_in_the_weather_are_heard():
    day = JUNE + dt.timedelta(days=2)
    rain = DiaryEntry(date=day, what="rain")
    assert "No water needed" in said(known_on(lawn_of(), day, diary=(rain,)))
    hot = Weather((Temperatures(date=day, tmin_c=22, tmax_c=35),), "test")
    assert "midday" in said(known_on(lawn_of(), day, weather=hot))
    assert "midday" not in said(known_on(lawn_of(), day))


def test_the_days_ahead_name_each_thing_once_and_nothing_of_every_day():
    known = LAWNS["warm"].known(-14)
    ahead = days_ahead(known, 20)
    assert [line.date for line in ahead] == sorted(line.date for line in ahead)
    assert all(known.as_of < line.date <= known.as_of + dt.timedelta(days=20) for line in ahead)
    assert len({line.key for line in ahead}) == len(ahead)
    assert not any(line.is_routine for line in ahead)
    assert any(line.date == JUNE and line.do.startswith("Spread") for line in ahead)
    spans = routines(known, 20)
    assert any("drag" in line.key.lower() and (last - line.date).days == 2 for line, last in spans)


def test_what_the_mow_waits_for_is_done_before_it():
    """Working order: look and measure, then mow, then note it."""
    known = LAWNS["cool"].known(29)
    assert known.outlook.first_mow.is_due
    kinds = [line.key for line in today(known).lines]
    place = {
        name: next(n for n, kind in enumerate(kinds) if name in kind)
        for name in ("looks", "first mow", "note")
    }
    assert place["looks"] < place["first mow"] < place["note"]


def test_an_old_photo_asks_for_a_new_one_before_anything_is_mowed():
    drawn = LAWNS["cool"].known(29)
    old = replace(drawn, last_photo=drawn.as_of - dt.timedelta(days=15))
    assert today(old).lines[0].do.startswith("Take a photo first: the newest is from 24 September")
    fresh = replace(drawn, last_photo=drawn.as_of - dt.timedelta(days=14))
    assert "Take a photo first" not in said(fresh)


@pytest.mark.parametrize("name", ["warm", "cool"])
def test_the_pages_short_sentence_of_every_day_fits_and_has_the_keepers_dates(name):
    """Two lines of a phone hold about 64 letters; what waits says its window."""
    drawn, windows = LAWNS[name], 0
    for number in range(1, 60, 3):
        known = drawn.known(number)
        iso = drawn.lawn.model_copy(update={"dates": "iso"})
        words = headline(known.outlook, iso)
        assert 10 < len(words) <= 100
        if words.endswith(").") and "Wait" in words:  # one chance, whichever screen says it
            assert percent(known.outlook.first_mow.chance) in words
        windows += bool(re.search(r"2026-\d\d-\d\d to 2026", words))
        assert not re.search(r"\d (June|July|September|October)", words)
    assert windows


def test_the_future_is_not_known():
    drawn = LAWNS["warm"]
    mowed = DiaryEntry(date=JUNE + dt.timedelta(days=30), what="mowed")
    day = JUNE + dt.timedelta(days=5)
    assert today(known_on(drawn.lawn, day, diary=(mowed,))) == today(known_on(drawn.lawn, day))
