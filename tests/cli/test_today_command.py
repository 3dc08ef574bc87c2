"""swardmark today: the frozen JSON document, the days ahead, and a lawn without any photo."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from swardmark.mowing.today import Phase


@pytest.fixture(scope="module")
def lawn(run, tmp_path_factory):
    folder = tmp_path_factory.mktemp("lawns") / "plover-yard"
    run("start", str(folder), "--grass", "zoysiagrass", "--leveled", "2026-06-03")
    return folder


@pytest.mark.parametrize(
    ("day", "phase"),
    [("2026-05-25", "prepare"), ("2026-06-03", "sand day"), ("2026-06-05", "keep it moist"), ("2026-06-12", "grow in"),
     ("2026-06-20", "first mow"), ("2026-09-01", "next leveling")],
)  # fmt: skip
def test_a_lawn_without_a_photo_has_its_phase_and_its_lines(run, lawn, day, phase):
    done = run("today", str(lawn), "--as-of", day, "--json")
    assert done.code == 0 and done.err == ""
    told = json.loads(done.out)
    assert list(told) == ["phase", "lines"]
    assert told["phase"] == phase and phase in Phase.__args__
    assert 1 <= len(told["lines"]) <= 5
    for line in told["lines"]:
        assert list(line) == ["date", "do", "why", "careful"]
        assert line["date"] == day and line["do"] and line["why"]


def test_the_days_ahead_follow_the_day(run, lawn):
    told = json.loads(run("today", str(lawn), "--as-of", "2026-05-20", "--days", "14", "--json").out)
    days = [dt.date.fromisoformat(line["date"]) for line in told["lines"]]
    assert days == sorted(days)
    assert max(days) == dt.date(2026, 6, 3)
    said = run("today", str(lawn), "--as-of", "2026-05-20", "--days", "14").out
    assert "3 June: Spread 6 mm" in said and said.startswith("plover-yard, 20 May: prepare.")


def test_quiet_says_nothing(run, lawn):
    assert run("today", str(lawn), "--as-of", "2026-06-05", "--quiet").out == ""


def test_start_refuses_a_leveling_that_would_kill_the_grass_and_writes_nothing(run, tmp_path):
    year = dt.date.today().year + 1
    done = run("start", str(tmp_path / "new"), "--grass", "tall fescue", "--leveled", f"{year}-07-15")
    assert done.code == 2 and "summer heat" in done.err and not (tmp_path / "new").exists()
    late = run("start", str(tmp_path / "late"), "--grass", "zoysiagrass", "--leveled", f"{year}-09-20", "--first-frost",
               "10-25")  # fmt: skip
    assert late.code == 2 and "first frost" in late.err
    past = run("start", str(tmp_path / "past"), "--grass", "zoysiagrass", "--leveled", "2025-12-20")
    assert past.code == 0 and "not growing" in past.err


def test_a_lawn_in_us_units_is_written_in_inches_and_square_feet(run, tmp_path):
    assert run("start", str(tmp_path / "us"), "--units", "us", "--leveled", "2026-06-03").code == 0
    text = (tmp_path / "us" / "lawn.toml").read_text()
    for name in ("usual_height_in", "area_sqft", "price_per_yard", "pass_depth_in = 0.25", "first_frost"):
        assert name in text
    assert "_mm" not in text


def test_of_many_lawns_the_one_that_needs_its_keeper_first_comes_first(run, tmp_path):
    for name, day in (("b-growing", "2026-05-20"), ("a-later", "2026-03-01"), ("c-sand", "2026-06-03")):
        run("start", str(tmp_path / name), "--grass", "zoysiagrass", "--leveled", day)
    (tmp_path / "d-broken").mkdir()
    (tmp_path / "d-broken" / "lawn.toml").write_text("name = ")
    done = run("today", str(tmp_path), "--as-of", "2026-06-03", "--json")
    told = json.loads(done.out)["lawns"]
    assert [one["folder"] for one in told] == ["b-growing", "c-sand", "a-later"]
    assert done.code == 1 and "d-broken" in done.err
    assert [one["need"] for one in told] == ["photo overdue", "due today", "due today"]
    said = run("today", str(tmp_path), "--as-of", "2026-06-03").out.splitlines()
    assert said[1].startswith("due today: c-sand. Spread")


def test_the_sheet_to_print_holds_the_lines_and_no_outside_address(run, lawn, tmp_path):
    path = tmp_path / "today.html"
    assert run("today", str(lawn), "--as-of", "2026-06-03", "--sheet", str(path)).code == 0
    text = path.read_text()
    assert "Spread 6 mm" in text and "The days ahead" in text and text.count('class="box"') > 5
    assert "http" not in text.replace("http-equiv", "")
