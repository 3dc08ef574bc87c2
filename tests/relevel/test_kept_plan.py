"""Spots and plan are read from the record while all that they follow from is the same, to the last digit."""

from __future__ import annotations

import shutil

from swardmark import season as seasons
from swardmark.measure.covers import measure_covers
from swardmark.record.place import RECORD_FILE
from swardmark.record.store import Record


def test_a_plan_is_kept_until_something_that_it_follows_from_is_another(
    measured_sample, tmp_path, monkeypatch
):
    lawn, new = shutil.copytree(measured_sample, tmp_path / "lawn"), []
    for name in ("search_seasons", "plan_from_searches"):
        _count(monkeypatch, name, new)

    def plan_and_work():
        new.clear()
        return seasons.season_of(measure_covers(lawn)).relevel, tuple(new)

    first, work = plan_and_work()
    assert work == ("search_seasons", "plan_from_searches")
    assert first.spots
    assert first.searches[0].spots
    known, work = plan_and_work()
    assert repr(known) == repr(first)
    assert work == ()
    with Record(lawn / RECORD_FILE) as record:
        rows = record._db.execute("SELECT basis FROM derived WHERE point='/plan'").fetchall()
        record.keep_derived(seasons.OF_THE_PLAN, {basis: b"[1]" for (basis,) in rows})
    assert repr(plan_and_work()[0]) == repr(first)
    (lawn / "heights.csv").unlink()
    assert plan_and_work()[1] == ("plan_from_searches",)
    (lawn / "readings.csv").write_text("date,spot,dip_mm\n2026-06-30,1,21\n")
    assert plan_and_work()[1] == ("plan_from_searches",)
    settings = (lawn / "lawn.toml").read_text()
    (lawn / "lawn.toml").write_text(settings.replace("usual_height_mm = 25", "usual_height_mm = 26"))
    assert plan_and_work()[1] == ("search_seasons", "plan_from_searches")
    sorted((lawn / "photos").iterdir())[-1].unlink()
    assert plan_and_work()[1] == ("search_seasons", "plan_from_searches")


def _count(monkeypatch, name, new):
    compute = getattr(seasons, name)

    def counted(*given, **known):
        new.append(name)
        return compute(*given, **known)

    monkeypatch.setattr(seasons, name, counted)
