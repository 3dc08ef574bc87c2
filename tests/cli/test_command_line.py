"""The commands with their frozen names, columns and exit codes, each run in a process of its own."""

from __future__ import annotations

import csv
import io
import re
import shutil

import pytest
from PIL import Image

import swardmark
from swardmark.lawn.toml import read_lawn
from swardmark.measure.survey import open_record, survey

COVER_COLUMNS = (
    "taken_at,photo,point,zone,day,cover_pct,cover_low_pct,cover_high_pct,seen_cover_pct,"
    "readable_pct,view_deg,area_m2,threshold,notes"
)
OUTLOOK_COLUMNS = (
    "point,zone,status,cover_pct,gain_pct_per_day,mow_on,mow_earliest,mow_latest,full_on,"
    "full_earliest,full_latest,chance_full_by_day28,why"
)
SPOT_COLUMNS = (
    "spot,point,zone,x_m,y_m,area_m2,cover_pct,lag_days,depth_mm,sand_litres,passes,priority,seasons_seen,why"
)
COMMANDS = (
    "start", "target", "check", "add", "measure", "outlook", "relevel", "report", "today", "sand", "page", "mark",
    "practice", "doctor",
)  # fmt: skip


def rows_of(path):
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def test_every_command_is_there_with_json_and_quiet(run):
    listed = run("--help").out
    for command in COMMANDS:
        assert f"\n  {command} " in listed
        words = run(command, "--help").out
        assert "--json" in words, command
        assert "--quiet" in words, command


def test_the_columns_are_the_frozen_ones(measured_sample):
    for name, columns in (("cover.csv", COVER_COLUMNS), ("outlook.csv", OUTLOOK_COLUMNS)):
        raw = (measured_sample / "out" / name).read_bytes()
        assert raw.decode("utf-8").split("\n")[0] == columns
        assert b"\r" not in raw


def test_cover_has_a_row_per_photo_and_zone_and_intervals_in_order(measured_sample):
    rows = rows_of(measured_sample / "out/cover.csv")
    assert len(rows) == 8 * 4
    for row in rows:
        low, middle, high = (float(row[name]) for name in ("cover_low_pct", "cover_pct", "cover_high_pct"))
        assert 0 <= low <= middle <= high <= 100
        assert float(row["area_m2"]) > 0.3
    assert [row["day"] for row in rows[::4]] == ["0", "3", "6", "9", "12", "16", "21", "28"]


def test_outlook_has_each_zone_and_the_whole_lawn_last(measured_sample):
    rows = rows_of(measured_sample / "out/outlook.csv")
    assert [row["zone"] for row in rows[-2:]] == ["rest of the lawn", "whole lawn"]
    assert len(rows) == 5
    assert (rows[-1]["point"], rows[-1]["zone"]) == ("all", "whole lawn")


def test_json_is_one_document_and_quiet_is_silent(run, sample):
    outcome = run("measure", sample, "--json")
    assert outcome.code == 0
    assert len(outcome.document["cover"]) == 32
    assert outcome.document["refused"] == []
    assert run("outlook", sample, "--json").document["outlook"][-1]["zone"] == "whole lawn"
    quiet = run("outlook", sample, "--quiet")
    assert (quiet.code, quiet.out, quiet.err) == (0, "", "")


MONTH = re.compile(
    r"\d (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)|(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\w* \d"
)


def test_dates_are_written_as_the_keeper_wants_them_everywhere(run, sample):
    """Terminal, lists and report; the tables in files are in the form of ISO 8601 anyway."""
    settings = sample / "lawn.toml"
    settings.write_text('dates = "iso"\n' + settings.read_text(encoding="utf-8"), encoding="utf-8")
    told = [run(command, sample, "--as-of", "2026-07-01").out for command in ("outlook", "today")]
    told += [run("level", sample).out, run("report", sample, "--as-of", "2026-07-01").out]
    page = (sample / "out/report.html").read_text(encoding="utf-8")
    told.append(re.sub(r"<(style|script|svg).*?</\1>|<[^>]*>", "", page, flags=re.DOTALL))
    for text in told:
        assert MONTH.findall(text) == []
        assert "2026-0" in text


def test_a_rerun_measures_nothing_and_writes_the_same_bytes(run, unmeasured):
    first = run("measure", unmeasured)
    table = (unmeasured / "out/cover.csv").read_bytes()
    again = run("measure", unmeasured)
    assert "4 measured now, 4 in all" in first.out
    assert "0 measured now, 4 in all" in again.out
    assert (unmeasured / "out/cover.csv").read_bytes() == table


def test_two_workers_and_a_new_record_give_the_same_table(run, unmeasured):
    assert run("measure", unmeasured, "--quiet").code == 0
    table = (unmeasured / "out/cover.csv").read_bytes()
    (unmeasured / "record.sqlite").unlink()
    assert run("measure", unmeasured, "--quiet", "--workers", 2).code == 0
    assert (unmeasured / "out/cover.csv").read_bytes() == table


def test_a_copy_under_another_name_adds_no_row(run, unmeasured):
    photo = sorted((unmeasured / "photos").iterdir())[0]
    shutil.copy(photo, photo.with_name("copy.jpg"))
    outcome = run("measure", unmeasured, "--json")
    assert outcome.code == 0
    assert len(outcome.document["cover"]) == 4 * 4
    assert outcome.document["duplicates"] == [["copy.jpg", photo.name]]


def test_one_refused_photo_is_exit_code_1_and_stops_nothing(run, unmeasured):
    photos = sorted((unmeasured / "photos").iterdir())
    photos[0].write_bytes(photos[0].read_bytes()[:50_000])
    outcome = run("measure", unmeasured)
    assert outcome.code == 1
    assert outcome.err.startswith(f"refused  {photos[0].name}: the JPEG is cut off.")
    assert len(outcome.err.splitlines()) == 1
    assert len(rows_of(unmeasured / "out/cover.csv")) == 3 * 4


def test_the_report_leaves_a_timelapse_with_a_frame_for_each_date(run, measured_sample, unmeasured):
    with Image.open(measured_sample / "out/figures/ground.webp") as film:
        assert film.n_frames == 8
    for photo in sorted((unmeasured / "photos").iterdir())[1:]:
        photo.unlink()
    assert run("report", unmeasured, "--quiet").code == 0
    with Image.open(unmeasured / "out/figures/ground.webp") as film:
        assert getattr(film, "n_frames", 1) == 1


def test_fewer_than_three_photos_are_too_early_to_say(run, unmeasured):
    for photo in sorted((unmeasured / "photos").iterdir())[1:]:
        photo.unlink()
    document = run("outlook", unmeasured, "--json").document
    assert {row["status"] for row in document["outlook"]} == {"too early to say"}
    assert all(row["mow_on"] is None and row["full_on"] is None for row in document["outlook"])


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda folder: None, "no lawn.toml in this folder"),
        (lambda folder: (folder / "notes.txt").write_text("no photo"), "no lawn.toml in this folder"),
        (lambda folder: (folder / "lawn.toml").write_text('name = "a"'), "no photos in photos/"),
        (lambda folder: (folder / "lawn.toml").write_text("name ="), "not valid TOML"),
    ],
    ids=["empty folder", "text files", "no photos", "broken lawn.toml"],
)
def test_what_cannot_be_measured_is_one_line_and_exit_code_2(run, tmp_path, make, words):
    make(tmp_path)
    for command in ("measure", "outlook", "report", "relevel"):
        outcome = run(command, tmp_path)
        assert outcome.code == 2
        assert outcome.out == ""
        assert words in outcome.err
        assert len(outcome.err.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_photos_that_are_all_text_are_refused_each_and_told_once(run, tmp_path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "lawn.toml").write_text('name = "a"')
    (tmp_path / "photos/2026-06-03.jpg").write_text("no photo")
    outcome = run("measure", tmp_path)
    assert outcome.code == 2
    assert "the only photo could not be measured (2026-06-03.jpg: not a photo" in outcome.err
    assert len(outcome.err.splitlines()) == 1


@pytest.mark.parametrize(
    "words",
    [
        ("measure",),
        ("nothing",),
        ("sand", "--area", "lots"),
        ("sand", "--area", "60m2", "--depth", "90mm"),
        ("outlook", ".", "--as-of", "soon"),
    ],
)
def test_bad_usage_is_exit_code_2_without_a_traceback(run, words):
    outcome = run(*words)
    assert outcome.code == 2
    assert outcome.out == ""
    assert "Traceback" not in outcome.err


def test_a_lawn_from_the_first_command_to_the_first_table(run, tmp_path, unmeasured):
    lawn = tmp_path / "new"
    assert run("start", lawn, "--leveled", "2026-06-03", "--grass", "zoysia", "--square-side", "1m").code == 0
    photos = sorted((unmeasured / "photos").iterdir())
    added = run("add", lawn, *photos[:2], "--json").document
    assert added["added"] == [photo.name for photo in photos[:2]]
    assert run("add", lawn, photos[0]).out == "0 added, 1 already there.\n"
    document = run("measure", lawn, "--json").document
    assert len({row["photo"] for row in document["cover"]}) == 2
    assert {row["notes"] for row in document["cover"]} == {"zones are named patches"}
    assert run("start", lawn).code == 2


def test_the_days_as_of_which_one_speaks(run, sample):
    early = run("outlook", sample, "--as-of", "2026-06-07", "--json").document
    assert early["as_of"] == "2026-06-07"
    assert {row["status"] for row in early["outlook"]} == {"too early to say"}
    before = run("outlook", sample, "--as-of", "2026-01-01")
    assert before.code == 2
    assert "no photo was taken up to 2026-01-01" in before.err


def test_marks_by_hand_are_kept_and_used(run, unmeasured):
    photo = sorted((unmeasured / "photos").iterdir())[-1]
    assert run("measure", unmeasured, "--quiet").code == 0
    lawn = read_lawn(unmeasured)
    with open_record(lawn) as record:
        found = {entry.name: entry.facts.corners_px for entry in survey(lawn, record).measured}[photo.name]
    corners = [f"{x + 1:.0f},{y:.0f}" for x, y in found]
    assert run("mark", photo, *corners).code == 0
    assert "corners_px" in (unmeasured / "marks.toml").read_text()
    after = run("measure", unmeasured)
    assert after.code == 0
    assert "1 measured now, 4 in all" in after.out
    outside = run("mark", photo, "1,1", "2,2", "3,3", "99999,4")
    assert outside.code == 2
    assert "lies outside the photo" in outside.err
    in_a_row = run("mark", photo, "1,1", "2,2", "3,3", "4,4")
    assert (in_a_row.code, in_a_row.out) == (2, "")
    assert "wrong way around" in in_a_row.err
    assert run("measure", unmeasured, "--quiet").code == 0


def test_doctor_is_well_here(run):
    outcome = run("doctor", "--json")
    assert outcome.code == 0
    assert {f["name"] for f in outcome.document["findings"]} >= {"swardmark", "Python", "OpenCV", "numpy"}


def test_the_spoken_two_tons_are_computed(run):
    """About 2 cubic yards on 1,500 sq ft (common practice, no source): a mean depth of 0.432 in, and by the dry and wet
    densities of sand (engineeringtoolbox.com, dirt and mud densities) 2.6 to 3.2 short tons."""
    order = run("sand", "--area", "1500sqft", "--depth", "0.432in", "--json").document
    assert order["volume_yd3"] == pytest.approx(2.0, abs=0.005)
    assert order["mass_dry_short_tons"] == pytest.approx(2.62, abs=0.01)
    assert order["mass_wet_short_tons"] == pytest.approx(3.21, abs=0.01)


def test_start_names_what_was_typed_and_writes_nothing(run, tmp_path):
    done = run("start", tmp_path / "lawn", "--grass", "zoisiagras")
    assert (done.code, done.out) == (2, "")
    assert done.err == "swardmark: 'grass': 'zoisiagras' is not known. Did you mean 'zoysiagrass'?\n"
    assert not (tmp_path / "lawn").exists()


def test_the_version_is_shown(run):
    assert run("--version").out == f"swardmark {swardmark.__version__}\n"
