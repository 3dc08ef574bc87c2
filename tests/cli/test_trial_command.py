"""swardmark trial, from photos to tables: the sample lawn with a grid of plots laid over it."""

from __future__ import annotations

import csv

import pytest

GRID = """
[plots]
rows = 3
columns = 3
size_m = [0.5, 0.3]
gap_m = 0.1
origin = [-0.7, 1.2]
treatments = [["a", "b", "c"], ["b", "c", "a"], ["c", "a", "b"]]
"""


@pytest.fixture
def plots(sample):
    """The sample lawn with nine plots instead of its zones."""
    path = sample / "lawn.toml"
    text = path.read_text(encoding="utf-8")
    before, _, rest = text.partition("[[zone]]")
    path.write_text(before + GRID + rest[rest.index("[mowing]") :], encoding="utf-8")
    return sample


def test_a_trial_is_said_and_written(run, plots):
    done = run("trial", plots)
    assert (done.code, done.err) == (0, "")
    assert "3 treatments in 3 blocks, 9 plots, 8 days of photos" in done.out
    assert "LSD (0.05)" in done.out
    rows = list(csv.DictReader((plots / "out" / "trial.csv").open(encoding="utf-8")))
    assert len(rows) == 3 * 8
    assert float(rows[-1]["cover_pct"]) > float(rows[0]["cover_pct"])
    for name in (
        "trial_recovery.csv",
        "trial_anova.csv",
        "trial_plots.csv",
        "figures/trial.svg",
        "figures/trial.png",
    ):
        assert (plots / "out" / name).stat().st_size > 100, name
    document = run("trial", plots, "--json").document
    assert [row["treatment"] for row in document["means"][:3]] == ["a", "b", "c"]
    assert set(document) >= {
        "lawn",
        "as_of",
        "day_zero",
        "plots",
        "means",
        "recovery",
        "anova",
        "notes",
        "written",
    }


def test_a_lawn_without_treatments_is_told_before_anything_is_measured(run, sample):
    done = run("trial", sample)
    assert done.code == 2 and done.out == ""
    assert "no zone has a treatment" in done.err and len(done.err.splitlines()) == 1
    assert not (sample / "out" / "trial.csv").exists()
