from __future__ import annotations

import pytest

from swardmark.common.errors import FileError, UsageError
from swardmark.lawn.counts import Count, add_counts, new_answers, parse_counts, read_counts, sheet_text

ROW = {
    "photo": "a.jpg", "point": "main", "zone": "", "x_m": 1.25, "y_m": -0.5, "x_px": 10.5, "y_px": 20.0,
    "stratum": "unsure", "chance": 0.001,
}  # fmt: skip


def filled(said="leaf", **changes):
    text = sheet_text([ROW | changes])
    head, line = text.splitlines()
    return f"{head}\n{line.replace('1,,', f'1,{said},', 1)}\n"


@pytest.mark.parametrize(
    ("said", "meant"),
    [("leaf", "leaf"), ("L", "leaf"), (" g ", "ground"), ("?", "cannot tell"), ("ground", "ground")],
)
def test_a_filled_sheet_is_read_in_short_or_in_full(said, meant):
    (count,) = parse_counts(filled(said), is_sheet=True)
    assert (count.said, count.x_m, count.chance) == (meant, 1.25, 0.001)


def test_lines_without_an_answer_are_left_out():
    assert parse_counts(sheet_text([ROW, ROW]), is_sheet=True) == ()


@pytest.mark.parametrize("text", ["maybe", "1", "leaf!"])
def test_another_answer_is_refused_with_its_line(text):
    with pytest.raises(FileError, match=r":2: said: write leaf, ground or \?"):
        parse_counts(filled(text), is_sheet=True)


def test_a_point_without_a_place_is_refused():
    with pytest.raises(FileError, match="no place"):
        parse_counts(filled(x_m=None, y_m=None, x_px=None, y_px=None), is_sheet=True)


def test_counts_are_added_and_the_file_before_is_kept(tmp_path):
    counts = parse_counts(filled("g"), is_sheet=True)
    add_counts(tmp_path, counts)
    before = (tmp_path / "counts.csv").read_bytes()
    add_counts(tmp_path, [counts[0].model_copy(update={"said": "leaf", "by": "=A1"})])
    assert [count.said for count in read_counts(tmp_path)] == ["ground", "leaf"]
    (backup,) = tmp_path.glob("counts.csv.*.bak")
    assert backup.read_bytes() == before
    assert b"'=A1" in (tmp_path / "counts.csv").read_bytes()
    with pytest.raises(UsageError, match="no point has an answer"):
        add_counts(tmp_path, [])


def test_a_sheet_that_is_taken_in_again_counts_once():
    """Every answer became one of a second look, and the counter looked surer than anyone is."""
    row = {"photo": "a.jpg", "y_m": 1.0, "stratum": "leaf", "chance": 0.5}
    sheet = [Count(**row, x_m=n / 10, said="leaf" if n % 3 else "ground") for n in range(8)]
    assert new_answers([], sheet, where="a.csv") == sheet
    assert new_answers(sheet[:5], sheet, where="a.csv") == sheet[5:]
    assert new_answers(sheet, sheet, where="a.csv") == []
    with pytest.raises(UsageError, match="1 answers are others"):
        new_answers(sheet, [sheet[0].model_copy(update={"said": "leaf"}), *sheet[1:]], where="a.csv")
    assert new_answers(sheet, sheet[::-1], where="a.csv") == sheet[::-1]
    other = [one.model_copy(update={"by": "second eye"}) for one in sheet]
    assert new_answers(sheet, other, where="a.csv") == other
    again = [sheet[n] for n in (3, 1, 7, 0, 2, 5, 4, 6)]
    assert new_answers(sheet, again, where="a.csv") == again
    for taken in (sheet, again):
        assert new_answers([*sheet, *again], taken, where="a.csv") == []


def test_the_same_place_is_the_same_point():
    one, other = Count(**ROW, said="leaf"), Count(**ROW, said="ground")
    assert one.place == other.place
    assert Count(**(ROW | {"x_m": 1.26}), said="leaf").place != one.place
