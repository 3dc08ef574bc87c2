"""Notes written while the page does not answer wait in the browser, and arrive once, whatever breaks on the way."""

from __future__ import annotations

import datetime as dt
import json
import time

import pytest
from page_serving import serving, soon

from swardmark.common.errors import UsageError
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.heights import read_heights
from swardmark.lawn.readings import read_diary, read_readings
from swardmark.lawn.toml import read_lawn
from swardmark.page.noting.notes import Note, NoteBook, note_of

WAIT_S = 30
TODAY = dt.date.today().isoformat()


@pytest.fixture
def lawn(tmp_path):
    start_lawn(tmp_path / "lawn")
    return tmp_path / "lawn"


def note(kind, *, key="0", tried="", **values) -> Note:
    return Note(key=key * 32, kind=kind, tried=tried, values={"date": TODAY, **values})


def test_every_kind_of_note_stands_in_its_file_once_and_can_be_taken_back(lawn):
    book = NoteBook(lawn)
    notes = [
        note("diary", key="1", what="watered", amount="10 mm"),
        note("reading", key="2", height_mm="31", zone="by the path"),
        note("leaf", key="3", height_mm="30"),
        note("depth", key="4", dip_mm="8", spot="2"),
        note("tick", key="5", what="mowed", on="yes"),
        note("look", key="6", name="firm", on="yes"),
        note("height", key="7", place="1", x_m="0.0", y_m="1.0", drop_mm="42", how="string"),
        note("probe", key="8", x_m="0.5", y_m="1.5", ground="low", sand_mm="12"),
    ]
    for twice in (1, 2):
        states = {book.keep(one).state for one in notes}
        assert states == {"added" if twice == 1 else "known"}
    assert [(entry.what, entry.amount) for entry in read_diary(lawn)] == [("watered", "10 mm"), ("mowed", "")]
    assert [(one.height_mm, one.dip_mm) for one in read_readings(lawn)] == [(31, None), (30, None), (None, 8)]
    assert [row.height_mm for row in read_heights(lawn)] == [-42]
    assert read_lawn(lawn).confirmed.firm == dt.date.today()
    assert [(one.ground, one.sand_mm) for one in read_lawn(lawn).probe] == [("low", 12)]
    book.take_back("8" * 32)
    book.take_back("4" * 32)
    assert read_lawn(lawn).probe == ()
    assert len(read_readings(lawn)) == 2
    with pytest.raises(UsageError, match="can no longer be taken back"):
        book.take_back("4" * 32)


def test_a_note_whose_answer_was_lost_before_a_restart_is_not_there_twice(lawn):
    """The page that may have had it is another run; two notes of the same words in one run are two."""
    first = NoteBook(lawn)
    for kind, more in (("diary", {"what": "fed"}), ("reading", {"height_mm": "31"}),
                       ("probe", {"x_m": "0.5", "y_m": "1.5", "ground": "low"})):  # fmt: skip
        first.keep(note(kind, key="1" if kind == "diary" else "2" if kind == "reading" else "3", **more))
        again = note(kind, key="4", tried=first.run, **more)
        assert NoteBook(lawn).keep(again).state == "known"
    assert first.keep(note("diary", key="5", tried=first.run, what="fed")).state == "added"
    assert [len(read_diary(lawn)), len(read_readings(lawn)), len(read_lawn(lawn).probe)] == [2, 1, 1]


def test_a_tick_that_is_taken_away_again_leaves_no_line(lawn):
    book = NoteBook(lawn)
    book.keep(note("tick", key="1", what="mowed", on="yes"))
    book.keep(note("tick", key="2", what="mowed", on="no"))
    assert read_diary(lawn) == ()


@pytest.mark.parametrize("values", [
    {"kind": "diary", "what": "sold"}, {"kind": "reading", "height_mm": "-3"}, {"kind": "reading", "color": "green"},
    {"kind": "height", "x_m": "nan", "y_m": "0", "drop_mm": "3", "how": "string"}, {"kind": "height", "drop_mm": "3"},
    {"kind": "height", "x_m": "0", "y_m": "0", "drop_mm": "4000", "how": "string"},
    {"kind": "look", "name": "rich", "on": "yes"},
    {"kind": "probe", "x_m": "0", "y_m": "0"}, {"kind": "probe", "x_m": "inf", "y_m": "0", "ground": "low"},
    {"kind": "probe", "x_m": "0", "y_m": "0", "ground": "low", "date": "soon"},
])  # fmt: skip
def test_what_cannot_be_is_refused_and_nothing_is_written(lawn, values):
    before = {path.name: path.read_bytes() for path in lawn.iterdir() if path.is_file()}
    kind = values.pop("kind")
    with pytest.raises(UsageError):
        NoteBook(lawn).keep(note(kind, **values))
    assert {path.name: path.read_bytes() for path in lawn.iterdir() if path.is_file()} == before


@pytest.mark.parametrize("data", [b"", b"[]", b"{}", b'{"key":"x","kind":"diary","values":{}}', b"\xff"])
def test_what_is_no_note_is_refused(data):
    with pytest.raises(UsageError, match="no note"):
        note_of(data)


def test_notes_written_offline_arrive_after_the_tab_was_closed(room, lawn, page_photos):
    """A diary line, a reading and a photo wait together; the line whose answer was lost stands in the diary once."""
    with serving(lawn) as served:
        tab = room.new_page()
        tab.goto(served.address)
        tab.locator("summary", has_text="Diary and readings").click()
        diary, reading = tab.locator(".sm-note-form").all()
        tab.route("**/notes", lambda route: lose(served, route), times=1)
        diary.locator("select").select_option("mowed")
        diary.get_by_role("button").click()
        tab.get_by_text("1 note waits in this browser.").wait_for()
        room.set_offline(True)
        reading.get_by_label("Leaf height, mm").fill("31")
        reading.get_by_label("Leaf height, mm").press("Enter")
        tab.locator("[data-role=choose]").set_input_files(str(page_photos[0]))
        held = tab.locator(".sm-held")
        held.get_by_text("1 photo and 2 notes wait in this browser.").wait_for()
        held.locator("summary").click()
        soon(held).to_contain_text("A reading, ")
        soon(reading.get_by_label("Leaf height, mm")).to_have_value("")
        assert tab.evaluate("document.documentElement.scrollWidth") <= 390
        tab.close()
        room.set_offline(False)
        tab = room.new_page()
        tab.goto(f"http://127.0.0.1:{served.port}/")
        tab.wait_for_function("document.querySelector('.sm-answer') && !document.querySelector('.sm-held')")
        end = time.monotonic() + WAIT_S
        while time.monotonic() < end and not (read_readings(lawn) and list((lawn / "photos").iterdir())):
            time.sleep(0.2)
        tab.close()
    assert [entry.what for entry in read_diary(lawn)] == ["mowed"]
    assert [one.height_mm for one in read_readings(lawn)] == [31]
    assert len(list((lawn / "photos").iterdir())) == 1


def lose(served, route) -> None:
    """Let the page have a note, and its answer be lost."""
    assert json.loads(served.ask("PUT", "/notes", route.request.post_data_buffer)[1])["state"] == "added"
    route.abort()
