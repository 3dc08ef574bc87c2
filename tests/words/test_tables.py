"""Tables: what a spreadsheet would run as a formula is disarmed, in what the tool writes and in the keeper's files.

The characters are those of OWASP, "CSV Injection" (from memory): = + - @, tab and carriage return.
"""

from __future__ import annotations

import csv
import io

import pytest

from swardmark.lawn.editing import add_reading
from swardmark.words.tables import to_csv

STARTS = ("=", "+", "-", "@", "\t", "\r")


@pytest.mark.parametrize("start", STARTS)
def test_text_of_a_table_never_begins_as_a_formula(start):
    text = to_csv({"zone": ""}, [{"zone": f"{start}HYPERLINK(1)"}])
    cell = next(csv.DictReader(io.StringIO(text, newline="")))["zone"]
    assert cell.startswith("'")


@pytest.mark.parametrize("start", STARTS)
def test_text_that_a_form_adds_never_begins_as_a_formula(tmp_path, start):
    path = add_reading(tmp_path, {"date": "2026-06-09", "height_mm": 30, "note": f"{start}cmd"})
    with path.open(newline="") as file:
        cell = next(csv.DictReader(file))["note"]
    assert not cell.startswith(STARTS)


def test_numbers_below_zero_stay_numbers():
    assert to_csv({"gain": ""}, [{"gain": -1.5}]) == "gain\n-1.5\n"
