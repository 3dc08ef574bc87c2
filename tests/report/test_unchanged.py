"""A report is written again when anything that it shows may be another, and only then."""

from __future__ import annotations

import os
import shutil

import pytest

from swardmark.measure.covers import measure_covers
from swardmark.report import unchanged
from swardmark.report.unchanged import LastReport
from swardmark.season import season_of


@pytest.fixture
def written(measured_sample, tmp_path):
    """Return a lawn whose report was written, two files of it."""
    lawn = shutil.copytree(measured_sample, tmp_path / "lawn", ignore=shutil.ignore_patterns("out"))
    first, paths = last(lawn), [lawn / "out" / "report.html", lawn / "out" / "figures" / "curves.svg"]
    for path in paths:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("drawn")
    first.keep(paths)
    assert last(lawn).paths() == paths
    return lawn


def last(lawn, **options):
    return LastReport(season_of(measure_covers(lawn)), folder=lawn / "out", **options)


def later(path):
    os.utime(path, (path.stat().st_atime, path.stat().st_mtime + 1))


@pytest.mark.parametrize(
    "change",
    [
        lambda lawn: later(lawn / "out" / "report.html"),
        lambda lawn: (lawn / "out" / "figures" / "curves.svg").unlink(),
        lambda lawn: later(lawn / "lawn.toml"),
        lambda lawn: (lawn / "diary.csv").write_text("date,what\n"),
        lambda lawn: sorted((lawn / "photos").iterdir())[-1].unlink(),
        lambda lawn: (lawn / "out" / "past.csv").write_text(""),
    ],
)
def test_what_changed_is_seen(written, change):
    change(written)
    assert last(written).paths() is None


def test_another_day_another_program_and_the_figures_alone_are_other_reports(written, monkeypatch):
    assert last(written, figures_only=True).paths() is None
    monkeypatch.setattr(unchanged, "program_state", lambda: ())
    assert last(written).paths() is None


def test_the_command_leaves_an_unchanged_report_as_it_is(written, run):
    outcome = run("report", written, "--json")
    assert outcome.code == 0
    assert [path.rpartition("/")[2] for path in outcome.document["written"]] == ["report.html", "curves.svg"]
    assert (written / "out" / "report.html").read_text() == "drawn"
