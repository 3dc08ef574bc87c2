"""An outlook is computed again when anything that it follows from is another, and only then."""

from __future__ import annotations

import shutil

import pytest

from swardmark.measure.covers import measure_covers
from swardmark.mowing import kept
from swardmark.record import kept as record_kept
from swardmark.record.place import RECORD_FILE
from swardmark.record.store import Record
from swardmark.season import season_of


@pytest.fixture
def computed(measured_sample, tmp_path, monkeypatch):
    """Return a measured lawn whose outlook is kept, and the list of those computed from here on."""
    lawn = shutil.copytree(measured_sample, tmp_path / "lawn")
    first, new, compute = season_of(measure_covers(lawn)).outlook, [], kept.outlook

    def counted(*series, **known):
        new.append(known["as_of"])
        return compute(*series, **known)

    monkeypatch.setattr(kept, "outlook", counted)
    return lawn, first, new


def resaid(path, old, new):
    path.write_text(path.read_text().replace(old, new))


def test_what_is_kept_is_what_was_computed_to_the_last_digit(computed):
    lawn, first, new = computed
    assert repr(season_of(measure_covers(lawn)).outlook) == repr(first)
    assert new == []


@pytest.mark.parametrize(
    "change",
    [
        lambda lawn: (lawn / "diary.csv").write_text("date,what\n2026-06-12,fed\n"),
        lambda lawn: (lawn / "readings.csv").write_text("date,height_mm\n2026-06-30,31\n"),
        lambda lawn: (lawn / "weather.csv").write_text("date,tmin_c,tmax_c\n2026-06-04,18,29\n"),
        lambda lawn: sorted((lawn / "photos").iterdir())[-1].unlink(),
        lambda lawn: resaid(lawn / "lawn.toml", "usual_height_mm = 25", "usual_height_mm = 26"),
    ],
)
def test_whatever_it_follows_from_makes_it_another(computed, change):
    lawn, _, new = computed
    change(lawn)
    season_of(measure_covers(lawn))
    assert len(new) == 1


def test_another_program_computes_it_again(computed, monkeypatch):
    lawn, _, new = computed
    monkeypatch.setattr(record_kept, "program_state", lambda: (("another", 1, 1),))
    season_of(measure_covers(lawn))
    assert len(new) == 1


@pytest.mark.parametrize("damaged", [b"{}", b"no JSON", b'{"zones": 3}'])
def test_a_kept_outlook_that_cannot_be_read_is_computed_again(computed, damaged):
    lawn, first, new = computed
    with Record(lawn / RECORD_FILE) as record:
        rows = record._db.execute("SELECT basis FROM derived WHERE point='/outlook'").fetchall()
        record.keep_derived(kept.OF_THE_OUTLOOK, {basis: damaged for (basis,) in rows})
    assert repr(season_of(measure_covers(lawn)).outlook) == repr(first)
    assert len(new) == 1
