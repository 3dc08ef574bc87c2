"""lawn.ics against the icalendar library and the line rules of RFC 5545."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import icalendar
import pytest

from swardmark.season import Season
from swardmark.words.calendar import escape, events, fold, season_calendar


def parsed(season: Season) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(season_calendar(season)).walk("VEVENT"))


def test_icalendar_reads_back_every_event(season: Season) -> None:
    rows = parsed(season)
    assert len(rows) == len(events(season)) > 8
    for row, event in zip(rows, events(season), strict=True):
        assert row.decoded("dtstart") == event.first
        assert row.decoded("dtend") == event.last + dt.timedelta(
            days=1
        )  # the end is exclusive, RFC 5545 3.6.1
        assert str(row["description"]) == event.text
    assert len({str(row["uid"]) for row in rows}) == len(rows)


def test_the_first_mow_window_and_next_photo(season: Season) -> None:
    by_title = {str(row["summary"]): row for row in parsed(season)}
    window = by_title["First mow window (Plover Yard)"]
    assert window.decoded("dtstart") == dt.date(2026, 6, 18)
    assert window.decoded("dtend") == dt.date(2026, 6, 25)
    photos = [row.decoded("dtstart") for row in parsed(season) if "Take a photo" in str(row["summary"])]
    assert photos[0] == dt.date(2026, 6, 18)


def test_preparation_steps_lead_to_the_next_sand(season: Season) -> None:
    steps = [event for event in events(season) if event.key.startswith("before 2026-08-12")]
    assert steps[-1].first == dt.date(2026, 8, 11)
    assert any("Mow at" in event.title for event in steps)
    assert {e.first for e in events(season) if e.key.startswith("sand 2026-08-12")} == {dt.date(2026, 8, 12)}


def test_what_is_dated_rings_at_seven_and_what_is_done_every_day_is_one_quiet_event(season: Season) -> None:
    rows = {str(row["uid"]): row for row in parsed(season)}
    assert len(rows) == len(events(season))
    for row, event in zip(parsed(season), events(season), strict=True):
        alarms = row.walk("VALARM")
        assert len(alarms) == event.alarm
        for alarm in alarms:
            assert alarm["action"] == "DISPLAY" and alarm.decoded("trigger") == dt.timedelta(hours=7)
    water = [event for event in events(season) if "water" in event.key and event.last > event.first]
    assert water and not any(event.alarm for event in water)


def test_mowings_after_the_first_come_with_their_height(season: Season) -> None:
    (step,) = [event for event in events(season) if event.key.startswith("way up")]
    assert step.first == dt.date(2026, 6, 28)
    assert step.title == "Mow at 27 mm; the leaf stands near 40 mm." and "stones" in step.text


def test_no_mow_window_after_the_first_mow(season: Season) -> None:
    mow = replace(season.outlook.first_mow, mowed_on=dt.date(2026, 6, 14))
    done = replace(season, outlook=replace(season.outlook, first_mow=mow))
    assert not [event for event in events(done) if event.title == "First mow window"]


def test_lines_keep_to_rfc_5545(season: Season) -> None:
    text = season_calendar(season)
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75


def test_output_is_the_same_each_time_and_uids_outlive_new_photos(season: Season) -> None:
    assert season_calendar(season) == season_calendar(season)
    later = replace(season, as_of=season.as_of + dt.timedelta(days=1))
    first_mow = [
        row["uid"] for row in (*parsed(season), *parsed(later)) if "First mow" in str(row["summary"])
    ]
    assert len(first_mow) == 2 and len(set(first_mow)) == 1


def test_long_and_hostile_names_survive(season: Season) -> None:
    name = 'Grün, "Hof"; \\ 🌱\x1b[31m\nEND:VCALENDAR ' + "é" * 150
    odd = replace(season, lawn=season.lawn.model_copy(update={"name": name}))
    titles = [str(row["summary"]) for row in parsed(odd)]
    assert len(titles) == len(events(season))
    assert all("🌱" in title and "END:VCALENDAR" in title and "\x1b" not in title for title in titles)


@pytest.mark.parametrize(("text", "escaped"), [("a,b;c", "a\\,b\\;c"), ("\\", "\\\\"), ("a\nb", "a\\nb")])
def test_escaping(text: str, escaped: str) -> None:
    assert escape(text) == escaped  # RFC 5545 3.3.11


def test_folding_never_splits_a_letter() -> None:
    line = "SUMMARY:" + "🌱ä" * 60
    folded = fold(line)
    assert all(len(part.encode()) <= 75 for part in folded.split("\r\n"))
    assert folded.replace("\r\n ", "") == line
