"""A short run of the fuzzing script, and properties of the readers of the keeper's files."""

from __future__ import annotations

import csv
import datetime as dt
import io

import fuzz_inputs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.common.errors import FileError, SwardmarkError
from swardmark.lawn.marks import parse_marks
from swardmark.lawn.readings import parse_diary, parse_readings
from swardmark.lawn.toml import parse_lawn
from swardmark.lawn.weather import parse_weather
from swardmark.words.tables import to_csv

READERS = (parse_lawn, parse_marks, parse_readings, parse_diary, parse_weather)
ZONE = '[[zone]]\nname = "z"\noutline_m = {}\n'


@pytest.mark.filterwarnings("ignore")
def test_a_few_hundred_damaged_files_are_read_or_refused_in_one_line(capfd):
    tally = fuzz_inputs.run(360, seed=20)
    assert tally.faults == []
    assert tally.slowest_s < fuzz_inputs.LONGEST_S
    assert tally.accepted.total() > 20
    assert tally.refused.total() > 100


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=300))
def test_any_text_is_read_or_refused(text):
    for read in READERS:
        try:
            read(text)
        except SwardmarkError as error:
            assert "\n" not in str(error)
            assert error.where


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.dates(),
    lambda inner: st.lists(inner, max_size=4),
    max_leaves=8,
)


@settings(max_examples=80, deadline=None)
@given(
    st.sampled_from(
        [
            "name",
            "grass",
            "units",
            "square_side_m",
            "zone",
            "leveling",
            "point",
            "measure",
            "mowing",
            "confirmed",
        ]
    ),
    VALUES,
)
def test_values_of_any_type_in_lawn_toml_are_read_or_refused(key, value):
    import tomlkit

    try:
        text = tomlkit.dumps({"name": "a"} | {key: value})
    except (ValueError, TypeError):
        return
    try:
        parse_lawn(text)
    except FileError as error:
        assert error.remedy
        assert "\n" not in str(error)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.tuples(st.dates(dt.date(1990, 1, 1), dt.date(2100, 1, 1)), st.text(max_size=40)), max_size=6)
)
def test_what_a_spreadsheet_writes_is_read_back(rows):
    out = io.StringIO()
    csv.writer(out).writerows([("date", "what", "note"), *((day, "note", note) for day, note in rows)])
    read = parse_diary(out.getvalue())
    assert [line.date for line in read] == sorted(day for day, _ in rows)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("square_side_m = true", "square_side_m"),
        ("square_side_m = nan", "not nan"),
        ("square_side_m = " + "9" * 400, "valid number"),
        ("zone = 1", "zone"),
        ("measure = []", "measure"),
        ("leveling = [{date = 0001-01-01}]", "1900-01-01"),
        ("leveling = [{date = 2026-06-03T10:00:00}]", "zero time"),
        ("area_m2 = inf", "less than"),
        ("lawn_outline_m = [[0, 0], [1, 1]]", "three corners"),
        ("lawn_outline_m = [[0, 0], [2, 2], [2, 0], [0, 2]]", "crosses itself"),
        ("[sand]\nscoop_m3 = 1e-300", "scoop_m3"),
        ("folder = '/etc'", "not a setting"),
        (ZONE.format("[[0, 0], [2, 2], [2, 0], [0, 2]]"), "crosses itself"),
        (ZONE.format("[[0, 0], [1, 0]]"), "three corners"),
        (ZONE.format("[[0, 0], [1, 0], [nan, 1]]"), "within 1000 m"),
        (ZONE.format("[[0, 0], [1e9, 0], [1e9, 1]]"), "within 1000 m"),
        (ZONE.format("[[0, 0], [1, 0], [2, 0]]"), "cm2|crosses itself"),
        (ZONE.replace('"z"', '"a\\nb"').format("[[0, 0], [1, 0], [1, 1]]"), "cannot be shown"),
        (ZONE.replace('"z"', '"\\u001b[2J"').format("[[0, 0], [1, 0], [1, 1]]"), "cannot be shown"),
        ("x = " + "[" * 5000, "not valid TOML"),
    ],
)
def test_a_lawn_file_of_wrong_types_is_one_line(text, words):
    with pytest.raises(FileError, match=words) as error:
        parse_lawn(f'name = "a"\n{text}\n')
    assert "\n" not in str(error.value)
    assert error.value.remedy


@pytest.mark.parametrize(
    "text",
    [
        "photo = 1",
        '[photo."a"]\ncorners_px = [[0, 0], [1, 1]]',
        '[photo."a"]\ncorners_px = [[0, 0], [1, 1], [nan, 0], [0, 1]]',
        '[photo."a"]\ncorners_px = [[0, 0], [1, 1], [1e300, 0], [0, 1]]',
        '[photo."a"]\ntaken_at = 0001-01-01',
        '[photo."a"]\nother = 1',
    ],
)
def test_marks_that_cannot_be_are_one_line(text):
    with pytest.raises(FileError, match=r"^marks\.toml: "):
        parse_marks(text)


def test_an_offset_in_a_mark_is_no_other_day():
    marks = parse_marks('[photo."a"]\ntaken_at = 2026-06-03T23:50:00-10:00')
    assert marks["a"].taken_at == dt.datetime(2026, 6, 3, 23, 50)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_of_a_table_runs_in_a_spreadsheet(start):
    """The leading characters are those of OWASP's page on CSV injection."""
    table = to_csv(["photo", "zone"], [{"photo": f"{start}cmd|' /C calc'!A0", "zone": f"{start}1"}])
    for cell in list(csv.reader(io.StringIO(table)))[1]:
        assert cell.startswith("'")


def test_a_quote_that_is_never_closed_swallows_no_lines():
    """Python's csv module puts the rest of the file into the one cell and says nothing."""
    text = 'date,tmin_c,tmax_c\n2026-06-04,12,25\n"2026-06-05,12,25\n2026-06-06,12,25\n'
    with pytest.raises(FileError, match=r"weather\.csv:3: a double quote is never closed"):
        parse_weather(text)
    told = parse_readings('date,height_mm,note\n2026-06-04,12,"two\nlines"\n2026-06-05,12,5" deep\n')
    assert [row.note for row in told] == ["two\nlines", '5" deep']
