"""A folder of lawns: each measured as if alone, and one table of all."""

from __future__ import annotations

import csv
import math
import shutil
import time
from pathlib import Path

import pytest

from swardmark.common.crew import ALONE, Threads
from swardmark.common.errors import UsageError
from swardmark.lawns.cover_table import COLUMNS, CombinedTable
from swardmark.lawns.folders import lawn_folders
from swardmark.lawns.measuring import measure_lawns
from swardmark.measure.covers import measure_covers
from swardmark.words.tables import COVER_COLUMNS

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """Two photos of the sample, measured; treat it as read-only."""
    folder = tmp_path_factory.mktemp("one") / "lawn"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    for photo in sorted((folder / "photos").iterdir())[2:]:
        photo.unlink()
    measure_covers(folder)
    return folder


@pytest.fixture
def lawns(measured, tmp_path):
    """Four lawns, one of them broken and one with a name that a spreadsheet would run, and a folder that is none."""
    folder = tmp_path / "lawns"
    for name in ("=1+1", "plot 2", "plot 3"):
        shutil.copytree(measured, folder / name)
    (folder / "plot 2" / "record.sqlite").unlink()
    broken = folder / "broken"
    broken.mkdir()
    (broken / "lawn.toml").write_text('name = "x"\nzone = 3\n')
    (folder / "notes").mkdir()
    (folder / "readme.txt").write_text("no lawn")
    return folder


def rows_in(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_each_lawn_is_measured_and_one_table_holds_them_all(run, lawns):
    outcome = run("measure", lawns, "--workers", "2")
    assert outcome.code == 1
    assert [line.partition(":")[0] for line in outcome.out.splitlines()[:3]] == ["=1+1", "plot 2", "plot 3"]
    assert "2 photos, 2 measured now" in outcome.out.splitlines()[1]
    assert "2 photos, 0 measured now" in outcome.out.splitlines()[2]
    assert len(outcome.err.splitlines()) == 1
    assert outcome.err.startswith("refused  ") and "broken/lawn.toml" in outcome.err
    rows = rows_in(lawns / "out/cover.csv")
    assert list(rows[0]) == list(COLUMNS) == ["lawn", *COVER_COLUMNS]
    for name in ("=1+1", "plot 2", "plot 3"):
        own = [{key: row[key] for key in COVER_COLUMNS} for row in rows if row["lawn"].lstrip("'") == name]
        assert own == rows_in(lawns / name / "out/cover.csv")
        assert len(own) == 8
    assert not list(lawns.rglob("*.part")) and not list(lawns.rglob("*.lock"))


def test_json_is_one_document_of_all_lawns(run, lawns, tmp_path):
    outcome = run("measure", lawns, "--json", "--table", tmp_path / "all.csv")
    assert outcome.code == 1
    told = {row["lawn"]: row for row in outcome.document["lawns"]}
    assert outcome.document["table"] == str(tmp_path / "all.csv")
    assert "lawn.toml" in told["broken"]["fault"]
    assert (told["plot 2"]["measured_now"], told["plot 3"]["measured_now"]) == (2, 0)
    assert told["plot 3"]["record_bytes"] == pytest.approx(
        2 * told["plot 3"]["record_bytes_per_photo"], abs=2
    )
    assert 1000 < told["plot 3"]["record_bytes_per_photo"] < 400_000
    assert not (lawns / "out").exists()


def test_parquet_holds_what_csv_holds(run, lawns):
    import pyarrow.parquet as parquet

    assert run("measure", lawns, "--quiet", "--table", lawns / "all.parquet").code == 1
    assert run("measure", lawns, "--quiet", "--table", lawns / "all.csv").code == 1
    table, rows = parquet.read_table(lawns / "all.parquet"), rows_in(lawns / "all.csv")
    assert table.column_names == list(COLUMNS)
    for number, row in enumerate(table.to_pylist()):
        text = rows[number]
        assert row["taken_at"].isoformat() == text["taken_at"]
        assert (row["lawn"], row["day"]) == (text["lawn"].lstrip("'"), int(text["day"]))
        assert math.isclose(row["cover_pct"], float(text["cover_pct"]))
        assert row["notes"] == text["notes"]


def test_where_no_lawn_can_be_measured_nothing_is_written(run, lawns):
    for name in ("=1+1", "plot 2", "plot 3"):
        shutil.rmtree(lawns / name)
    outcome = run("measure", lawns)
    assert (outcome.code, outcome.out) == (2, "")
    assert len(outcome.err.splitlines()) == 1 and "the only lawn could not be measured" in outcome.err
    assert not (lawns / "out").exists()


def test_other_commands_name_a_lawn_of_the_folder(run, lawns):
    outcome = run("level", lawns)
    assert (outcome.code, outcome.out) == (2, "")
    assert "Name one of the lawns in it" in outcome.err and "=1+1" in outcome.err


def test_one_lawn_can_have_a_table_too_and_a_lawn_is_no_folder_of_lawns(run, measured, tmp_path):
    lawn = shutil.copytree(measured, tmp_path / "lawn")
    shutil.copytree(measured, lawn / "inside")
    assert lawn_folders(lawn) == ()
    assert run("measure", lawn, "--quiet", "--table", tmp_path / "t.csv").code == 0
    assert {row["lawn"] for row in rows_in(tmp_path / "t.csv")} == {"lawn"}


def test_a_folder_without_lawns_is_told_as_before(run, tmp_path):
    outcome = run("measure", tmp_path)
    assert (outcome.code, outcome.out) == (2, "")
    assert "no lawn.toml in this folder" in outcome.err


def test_a_table_of_another_kind_is_told_before_anything_is_measured(run, lawns):
    outcome = run("measure", lawns, "--table", "all.xlsx")
    assert outcome.code == 2
    assert "neither CSV nor Parquet" in outcome.err
    assert not (lawns / "plot 2" / "record.sqlite").exists()


@pytest.mark.parametrize("suffix", [".csv", ".parquet"])
def test_a_table_that_breaks_off_leaves_the_old_one_and_no_part(measured, tmp_path, suffix):
    covers = measure_covers(measured)
    path = tmp_path / f"all{suffix}"
    path.write_text("old")
    with pytest.raises(RuntimeError), CombinedTable(path) as table:
        table.add("a", covers)
        raise RuntimeError
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
    with CombinedTable(path) as table:
        table.add("a", covers)
        assert path.read_text() == "old"
    assert path.stat().st_size > 500 and list(tmp_path.iterdir()) == [path]


def test_a_table_that_cannot_be_written_is_one_line(measured, tmp_path):
    (tmp_path / "file").write_text("")
    with (
        pytest.raises(UsageError, match="cannot be written"),
        CombinedTable(tmp_path / "file/t.csv") as table,
    ):
        table.add("a", measure_covers(measured))


class Slow(Threads):
    """Counts photos, and takes its time for each after the first."""

    done = 0

    @property
    def here(self):
        return ALONE

    def each(self, work, jobs):
        for job, result in super().each(work, jobs):
            time.sleep(0.2 * (self.done > 0))
            self.done += 1
            yield job, result


def test_who_stops_waiting_stops_the_lawns_in_hand_between_two_photos(lawns):
    folders = [lawns / name for name in ("plot 3", "plot 2")]
    for photo in sorted((SAMPLE / "photos").iterdir())[2:]:
        shutil.copy(photo, lawns / "plot 2" / "photos")
    crew = Slow()
    run = measure_lawns(folders, crew=crew, at_once=1)
    assert next(run).name == "plot 3"
    run.close()
    assert crew.done <= 3
    assert not list(lawns.rglob("*.lock"))
    assert not (lawns / "plot 2" / "out" / "cover.csv").exists()


def test_an_unforeseen_fault_in_one_lawn_stops_no_other(lawns, monkeypatch):
    from swardmark.lawns import measuring as module

    plain = module.measure_covers

    def failing(folder, **options):
        if folder.name == "plot 2":
            raise ZeroDivisionError("odd")
        return plain(folder, **options)

    monkeypatch.setattr(module, "measure_covers", failing)
    done = list(measure_lawns(lawn_folders(lawns), crew=Threads(), at_once=2))
    assert [one.name for one in done] == ["=1+1", "broken", "plot 2", "plot 3"]
    assert [bool(one.fault) for one in done] == [False, True, True, False]
    assert "ZeroDivisionError: odd" in done[2].fault


def test_seasons_seen_to_their_end_start_the_forecasts_of_the_other_lawns(run, measured_sample, tmp_path):
    for name in ("one", "two"):
        made = shutil.copytree(measured_sample, tmp_path / name)
        text = (made / "lawn.toml").read_text()  # a quicker grass: its season is over on day 28
        (made / "lawn.toml").write_text(text.replace('grass = "zoysiagrass"', 'grass = "bermudagrass"'))
    assert "out/past.csv" in run("measure", tmp_path).out
    seasons = rows_in(tmp_path / "out/past.csv")
    assert [(row["lawn"], row["leveled_on"], row["zones"]) for row in seasons] == [
        ("one", "2026-06-03", "4"),
        ("two", "2026-06-03", "4"),
    ]
    assert "starts from a past season of another lawn" in run("outlook", tmp_path / "one").out
