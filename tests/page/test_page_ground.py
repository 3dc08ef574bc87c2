"""Heights and probes on the page, in a browser: what is typed and tapped stands in the keeper's files at once."""

from __future__ import annotations

import datetime as dt
import shutil
import tomllib
from pathlib import Path

import pytest
from page_serving import serving, soon

from swardmark.lawn.counts import read_counts
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.heights import read_heights
from swardmark.measure.count_round import begin_round, keep_answer
from swardmark.measure.counting import counted_covers
from swardmark.measure.covers import measure_covers

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
WAIT_MS = 30_000
pytestmark = pytest.mark.slow


@pytest.fixture
def open_place(browser):
    """Open a place of a page; no console error may be left at the end but that of a page that was killed."""
    faults, rooms = [], []

    def open_it(served, place: str, *, width: int = 390):
        room = browser.new_context(viewport={"width": width, "height": 844}, has_touch=True, locale="en-GB")
        rooms.append(room)
        tab = room.new_page()
        tab.set_default_timeout(WAIT_MS)
        tab.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        tab.on("pageerror", lambda error: faults.append(str(error)))
        tab.goto(served.address)
        tab.wait_for_selector(".sm-nav")
        tab.evaluate("place => { location.hash = place; }", place)
        return tab

    yield open_it
    for room in rooms:
        room.close()
    assert [fault for fault in faults if "ERR_CONNECTION" not in fault and "WebSocket" not in fault] == []


def begin(tab, size: str = "2 m", point: str = ""):
    tab.locator("#heights").wait_for()
    tab.get_by_label("Width of the ground").fill(size)
    tab.get_by_label("Length, away from you").fill(size)
    if point:
        tab.locator("#heights").get_by_label("Photo point").select_option(point)
    tab.get_by_role("button", name="Begin with the first place").click()
    return tab.locator(".sm-grid")


def type_in(grid, value: str) -> None:
    grid.locator("input").fill(value)
    grid.get_by_role("button", name="Keep, next place").click()


def drops_of(lawn: Path) -> list[tuple[str, float]]:
    return [(row.place, -row.height_mm) for row in read_heights(lawn)]


def wait_until(tab, found) -> None:
    """Wait until a look at the files finds what it looks for."""
    for _ in range(100):
        if found():
            return
        tab.wait_for_timeout(100)
    assert found()


def test_no_height_is_lost_when_the_page_stops(open_place, tmp_path):
    """Three heights, and the page is killed; the next one begins where it stopped, and Finish measures.

    The lawn has two photo points, neither of which is main: the heights are of the one that is chosen.
    """
    lawn = tmp_path / "lawn"
    start_lawn(lawn, leveled=dt.date.today())
    with (lawn / "lawn.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[point]]\nname = "gate"\n\n[[point]]\nname = "porch"\n')
    with serving(lawn) as served:
        grid = begin(open_place(served, "next"), point="porch")
        for value in ("40", "42.5", "38"):
            type_in(grid, value)
        wait_until(grid.page, lambda: len(drops_of(lawn)) == 3)
        served.kill()
    assert drops_of(lawn) == [("1", 40.0), ("2", 42.5), ("3", 38.0)]
    with serving(lawn) as served:
        tab = open_place(served, "next")
        grid = begin(tab, point="porch")
        grid.get_by_text("3 / 9").wait_for()
        type_in(grid, "41")
        wait_until(tab, lambda: sorted(drops_of(lawn)) == [("1", 41.0), ("2", 42.5), ("3", 38.0)])
        type_in(grid, "99")
        wait_until(tab, lambda: ("2", 99.0) in drops_of(lawn))
        grid.get_by_role("button", name="Undo").click()
        wait_until(tab, lambda: sorted(drops_of(lawn)) == [("1", 41.0), ("2", 42.5), ("3", 38.0)])
        type_in(grid, "4000")
        tab.get_by_text("4000 mm cannot be a height below a string: 1000 mm is the most.").wait_for()
        tab.locator(".sm-notice").get_by_role("button", name="Close").click()
        grid.get_by_role("button", name="Finish").click()
        tab.get_by_text("3 of 9 heights kept.").wait_for()
    assert {row.date for row in read_heights(lawn)} == {dt.date.today()}
    assert {(row.how, row.point) for row in read_heights(lawn)} == {("string", "porch")}
    assert sorted((row.place, row.x_m, row.y_m) for row in read_heights(lawn))[1] == ("2", 1.0, 0.0)


def test_what_was_counted_stands_beside_what_was_measured(open_place, tmp_path):
    """Every third point is called ground, whatever it shows: the count and the measured cover are said together."""
    lawn = tmp_path / "lawn"
    shutil.copytree(SAMPLE, lawn)
    counting = begin_round(measure_covers(lawn), points=60)
    said = ["ground" if number % 3 == 0 else "leaf" for number in range(len(counting.points))]
    for number, word in enumerate(said):
        keep_answer(lawn, counting, number, word, is_first=number == 0)
    (counted,) = counted_covers(measure_covers(lawn), read_counts(lawn))
    with serving(lawn) as served:
        tab = open_place(served, "photos")
        line = tab.get_by_text(f"counted by eye {counted.cover.cover_pct:.0f} %")
        line.wait_for(timeout=120_000)
        soon(line).to_contain_text(f"measured {counted.cover.tool_pct:.0f} %")
        assert tab.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_four_answers_about_a_spot_are_kept(open_place, tmp_path):
    lawn = tmp_path / "lawn"
    shutil.copytree(SAMPLE, lawn)
    before = len(tomllib.loads((lawn / "lawn.toml").read_text()).get("probe", ()))
    with serving(lawn) as served:
        tab = open_place(served, "next")
        form = tab.locator(".sm-probe")
        form.wait_for(timeout=120_000)
        assert form.get_by_role("button", name="Keep the answers").is_disabled()
        for answer in ("low", "moist", "sun, six hours or more"):
            form.get_by_text(answer, exact=True).click()
        form.get_by_label("Sand over the crowns, mm").fill("12")
        form.get_by_role("button", name="Keep the answers").click()
        tab.get_by_text("The answers were kept.").wait_for()
        probe = tomllib.loads((lawn / "lawn.toml").read_text())["probe"]
        assert len(probe) == before + 1
        said = {name: probe[-1].get(name) for name in ("date", "ground", "soil", "light", "sand_mm")}
        assert said == {
            "date": dt.date.today(), "ground": "low", "soil": "moist", "light": "sun", "sand_mm": 12.0,
        }  # fmt: skip
        tab.locator(".sm-notice").get_by_role("button", name="Undo").click()
        tab.get_by_text("Taken back.").wait_for()
    assert len(tomllib.loads((lawn / "lawn.toml").read_text()).get("probe", ())) == before
