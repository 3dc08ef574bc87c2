"""Every number and date of a report is that of its tables: the drawn sample lawn, reported on three days."""

from __future__ import annotations

import shutil

import pytest
from report_numbers import faults_of


def test_the_report_says_what_its_tables_say(measured_sample):
    assert faults_of(measured_sample) == []


@pytest.mark.parametrize("day", ["2026-06-12", "2026-06-19"])
def test_it_does_so_on_earlier_days(run, sample, day):
    shutil.rmtree(sample / "out")  # its tables are of a later day
    assert run("report", sample, "--as-of", day, "--quiet").code == 0
    assert faults_of(sample) == []


@pytest.mark.parametrize(
    ("said", "instead"),
    [
        ("in view is covered (73 to 94 %)", "in view is covered (89 to 94 %)"),
        (": 88 % of the 18 m2 in view is covered.", ": 89 % of the 18 m2 in view is covered."),
        ("76 → 88 in 7 days", "70 → 88 in 7 days"),
        ("76 → 88 in 7 days", "76 → 88 in 5 days"),
        ('data-head="Cover">88 %', 'data-head="Cover">91 %'),
        ("(27 June to 15 July", "(27 June to 1 July"),
        ('data-head="Gained">+2.3', 'data-head="Gained">+2.9'),
        ("24 June, day 21: 76 % covered", "24 June, day 20: 76 % covered"),
        ("24 June, day 21: 76 % covered", "24 June, day 21: 99 % covered"),
        ('data-head="Full">not in sight', 'data-head="Full">21 July (13 July to 3 August)'),
        ("chance of 90 % by 14 July is 8 %", "chance of 90 % by 14 July is 38 %"),
        ('data-head="Passes">1<', 'data-head="Passes">2<'),
        ("<dd>3 July (27 June to 15 July, chance 77 %)", "<dd>3 July (27 June to 15 July, chance 87 %)"),
    ],
)
def test_a_number_that_is_another_is_seen(measured_sample, tmp_path, said, instead):
    """The report's text with one number changed, beside its tables."""
    page = (measured_sample / "out/report.html").read_text()
    assert said in page
    out = tmp_path / "out"
    out.mkdir()
    for table in (measured_sample / "out").glob("*.csv"):
        (out / table.name).write_bytes(table.read_bytes())
    (out / "report.html").write_text(page.replace(said, instead))
    assert faults_of(tmp_path) != []
