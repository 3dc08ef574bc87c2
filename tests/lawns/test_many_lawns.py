"""today, outlook, relevel and report of a folder of lawns: the order of need, the tables, and lawns that are broken."""

from __future__ import annotations

import csv
import datetime as dt
import json
import re
import shutil

import icalendar
import pytest

from swardmark.lawns.needs import NEEDS
from swardmark.lawns.standing import LAWNS_COLUMNS

DAY = "2026-07-01"


@pytest.fixture(scope="module")
def lawns(measured_sample, tmp_path_factory):
    """Six lawns of the sample's photos: overdue, as it is, two without new photos, one without any, one broken."""
    folder = tmp_path_factory.mktemp("grounds")

    def lawn(name, title):
        made = shutil.copytree(measured_sample, folder / name)
        text = (made / "lawn.toml").read_text()
        (made / "lawn.toml").write_text(
            re.sub(r'^name = ".*"', f'name = "{title}"', text, count=1, flags=re.M)
        )
        return made

    lawn("a-usual", "Heron Green")
    (lawn("b-tall", "Wren Court") / "readings.csv").write_text("date,height_mm\n2026-06-30,60\n")
    for path in sorted((lawn("c-late", "Lark Rise") / "photos").iterdir())[4:]:
        path.unlink()
    for path in (lawn("d-unseen", "Lark Rise") / "photos").iterdir():
        path.unlink()
    broken = folder / "e-broken"
    broken.mkdir()
    (broken / "lawn.toml").write_text('name = "x"\nzone = 3\n')
    return folder


def test_the_lawn_that_needs_its_keeper_most_comes_first_and_a_broken_one_stops_none(run, lawns):
    outcome = run("today", lawns, "--as-of", DAY, "--json")
    assert outcome.code == 1
    assert outcome.err.startswith("refused  ") and "e-broken/lawn.toml" in outcome.err
    told = outcome.document["lawns"]
    assert [(one["folder"], one["need"]) for one in told] == [
        ("b-tall", "leaf overdue"),
        ("a-usual", "not filling in"),
        ("d-unseen", "photo overdue"),
        ("c-late", "photo overdue"),
    ]
    for one in told:
        assert {"folder", "name", "need", "lines"} <= set(one)
        assert one["need"] in NEEDS and one["lines"] and one["sentence"]
    assert "60 mm" in told[0]["sentence"] and "old dip" in told[1]["sentence"]
    said = run("today", lawns, "--as-of", DAY).out.splitlines()
    assert said[0].startswith("leaf overdue: Wren Court in b-tall. Overdue at 60 mm")
    assert len(said) == 4


def test_a_lawn_of_which_too_old_a_photo_speaks_is_marked(run, lawns):
    told = {
        one["folder"]: one for one in run("today", lawns, "--as-of", "2026-07-20", "--json").document["lawns"]
    }
    assert told["a-usual"]["stale"] and not told["d-unseen"]["stale"]
    said = run("today", lawns, "--as-of", "2026-07-20").out
    assert "The newest photo is from 1 July." in said or "the newest is from 1 July" in said


def test_several_folders_are_taken_each_lawn_once(run, lawns, tmp_path):
    outcome = run("today", lawns / "a-usual", lawns / "b-tall", lawns / "a-usual", "--as-of", DAY, "--json")
    assert outcome.code == 0
    assert [one["folder"] for one in outcome.document["lawns"]] == ["b-tall", "a-usual"]
    empty = run("today", lawns / "a-usual", tmp_path, "--as-of", DAY)
    assert (empty.code, empty.out) == (2, "") and "no lawn.toml in it" in empty.err


@pytest.mark.parametrize("kind", ["csv", "parquet", "xlsx"])
def test_the_table_is_the_same_in_every_kind_of_file(run, lawns, tmp_path, kind):
    import pandas as pd

    path = tmp_path / f"lawns.{kind}"
    assert run("today", lawns, "--as-of", DAY, "--quiet", "--table", path).code == 1
    read = {"csv": pd.read_csv, "parquet": pd.read_parquet, "xlsx": pd.read_excel}[kind]
    table = read(path)
    assert list(table.columns) == list(LAWNS_COLUMNS)
    assert list(table["lawn"]) == ["b-tall", "a-usual", "d-unseen", "c-late"]
    assert list(table["need"]) == ["leaf overdue", "not filling in", "photo overdue", "photo overdue"]
    assert table["cover_pct"].notna().tolist() == [True, True, False, True]


def test_a_table_of_another_kind_or_of_one_lawn_is_refused_before_any_work(run, lawns, tmp_path):
    other = run("today", lawns, "--table", tmp_path / "lawns.txt")
    assert (other.code, other.out) == (2, "") and "FILE.xlsx" in other.err
    one = run("today", lawns / "a-usual", "--table", tmp_path / "lawns.csv")
    assert (one.code, one.out) == (2, "") and "one lawn" in one.err


def test_the_outlook_of_all_holds_that_of_each(run, lawns):
    assert run("outlook", lawns, "--quiet").code == 1
    with (lawns / "out/outlook.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for name in ("a-usual", "b-tall", "c-late"):
        with (lawns / name / "out/outlook.csv").open(encoding="utf-8", newline="") as file:
            own = list(csv.DictReader(file))
        assert [{k: v for k, v in row.items() if k != "lawn"} for row in rows if row["lawn"] == name] == own
    assert {row["lawn"] for row in rows} == {"a-usual", "b-tall", "c-late"}


def test_one_sand_order_serves_all_and_the_budget_binds_it(run, lawns):
    plenty = run("relevel", lawns, "--price-per-m3", "40", "--delivery", "50", "--json").document
    assert plenty["order"]["sold"] >= 1 and plenty["deliveries"] >= 1
    litres = sum(lawn["sand_litres"] for lawn in plenty["lawns"])
    assert litres == pytest.approx(1000 * plenty["order"]["volume_m3"], abs=0.5)
    assert litres > 0
    alone = run("relevel", lawns / "a-usual", "--price-per-m3", "40", "--delivery", "50", "--json").document
    own = next(lawn for lawn in plenty["lawns"] if lawn["folder"] == "a-usual")
    assert sorted(map(int, own["passes_now"])) == sorted(alone["chosen"])
    # Sand is bought once for all: less than what the lawns would buy each for itself.
    assert plenty["order"]["bought_m3"] <= 3 * alone["orders"]["coming_season"]["bought_m3"]
    poor = run(
        "relevel", lawns, "--budget", "10", "--price-per-m3", "40", "--delivery", "50", "--json"
    ).document
    assert poor["order"]["volume_m3"] == 0 and "budget reaches none" in poor["advice"][0]


def test_the_report_holds_every_lawn_once_in_the_order_of_need(run, lawns):
    outcome = run("report", lawns, "--as-of", DAY, "--json")
    page = (lawns / "out/report.html").read_text(encoding="utf-8")
    found = re.findall(r'<article class="card" id="lawn-(\d+)">\s*<h3>(.*?)</h3>', page)
    assert found == [("1", "Wren Court"), ("2", "Heron Green"), ("3", "Lark Rise"), ("4", "Lark Rise")]
    assert page.count("data:image/webp") == 3 and "e-broken" in page
    assert not re.search(r'(src|href)="(?!data:|#)', page)
    assert len(page) < 300_000
    assert outcome.document["written"][0].endswith("out/report.html")
    calendar = icalendar.Calendar.from_ical((lawns / "out/lawns.ics").read_text(encoding="utf-8"))
    uids = [str(event["UID"]) for event in calendar.walk("VEVENT")]
    assert uids and len(uids) == len(set(uids))


def test_more_lawns_than_one_file_holds_get_a_page_each(measured_sample, tmp_path, monkeypatch):
    from swardmark.lawns import report
    from swardmark.lawns.standing import standings

    monkeypatch.setattr(report, "MOST_IN_ONE", 1)
    found = list(standings([measured_sample] * 2, on=dt.date(2026, 7, 1), each=report.card_of))
    written = report.write_lawns_report(found, on=dt.date(2026, 7, 1), folder=tmp_path)
    names = sorted(str(path.relative_to(tmp_path)) for path in written)
    assert names == ["lawns.ics", "lawns/001.html", "lawns/002.html", "report.html"]
    index = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert 'href="lawns/001.html"' in index and "data:image" not in index
    assert "data:image/webp" in (tmp_path / "lawns/002.html").read_text(encoding="utf-8")


def test_the_document_is_plain_json(run, lawns):
    out = run("today", lawns, "--as-of", DAY, "--json").out
    assert json.loads(out) == json.loads(json.dumps(json.loads(out), allow_nan=False))
