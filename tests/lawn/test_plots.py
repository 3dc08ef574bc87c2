"""Trial plots laid out in a grid by lawn.toml's [plots]."""

from __future__ import annotations

import pytest

from swardmark.common.errors import FileError, UsageError
from swardmark.lawn.editing import ZoneDraft, revision_of, save_ground
from swardmark.lawn.toml import parse_lawn, read_lawn

GRID = """name = "plots"
[plots]
rows = 2
columns = 3
size_m = [1.0, 0.5]
gap_m = 0.1
origin = [-1, 2]
treatments = [["bare", 6, 12], [12, "bare", ""]]
"""
OWN = '[[zone]]\nname = "by hand"\noutline_m = [[3, 2], [4, 2], [4, 3]]\ntreatment = "bare"\nblock = 1\n'


def test_a_grid_becomes_zones_from_the_near_left_corner():
    lawn = parse_lawn(GRID)
    assert [(zone.name, zone.treatment, zone.block) for zone in lawn.zone] == [
        ("plot 101", "bare", "1"), ("plot 102", "6", "1"), ("plot 103", "12", "1"),
        ("plot 201", "12", "2"), ("plot 202", "bare", "2"),
    ]  # fmt: skip
    assert lawn.zone[0].outline_m == ((-1, 2), (0, 2), (0, 2.5), (-1, 2.5))
    assert lawn.zone[4].outline_m == ((0.1, 2.6), (1.1, 2.6), (1.1, 3.1), (0.1, 3.1))


def test_columns_or_a_list_may_be_the_blocks():
    columns = parse_lawn(GRID + 'blocks = "columns"\n')
    assert [zone.block for zone in columns.zone] == ["1", "2", "3", "1", "2"]
    listed = parse_lawn(GRID + 'blocks = [[1, 1, 2], [2, 2, ""]]\n')
    assert [zone.block for zone in listed.zone] == ["1", "1", "2", "2", "2"]


def test_zones_by_hand_stand_beside_the_grid_and_have_treatments_of_their_own():
    lawn = parse_lawn(GRID + OWN)
    assert len(lawn.zone) == 6
    assert (lawn.zone[0].name, lawn.zone[0].treatment, lawn.zone[0].block) == ("by hand", "bare", "1")


def test_each_photo_point_may_have_a_grid():
    both = GRID.replace("[plots]", "[[plots]]")
    second = both.split("\n", 1)[1].replace("rows", 'point = "far"\nrows')
    lawn = parse_lawn(both + second)
    assert len(lawn.zones_of("main")) == len(lawn.zones_of("far")) == 5


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("columns = 3", "columns = 2", "list 1 of treatments has 3 entries for 2 columns"),
        ("rows = 2", "rows = 3", "treatments has 2 lists for 3 rows"),
        ("[1.0, 0.5]", "0.05", "too small"),
        ("[1.0, 0.5]", "[1.0, 0.5, 2.0]", "size_m"),
        ("rows = 2", "rows = 0", "rows"),
        ("gap_m", "gaps_m", "Did you mean 'gap_m'?"),
    ],
)
def test_a_faulty_grid_is_told_with_its_line(old, new, said):
    with pytest.raises(FileError, match=r"lawn\.toml:\d") as told:
        parse_lawn(GRID.replace(old, new))
    assert said in str(told.value)


def test_a_plot_of_the_grid_is_not_moved_by_hand(tmp_path):
    path = tmp_path / "lawn.toml"
    path.write_text(GRID)
    drafts = [ZoneDraft(z.name, z.outline_m, z.name) for z in read_lawn(tmp_path).zone]
    save_ground(tmp_path, drafts, revision=revision_of(path))
    assert path.read_text() == GRID, "plots are not written as zones"

    new = ZoneDraft("by the path", ((3, 2), (4, 2), (4, 3)))
    save_ground(tmp_path, [*drafts, new], revision=revision_of(path))
    assert [zone.name for zone in read_lawn(tmp_path).zone] == [
        "by the path",
        *(draft.name for draft in drafts),
    ]

    moved = ZoneDraft("plot 101", ((0, 0), (1, 0), (1, 1)), "plot 101")
    renamed = ZoneDraft("mine", drafts[0].outline_m, "plot 101")
    for changed in ([moved, *drafts[1:]], [renamed, *drafts[1:]], drafts[1:]):
        with pytest.raises(UsageError, match=r"'plot 101' is laid out by \[plots\]"):
            save_ground(tmp_path, changed, revision=revision_of(path))
