"""Every number and date of a report is that of its tables: the drawn sample lawn, reported on three days."""

from __future__ import annotations

import re
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
    ("said", "more"),
    [
        (r": (\d+) % of the [\d.]+ m² in view is covered\.", 1),
        (r"in view is covered \((\d+) to \d+ %\)", 25),
        (r"(\d+) → \d+ in \d+ days", -6),
        (r"\d+ → \d+ in (\d+) days", -2),
        (r'data-head="Cover">(\d+) %', 3),
        (r'data-head="Gained">\+\d\.(\d) points', 1),
        (r"24 June, day (\d+): \d+ % covered", -1),
        (r"24 June, day \d+: (\d+) % covered", 40),
        (r"chance of 90 % by \d+ \w+ is (\d+) %", 30),
        (r"chance of it by \d+ \w+: (\d+) %", 9),
        (r'data-head="Full">\d+ \w+ \((\d+) \w+ to', -1),
        (r'data-head="Passes">(\d)<', 1),
        (r'data-head="Volume">[a-z ]+(\d+) L', 9),
        (r'data-head="Deepest">(\d+) mm', 2),
    ],
)
def test_a_number_that_is_another_is_seen(measured_sample, tmp_path, said, more):
    """The report with one kind of number changed wherever it stands, beside its tables."""
    page = (measured_sample / "out/report.html").read_text()

    def changed(found: re.Match[str]) -> str:
        start, end = (at - found.start() for at in found.span(1))
        return f"{found[0][:start]}{int(found[1]) + more}{found[0][end:]}"

    other, times = re.subn(said, changed, page)
    assert times
    out = tmp_path / "out"
    out.mkdir()
    for table in (measured_sample / "out").glob("*.csv"):
        (out / table.name).write_bytes(table.read_bytes())
    (out / "report.html").write_text(other)
    assert faults_of(tmp_path) != []
