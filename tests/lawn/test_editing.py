"""Changing the keeper's files from a form: comments stay, a newer file is never written over, lines are only added."""

from __future__ import annotations

import datetime as dt
import tomllib

import pytest

from swardmark.common.errors import FileError, UsageError
from swardmark.lawn.editing import (
    ChangedMeanwhile,
    ZoneDraft,
    add_diary_entry,
    add_reading,
    confirm,
    revision_of,
    save_ground,
)
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.readings import read_diary, read_readings
from swardmark.lawn.toml import read_lawn

KEPT = """\
# my lawn
name = "back"   # behind the house
square_side_m = 1.0

# the shady part, careful
[[zone]]
name = "shade"
outline_m = [[1.2, 0.0], [2.2, 0.0], [2.2, 1.5], [1.2, 1.5]]  # by the hedge

[[zone]]
point = "gate"
name = "shade"
outline_m = [[0.0, 2.0], [1.0, 2.0], [1.0, 3.0]]

[mowing]
usual_height_mm = 40  # since spring
"""
SHADE = ((1.2, 0.0), (2.2, 0.0), (2.2, 1.5), (1.2, 1.5))
SUN = ((-2.0, 0.0), (-1.0, 0.0), (-1.0, 1.0))


@pytest.fixture
def lawn(tmp_path):
    (tmp_path / "lawn.toml").write_text(KEPT, encoding="utf-8")
    return tmp_path


def now(folder):
    return revision_of(folder / "lawn.toml")


def test_saving_what_is_there_changes_no_byte_and_makes_no_backup(lawn):
    save_ground(lawn, [ZoneDraft("shade", SHADE, was="shade")], revision=now(lawn))
    assert (lawn / "lawn.toml").read_text() == KEPT
    assert [path.name for path in lawn.iterdir()] == ["lawn.toml"]


def test_a_new_zone_and_an_outline_leave_the_rest_as_it_was(lawn):
    drafts = [ZoneDraft("shade", SHADE, was="shade"), ZoneDraft("sun", SUN)]
    outline = ((-3, -1), (3, -1), (3, 4), (-3, 4))
    revision = save_ground(lawn, drafts, revision=now(lawn), outline_m=outline)
    after = read_lawn(lawn)
    assert revision == now(lawn)
    assert [(z.point, z.name) for z in after.zone] == [("main", "shade"), ("gate", "shade"), ("main", "sun")]
    assert after.zone[2].outline_m == SUN
    assert after.lawn_outline_m == outline
    text = (lawn / "lawn.toml").read_text()
    for comment in ("# my lawn", "# behind the house", "# by the hedge", "# since spring"):
        assert comment in text
    backup = [path for path in lawn.iterdir() if path.suffix == ".bak"]
    assert [path.read_text() for path in backup] == [KEPT]


def test_a_zone_is_renamed_moved_and_deleted_and_other_points_keep_theirs(lawn):
    save_ground(lawn, [ZoneDraft('über "alles" <script>', SUN, was="shade")], revision=now(lawn))
    assert [(z.point, z.name) for z in read_lawn(lawn).zone] == [
        ("main", 'über "alles" <script>'),
        ("gate", "shade"),
    ]
    assert read_lawn(lawn).zone[0].outline_m == SUN
    save_ground(lawn, [], revision=now(lawn))
    assert [(z.point, z.name) for z in read_lawn(lawn).zone] == [("gate", "shade")]
    save_ground(lawn, [], revision=now(lawn), point="gate")
    assert read_lawn(lawn).zone == ()


def test_a_new_zone_takes_the_name_that_another_gives_up(lawn):
    save_ground(lawn, [ZoneDraft("hedge", SHADE, was="shade"), ZoneDraft("shade", SUN)], revision=now(lawn))
    assert {z.name: z.outline_m for z in read_lawn(lawn).zone if z.point == "main"} == {
        "hedge": SHADE,
        "shade": SUN,
    }


def test_a_new_zone_goes_below_the_last_one_and_a_deleted_one_takes_no_comment_with_it(tmp_path):
    text = (
        'name = "a"\n\n[[zone]]\nname = "one"\noutline_m = [\n  [0, 2], [1, 2],\n  [1, 3],\n]\n\n'
        '# heights of cut\n[mowing]\nnotch_mm = 5\n\n[[zone]]\nname = "two"\noutline_m = [[0, 2], [1, 2], [1, 3]]\n'
        "\n# the sand\n[sand]\n"
    )
    (tmp_path / "lawn.toml").write_text(text)
    two = ZoneDraft("two", ((0, 2), (1, 2), (1, 3)), was="two")
    save_ground(tmp_path, [two, ZoneDraft("three", SUN)], revision=now(tmp_path))
    after = (tmp_path / "lawn.toml").read_text()
    start, end = text.index("[[zone]]"), text.index("\n# heights")
    sand = text.index("\n# the sand")
    assert after.startswith(text[:start] + text[end:sand] + '\n[[zone]]\nname = "three"\n')
    assert after.endswith("\n\n# the sand\n[sand]\n")
    save_ground(tmp_path, [two], revision=now(tmp_path))
    assert [zone.name for zone in read_lawn(tmp_path).zone] == ["two"]


def test_zones_written_as_one_list_are_kept(tmp_path):
    text = 'name = "a"\nzone = [{name = "one", outline_m = [[0, 2], [1, 2], [1, 3]]}]\n'
    (tmp_path / "lawn.toml").write_text(text)
    one = ZoneDraft("one", ((0, 2), (1, 2), (1, 3)), was="one")
    save_ground(tmp_path, [one, ZoneDraft("two", SUN)], revision=now(tmp_path))
    assert [z.name for z in read_lawn(tmp_path).zone] == ["one", "two"]


def test_a_later_save_on_a_changed_file_is_told_and_writes_nothing(lawn):
    seen_by_both = now(lawn)
    save_ground(lawn, [ZoneDraft("first", SUN)], revision=seen_by_both)
    first = (lawn / "lawn.toml").read_text()
    with pytest.raises(ChangedMeanwhile, match="changed elsewhere"):
        save_ground(lawn, [ZoneDraft("second", SUN)], revision=seen_by_both)
    with pytest.raises(ChangedMeanwhile):
        confirm(lawn, "dry", dt.date(2026, 6, 9), revision=seen_by_both)
    assert (lawn / "lawn.toml").read_text() == first


@pytest.mark.parametrize(
    ("drafts", "words"),
    [
        ([ZoneDraft("a", SUN[:2])], "three corners"),
        ([ZoneDraft("a", ((0, 0), (1, 1), (1, 0), (0, 1)))], "crosses itself"),
        ([ZoneDraft("a", SUN), ZoneDraft("a", SHADE)], "named 'a'"),
        ([ZoneDraft("whole lawn", SUN)], "name of the total"),
        ([ZoneDraft("a", ((0, 0), (float("nan"), 1), (1, 0)))], "finite number|within 1000 m"),
        ([ZoneDraft("", SUN)], "at least 1 character"),
    ],
)
def test_what_cannot_be_a_zone_is_told_and_writes_nothing(lawn, drafts, words):
    with pytest.raises(FileError, match=words):
        save_ground(lawn, drafts, revision=now(lawn))
    assert (lawn / "lawn.toml").read_text() == KEPT


def test_an_outline_that_crosses_itself_is_told(lawn):
    with pytest.raises(UsageError, match="crosses itself"):
        save_ground(lawn, [], revision=now(lawn), outline_m=((0, 0), (1, 1), (1, 0), (0, 1)))


def test_confirmations_are_dated_and_taken_back(lawn):
    confirm(lawn, "dry", dt.date(2026, 6, 9), revision=now(lawn))
    confirm(lawn, "firm", dt.date(2026, 6, 10), revision=now(lawn))
    assert read_lawn(lawn).confirmed.dry == dt.date(2026, 6, 9)
    confirm(lawn, "dry", None, revision=now(lawn))
    assert tomllib.loads((lawn / "lawn.toml").read_text())["confirmed"] == {"firm": dt.date(2026, 6, 10)}
    with pytest.raises(UsageError, match="not a check"):
        confirm(lawn, "folder", dt.date(2026, 6, 9), revision=now(lawn))


def test_a_reading_begins_the_table_and_the_next_goes_below_it(tmp_path):
    add_reading(
        tmp_path, {"date": "2026-06-10", "zone": "a, b", "height_mm": "31.5", "firm": True, "note": ""}
    )
    add_reading(tmp_path, {"date": "2026-06-12", "dip_in": "0.5", "x_m": -1.5, "y_m": 1})
    first, second = read_readings(tmp_path)
    assert (first.zone, first.height_mm, first.firm) == ("a, b", 31.5, True)
    assert (second.dip_mm, second.x_m) == (12.7, -1.5)


def test_the_keepers_table_keeps_its_columns_lines_and_separator(tmp_path):
    kept = "\ufeffDate;Zone;height_mm\r\n2026-06-10;a;31,5"
    (tmp_path / "readings.csv").write_text(kept, encoding="utf-8", newline="")
    add_reading(tmp_path, {"date": "2026-06-12", "height_mm": "40.5", "note": "wet; soft"})
    rows = read_readings(tmp_path)
    assert [row.height_mm for row in rows] == [31.5, 40.5]
    assert rows[1].note == "wet; soft"
    raw = (tmp_path / "readings.csv").read_bytes().decode("utf-8")
    assert raw == '\ufeffDate;Zone;height_mm;note\r\n2026-06-10;a;31,5\r\n2026-06-12;;40,5;"wet; soft"\r\n'


def test_text_that_a_spreadsheet_would_run_is_disarmed(tmp_path):
    """OWASP, CSV Injection: cells that begin with = + - @ are written so that they are text."""
    add_diary_entry(tmp_path, {"date": "2026-06-12", "what": "note", "note": "=HYPERLINK(1)"})
    assert ",'=HYPERLINK(1)" in (tmp_path / "diary.csv").read_text()
    assert read_diary(tmp_path)[0].note == "=HYPERLINK(1)"


def test_a_zone_whose_name_begins_as_a_formula_is_read_back_as_it_is_called(tmp_path):
    for zone in ("-north", "'+1", "'early"):
        add_reading(tmp_path, {"date": "2026-06-12", "zone": zone, "height_mm": "30"})
    assert [row.zone for row in read_readings(tmp_path)] == ["-north", "'+1", "'early"]


@pytest.mark.parametrize("ends", [("\n", "\r\n"), ("\r\n", "\n"), ("\r", "\r")])
def test_a_table_with_line_ends_of_two_systems_takes_another_line(tmp_path, ends):
    (tmp_path / "diary.csv").write_bytes("date,what{}2026-06-02,watered{}".format(*ends).encode())
    add_diary_entry(tmp_path, {"date": "2026-06-12", "what": "fed", "amount": "20 g"})
    assert [(row.what, row.amount) for row in read_diary(tmp_path)] == [("watered", ""), ("fed", "20 g")]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"date": "soon"}, "date"),
        ({"date": "2026-06-12", "height_mm": "tall"}, "not a number"),
        ({"date": "2026-06-12", "height_mm": "31", "height_in": "1"}, "both height_mm and height_in"),
        ({"date": "2026-06-12", "color": "green"}, "no column 'color'"),
    ],
)
def test_a_line_that_cannot_be_is_told_and_writes_nothing(tmp_path, values, words):
    with pytest.raises(UsageError, match=words):
        add_reading(tmp_path, values)
    assert not (tmp_path / "readings.csv").exists()


def test_outlines_in_feet_stay_in_feet(tmp_path):
    """What the keeper wrote in feet is read as meters, and written back in feet where it was drawn anew."""
    start_lawn(tmp_path / "yard", units="us", grass="bermudagrass")
    path = tmp_path / "yard" / "lawn.toml"
    assert "# outline_ft = " in path.read_text(encoding="utf-8")
    path.write_text(path.read_text(encoding="utf-8") + '[[zone]]\nname = "gate"\n'
                    "outline_ft = [[4, 0], [7, 0], [7, 5], [4, 5]]\n", encoding="utf-8")  # fmt: skip
    (zone,) = read_lawn(tmp_path / "yard").zone
    assert zone.area_m2 == pytest.approx(15 * 0.3048**2)
    lawn = tmp_path / "yard"
    same = save_ground(lawn, [ZoneDraft("gate", zone.outline_m, was="gate")], revision=now(lawn))
    assert same == now(lawn) and "[4, 0], [7, 0]" in path.read_text(encoding="utf-8")
    wider = ((1.2192, 0.0), (2.4384, 0.0), (2.4384, 1.524), (1.2192, 1.524))
    save_ground(lawn, [ZoneDraft("gate", wider, was="gate")], revision=now(lawn))
    assert "outline_ft = [[4.0, 0.0], [8.0, 0.0], [8.0, 5.0], [4.0, 5.0]]" in path.read_text(encoding="utf-8")
    assert read_lawn(lawn).zone[0].area_m2 == pytest.approx(20 * 0.3048**2)
