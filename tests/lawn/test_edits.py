"""Changing the keeper's files from a form, and taking it back: nothing else in them changes."""

from __future__ import annotations

import datetime as dt
import tomllib

import pytest

from swardmark.common.errors import UsageError
from swardmark.common.files import write_whole
from swardmark.lawn import editing
from swardmark.lawn.editing import ChangedMeanwhile, add_diary_entry, add_reading, revision_of
from swardmark.lawn.edits import undo
from swardmark.lawn.edits.aside import photos_aside, put_back, set_aside
from swardmark.lawn.edits.ground import add_height, add_probe
from swardmark.lawn.edits.lines import remove_line
from swardmark.lawn.edits.undo import take_back, with_undo
from swardmark.lawn.edits.values import save_leveling, save_values
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.heights import read_heights
from swardmark.lawn.readings import DIARY_FILE, READINGS_FILE, read_diary, read_readings
from swardmark.lawn.toml import LAWN_FILE, read_lawn


@pytest.fixture
def lawn(tmp_path):
    start_lawn(tmp_path / "lawn", name="Tern Cottage", leveled=dt.date(2026, 6, 3))
    return tmp_path / "lawn"


def saved(lawn, **values) -> str:
    names = {name.replace("__", "."): value for name, value in values.items()}
    return save_values(lawn, names, revision=revision_of(lawn / LAWN_FILE))


def test_a_value_changes_and_every_comment_stays(lawn):
    before = (lawn / LAWN_FILE).read_text()
    saved(lawn, mowing__target_height_mm=22.0, area_m2=140.0, name="Tern Cottage, north")
    after = (lawn / LAWN_FILE).read_text()
    now = read_lawn(lawn)
    assert (now.mowing.target_height_mm, now.area_m2, now.name) == (22.0, 140.0, "Tern Cottage, north")
    assert [line for line in before.splitlines() if line.startswith("#")] == [
        line for line in after.splitlines() if line.startswith("#")
    ]


def test_an_emptied_value_goes_back_to_its_default(lawn):
    saved(lawn, outlook__first_mow_cover_pct=80.0)
    saved(lawn, outlook__first_mow_cover_pct=None, sand__price_per_m3=None)
    assert read_lawn(lawn).outlook.first_mow_cover_pct == 70.0


def test_a_value_in_us_units_is_not_said_twice(lawn):
    path = lawn / LAWN_FILE
    path.write_text(path.read_text().replace("[mowing]\n", "[mowing]\ntarget_height_in = 1\n"))
    saved(lawn, mowing__target_height_mm=22.0)
    table = tomllib.loads(path.read_text())["mowing"]
    assert table["target_height_mm"] == 22.0
    assert "target_height_in" not in table


def test_a_value_that_cannot_be_is_refused_and_nothing_is_written(lawn):
    before = (lawn / LAWN_FILE).read_bytes()
    with pytest.raises(UsageError):
        saved(lawn, mowing__target_height_mm=-3.0)
    with pytest.raises(ChangedMeanwhile):
        save_values(lawn, {"name": "other"}, revision="0")
    assert (lawn / LAWN_FILE).read_bytes() == before


def test_levelings_are_changed_added_and_removed(lawn):
    def save(number, day, depth):
        save_leveling(lawn, number, date=day, depth_mm=depth, revision=revision_of(lawn / LAWN_FILE))

    save(0, dt.date(2026, 6, 4), 6.0)
    save(1, dt.date(2027, 5, 20), None)
    now = read_lawn(lawn)
    assert [(one.date, one.depth_mm) for one in now.leveling] == [
        (dt.date(2026, 6, 4), 6.0),
        (dt.date(2027, 5, 20), None),
    ]
    save(0, None, None)
    save(0, None, None)
    assert read_lawn(lawn).leveling == ()
    save(0, dt.date(2026, 6, 5), None)
    assert read_lawn(lawn).leveling_dates == (dt.date(2026, 6, 5),)


def test_a_change_is_taken_back_byte_for_byte(lawn):
    before = (lawn / LAWN_FILE).read_bytes()
    _, changes = with_undo(lawn, [LAWN_FILE, DIARY_FILE], lambda: saved(lawn, name="Other"))
    assert [change.path.name for change in changes] == [LAWN_FILE]
    take_back(lawn, changes)
    assert (lawn / LAWN_FILE).read_bytes() == before

    _, changes = with_undo(
        lawn, [DIARY_FILE], lambda: add_diary_entry(lawn, {"date": "2026-06-05", "what": "watered"})
    )
    take_back(lawn, changes)
    assert not (lawn / DIARY_FILE).exists()


def test_what_was_changed_again_is_not_taken_back(lawn):
    _, changes = with_undo(lawn, [LAWN_FILE], lambda: saved(lawn, name="Other"))
    saved(lawn, name="Third")
    with pytest.raises(ChangedMeanwhile):
        take_back(lawn, changes)
    assert read_lawn(lawn).name == "Third"


def test_one_line_goes_and_the_others_stay_as_they_are(lawn):
    lines = ("date;what;amount;note", "2026-06-04;watered;10 mm;", "2026-06-05;fed;;by the gate", "")
    text = "\r\n".join((*lines, "2026-06-06;watered;;", ""))
    (lawn / DIARY_FILE).write_bytes(text.encode())
    fed = read_diary(lawn)[1]
    remove_line(lawn, DIARY_FILE, fed)
    assert (lawn / DIARY_FILE).read_bytes().decode() == text.replace("2026-06-05;fed;;by the gate\r\n", "")
    with pytest.raises(UsageError):
        remove_line(lawn, DIARY_FILE, fed)

    add_reading(lawn, {"date": "2026-06-09", "height_mm": "30"})
    add_reading(lawn, {"date": "2026-06-10", "height_mm": "32"})
    remove_line(lawn, READINGS_FILE, read_readings(lawn)[0])
    assert [one.height_mm for one in read_readings(lawn)] == [32.0]


def test_comments_below_a_table_stay_when_it_goes_or_another_comes(lawn):
    """Those on zones stand below the leveling in a new lawn.toml, and went with it."""
    path = lawn / LAWN_FILE
    before = path.read_text()
    assert "\n# Parts of the lawn to be watched" in before
    add_probe(lawn, {"date": dt.date(2026, 6, 20), "x_m": 0.5, "y_m": 1.0, "ground": "low"})
    path.write_text(path.read_text() + "# the end\n")
    add_probe(lawn, {"date": dt.date(2026, 6, 21), "x_m": 0.5, "y_m": 1.0, "ground": "high"})
    assert path.read_text().endswith('ground = "high"\n# the end\n')
    save_leveling(lawn, 0, date=None, depth_mm=None, revision=revision_of(path))
    assert read_lawn(lawn).leveling == ()
    comments = [line for line in before.splitlines() if line.startswith("#")]
    assert [line for line in path.read_text().splitlines() if line.startswith("#")] == [
        *comments,
        "# the end",
    ]


def test_a_new_setting_stands_above_the_comments_on_what_follows(lawn):
    path = lawn / LAWN_FILE
    path.write_bytes(
        b'name = "a"\r\n\r\n[[leveling]]\r\ndate = 2026-06-03\r\n\r\n# the cut\r\n[mowing]\r\n'
        b"target_height_mm = 20\r\n\r\n# of the sand\r\n[sand]\r\n"
    )
    save_leveling(lawn, 0, date=dt.date(2026, 6, 3), depth_mm=6, revision=revision_of(path))
    new = {"mowing.usual_height_mm": 40, "mowing.notch_mm": 5.0}
    save_values(lawn, new, revision=revision_of(path))
    assert path.read_bytes().decode() == (
        'name = "a"\r\n\r\n[[leveling]]\r\ndate = 2026-06-03\r\ndepth_mm = 6\r\n\r\n# the cut\r\n[mowing]\r\n'
        "target_height_mm = 20\r\nusual_height_mm = 40\r\nnotch_mm = 5.0\r\n\r\n# of the sand\r\n[sand]\r\n"
    )


@pytest.mark.parametrize("name", ["leveling", "probe"])
def test_tables_written_as_one_list_gain_and_lose_one(lawn, name):
    path, day = lawn / LAWN_FILE, dt.date(2026, 6, 3)
    path.write_text(f"name = 'a'\n{name} = [{{date = 2026-06-03, x_m = 1.0, y_m = 1.0, soil = 'dry'}}]\n")
    if name == "leveling":
        path.write_text("name = 'a'\nleveling = [{date = 2026-06-03, depth_in = 0.25}]\n")
        save_leveling(lawn, 1, date=dt.date(2027, 6, 3), depth_mm=6.0, revision=revision_of(path))
        assert [one.depth_mm for one in read_lawn(lawn).leveling] == pytest.approx([6.35, 6.0])
        for _ in range(2):
            save_leveling(lawn, 0, date=None, depth_mm=None, revision=revision_of(path))
        assert read_lawn(lawn).leveling == ()
    else:
        add_probe(lawn, {"date": day, "x_m": 0.5, "y_m": 1.0, "ground": "low"})
        assert [one.ground for one in read_lawn(lawn).probe] == [None, "low"]


def test_a_header_inside_a_text_of_several_lines_is_no_table(lawn):
    path = lawn / LAWN_FILE
    path.write_text('name = "a"\n\n[[leveling]]\ndate = 2026-06-03\nnote = """\n[[leveling]]\n"""\n')
    save_leveling(lawn, 1, date=dt.date(2027, 6, 3), depth_mm=None, revision=revision_of(path))
    assert [one.date.year for one in read_lawn(lawn).leveling] == [2026, 2027]
    save_leveling(lawn, 0, date=None, depth_mm=None, revision=revision_of(path))
    assert [(one.date.year, one.note) for one in read_lawn(lawn).leveling] == [(2027, "")]
    path.write_text('name = "a"\n\n[[leveling]]\ndate = 2026-06-03\nnote = """\nas in\n[sand]\n"""\n')
    save_leveling(lawn, 1, date=dt.date(2027, 6, 3), depth_mm=None, revision=revision_of(path))
    assert [one.date.year for one in read_lawn(lawn).leveling] == [2026, 2027]


def test_a_change_of_two_files_that_fails_halfway_leaves_both_as_they_were(lawn, monkeypatch):
    def act():
        add_diary_entry(lawn, {"date": "2026-06-10", "what": "fed"})
        add_reading(lawn, {"date": "2026-06-10", "height_mm": "30"})

    def full(path, data):
        if path.name == READINGS_FILE:
            raise UsageError("cannot be written (No space left on device)", where=str(path))
        return write_whole(path, data)

    add_diary_entry(lawn, {"date": "2026-06-09", "what": "watered"})
    names = [DIARY_FILE, READINGS_FILE]
    with monkeypatch.context() as patch:
        patch.setattr(editing, "write_whole", full)
        with pytest.raises(UsageError):
            with_undo(lawn, names, act)
    assert [row.what for row in read_diary(lawn)] == ["watered"]
    add_reading(lawn, {"date": "2026-06-08", "height_mm": "40"})
    _, changes = with_undo(lawn, names, act)
    monkeypatch.setattr(undo, "write_whole", full)
    with pytest.raises(UsageError):
        take_back(lawn, changes)
    assert [row.what for row in read_diary(lawn)] == ["watered", "fed"]
    assert [row.height_mm for row in read_readings(lawn)] == [40.0, 30.0]


@pytest.mark.parametrize(("where", "folder"), [("left_out", "left_out"), ("bin", "removed")])
def test_a_photo_is_set_aside_and_put_back(lawn, where, folder):
    (lawn / "photos" / "gate").mkdir(parents=True)
    (lawn / "photos" / "gate" / "2026-06-09.jpg").write_bytes(b"one")
    assert set_aside(lawn, "gate/2026-06-09.jpg", where) == "gate/2026-06-09.jpg"
    assert (lawn / folder / "gate" / "2026-06-09.jpg").read_bytes() == b"one"
    (lawn / "photos" / "gate" / "2026-06-09.jpg").write_bytes(b"another")
    assert [file.name for file in photos_aside(lawn, where)] == ["gate/2026-06-09.jpg"]
    back = put_back(lawn, "gate/2026-06-09.jpg", where)
    assert (lawn / "photos" / back).read_bytes() == b"one"
    assert (lawn / "photos" / "gate" / "2026-06-09.jpg").read_bytes() == b"another"
    with pytest.raises(UsageError):
        set_aside(lawn, "../lawn.toml", where)


@pytest.mark.parametrize(("where", "folder"), [("left_out", "left_out"), ("bin", "removed")])
def test_a_link_in_its_place_leads_nowhere(lawn, tmp_path, where, folder):
    (tmp_path / "elsewhere").mkdir()
    (lawn / folder).symlink_to(tmp_path / "elsewhere")
    (lawn / "photos").mkdir(exist_ok=True)
    (lawn / "photos" / "2026-06-09.jpg").write_bytes(b"one")
    with pytest.raises(UsageError):
        set_aside(lawn, "2026-06-09.jpg", where)
    assert photos_aside(lawn, where) == []


def test_a_height_and_a_probe_are_added(lawn):
    values = {"date": "2026-06-20", "place": "3", "x_m": 0.75, "y_m": 1.5, "drop_mm": "42", "how": "string"}
    add_height(lawn, values)
    add_height(lawn, values | {"place": "4", "drop_mm": "30"})
    assert [(row.place, row.height_mm) for row in read_heights(lawn)] == [("3", -42.0), ("4", -30.0)]
    add_probe(lawn, {"date": dt.date(2026, 6, 20), "x_m": 0.5, "y_m": 1.0, "ground": "low", "soil": None})
    (probe,) = read_lawn(lawn).probe
    assert (probe.ground, probe.soil) == ("low", None)
    with pytest.raises(UsageError):
        add_probe(lawn, {"date": dt.date(2026, 6, 20), "x_m": 0.5, "y_m": 1.0})
