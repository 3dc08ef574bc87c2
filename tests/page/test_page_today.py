"""The answer and the card of the day, as plain values: every line has its control, none sends the keeper to a file."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from swardmark.lawn.editing import add_diary_entry
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.readings import read_diary
from swardmark.lawn.toml import read_lawn
from swardmark.page.places.card import card, done_entry, is_done, looks
from swardmark.page.places.fields import GROUPS
from swardmark.season import known_unseen

SAND = dt.date(2026, 6, 3)
FILES = re.compile(r"\.(toml|csv)\b|\[\w+\]|_mm\b")


@pytest.fixture(params=["without heights", "with heights"])
def lawn(tmp_path, request):
    folder = tmp_path / "lawn"
    start_lawn(folder, grass="bermudagrass", leveled=SAND)
    if request.param == "with heights":
        path = folder / "lawn.toml"
        heights = "[mowing]\ntarget_height_mm = 20\nusual_height_mm = 30\n"
        path.write_text(path.read_text().replace("[mowing]\n", heights, 1))
    return folder


def cards(folder):
    for number in range(-40, 130):
        known = known_unseen(folder, on=SAND + dt.timedelta(days=number))
        yield known, card(known, lawn=read_lawn(folder), diary=known.diary)


def test_every_line_of_a_season_has_its_control_and_names_no_file(lawn):
    phases = set()
    for known, shown in cards(lawn):
        phases.add(shown["title"].split(": ")[1])
        assert len(shown["lines"]) <= 5
        for line in shown["lines"]:
            said = f"{line['do']} {line['why']} {line['careful']}"
            assert not FILES.search(said), (known.as_of, line["key"])
            assert line["tick"] or line["leaf"] or line["looks"] or line["photo"] or line["link"], line["key"]
    assert phases >= {"prepare", "sand day", "keep it moist", "grow in", "first mow", "next leveling"}


def test_links_lead_to_fields_that_are_there(lawn):
    fields = {setting.name for group in GROUPS.values() for setting in group} | {"leveling", "heights"}
    links = {line["link"]["to"] for _, shown in cards(lawn) for line in shown["lines"] if line["link"]}
    assert links
    assert {link.split("/")[1] for link in links} <= fields


def test_what_is_ticked_stands_in_the_diary_and_stays_ticked(lawn):
    day = SAND + dt.timedelta(days=2)
    known = known_unseen(lawn, on=day)
    for line in card(known, lawn=read_lawn(lawn), diary=())["lines"]:
        if line["tick"]:
            assert not line["done"]
            add_diary_entry(lawn, done_entry(line["key"], line["do"], day))
            assert is_done(line["key"], line["do"], day, read_diary(lawn))
    assert "watered" in {entry.what for entry in read_diary(lawn)}
    again = card(known, lawn=read_lawn(lawn), diary=read_diary(lawn))
    assert all(line["done"] for line in again["lines"] if line["tick"])


def test_a_look_of_an_earlier_season_or_of_too_long_ago_is_not_ticked(lawn):
    """The list asked for the looks, and showed them as done."""
    path = lawn / "lawn.toml"
    path.write_text(path.read_text() + "\n[confirmed]\ndry = 2026-06-20\ntug_test_passed = 2026-06-20\n")

    def ticked(day):
        known = known_unseen(lawn, on=day)
        return [look["name"] for look in looks(known.lawn, known) if look["on"]]

    assert ticked(dt.date(2026, 6, 21)) == ["dry", "tug_test_passed"]
    assert ticked(dt.date(2026, 6, 25)) == ["tug_test_passed"]
    path.write_text(path.read_text() + "\n[[leveling]]\ndate = 2026-06-24\n")
    assert ticked(dt.date(2026, 6, 25)) == []
