"""The whole job in a browser, at the widths of a phone and of a laptop; and two tabs on the same zones.

Fails on any console error and on any request that leaves this machine. What the page wrote is compared, byte for byte,
with what the command line writes from the same photos, corners and zones.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import tomllib

import pytest
from page_serving import serving, soon

ZONE_M = ((1.5, 0.6), (2.1, 0.6), (2.1, 1.8), (1.5, 1.8))
WAIT_MS = 60_000


@pytest.fixture
def open_tab(browser):
    """Open tabs that note every console error and every request to elsewhere; none may be left at the end."""
    faults, rooms = [], []

    def open_it(address: str, *, width: int = 1280, touch: bool = False):
        room = browser.new_context(viewport={"width": width, "height": 800}, has_touch=touch, locale="en-GB")
        rooms.append(room)
        tab = room.new_page()
        tab.set_default_timeout(WAIT_MS)
        tab.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        tab.on("pageerror", lambda error: faults.append(str(error)))
        tab.on("request", lambda asked: None if is_here(asked.url) else faults.append(asked.url))
        tab.goto(address)
        return tab

    yield open_it
    for room in rooms:
        room.close()
    assert faults == []


def is_here(url: str) -> bool:
    return re.match(r"(https?|ws)://127\.0\.0\.1[:/]|data:|blob:", url) is not None


def on_sheet(tab, x: float, y: float) -> tuple[float, float]:
    """Return where a place on the ground, in meters, lies in the window."""
    find = """([x, y]) => { const sheet = document.querySelector('#zones .sm-sheet');
        const p = new DOMPoint(x, -y).matrixTransform(sheet.getScreenCTM()); return [p.x, p.y]; }"""
    return tuple(tab.evaluate(find, [x, y]))


def go(tab, place: str) -> None:
    tab.locator(".sm-nav").get_by_role("link", name=place).click()


def draw(tab, corners, name: str) -> None:
    go(tab, "Zones")
    tab.locator("#zones .sm-sheet").scroll_into_view_if_needed()
    tab.get_by_role("button", name="New zone").click()
    tab.evaluate(
        "document.querySelector('#zones .sm-sheet').scrollIntoView({block: 'center', behavior: 'instant'})"
    )
    for corner in corners:
        tab.mouse.click(*on_sheet(tab, *corner))
    tab.get_by_role("button", name="Close the shape").click()
    box = tab.locator(".sm-zones input").last
    box.fill(name)
    box.press("Enter")


PROBED = "date,dip_mm,spot\n2026-06-24,24,1\n"
"""A low spot that was measured: sand is planned for measured low ground alone."""


def begin(tab) -> None:
    tab.get_by_label("What do you call it?").fill("Tern Cottage")
    tab.get_by_label("Which grass?").select_option("zoysiagrass")
    soon(tab.get_by_label("How long is a side of your square?")).to_have_value("1 m")
    tab.get_by_label("When was the sand spread?").fill("2026-06-03")
    tab.get_by_role("button", name="Begin", exact=True).click()
    tab.wait_for_selector("#today .sm-sentence")


def drag_a_corner(tab, *, touch: bool) -> None:
    """Drag the far right corner of the newest photo out and nearly back, under the magnifier."""
    tab.locator(".sm-thumb").first.click()
    tab.get_by_role("button", name="Correct the corners").click()
    ring = tab.locator(".sm-corner[data-corner='2'] .ring")
    ring.wait_for()
    box = ring.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    if touch:
        finger = tab.context.new_cdp_session(tab)
        for kind, dx in (("touchStart", 0), ("touchMove", 12), ("touchMove", 1)):
            at = [{"x": x + dx, "y": y}]
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    else:
        tab.mouse.move(x, y)
        tab.mouse.down()
        tab.mouse.move(x + 12, y + 6, steps=4)
        tab.mouse.move(x + 1, y, steps=4)
        tab.mouse.up()
    soon(tab.locator(".sm-glass")).to_be_visible()
    tab.locator(".sm-corner[data-corner='2']").press("ArrowUp")
    tab.get_by_role("button", name="Keep these corners").click()


@pytest.mark.parametrize(("width", "touch"), [(360, True), (1280, False)], ids=["phone", "laptop"])
def test_the_whole_job(open_tab, run, page_photos, tmp_path, width, touch):
    lawn = tmp_path / "lawn"
    with serving(lawn, cwd=tmp_path) as served:
        tab = open_tab(served.address, width=width, touch=touch)
        begin(tab)
        (lawn / "readings.csv").write_text(PROBED)
        tab.locator("[data-role=choose]").set_input_files([str(photo) for photo in page_photos])
        go(tab, "Photos")
        tab.wait_for_function(
            f"document.querySelectorAll('.sm-photo.measured').length === {len(page_photos)}"
        )
        drag_a_corner(tab, touch=touch)
        tab.get_by_text("Square found by hand marks.").wait_for()
        tab.get_by_role("button", name="Close", exact=True).last.click()
        draw(tab, ZONE_M, "by the path")
        tab.get_by_role("button", name="Save zones").click()
        tab.locator("#zones").get_by_text("saved", exact=True).wait_for()
        tab.locator("#zones .sm-status").get_by_text("by the path").wait_for()
        tab.wait_for_function("!document.querySelector('.sm-bar-words')")

        verdict = tab.locator(".sm-more p").first.text_content()
        read_the_curves(tab)
        change_the_budget(tab, run, lawn)
        take_the_report(tab, tmp_path, lawn)
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
        tab.screenshot(path=tmp_path / f"page-{width}.png", full_page=True)
        tab.context.close()
    assert sorted(path.name for path in tmp_path.iterdir() if path.name.startswith(".")) == []
    if not touch:
        same_by_the_command_line(run, lawn, page_photos, tmp_path, verdict)


def read_the_curves(tab) -> None:
    go(tab, "Today")
    if not tab.locator(".sm-curves").is_visible():
        tab.locator("#course summary", has_text="How it goes").click()
    chart = tab.locator(".sm-curves > svg")
    chart.scroll_into_view_if_needed()
    chart.hover(position={"x": 120, "y": 60})
    said = tab.locator("[data-role=values]")
    soon(said).to_have_text(re.compile(r"day \d+"))
    soon(said).to_have_text(re.compile(r"by the path: .*\d+ %"))
    go(tab, "Photos")
    second = tab.locator("[data-role=day]")
    last = second.input_value()
    second.select_option("1")
    assert second.input_value() != last
    tab.get_by_role("button", name="Side by side").click()
    soon(tab.locator(".sm-side img")).to_have_count(2)


def change_the_budget(tab, run, lawn) -> None:
    """The plan follows the budget at once, and is the command line's plan with the same prices."""
    go(tab, "Next leveling")
    tab.get_by_label("Sand, per cubic meter").fill("60")
    plan = run("relevel", lawn, "--budget", "500", "--price-per-m3", "60", "--json").document
    assert plan["chosen"]
    states = tab.locator(".sm-spots .sm-status-word")
    for money, chosen in (("0", []), ("500", plan["chosen"])):
        tab.get_by_label("Budget for the season").fill(money)
        now, waiting = re.compile("^coming season"), re.compile("^(later|too much for one season|no sand)$")
        wanted = [now if spot["spot"] in chosen else waiting for spot in plan["spots"]]
        soon(states).to_have_text(wanted)


def take_the_report(tab, tmp_path, lawn) -> None:
    tab.get_by_role("link", name="Share").click()
    with tab.expect_download() as waiting:
        tab.get_by_role("button", name="Write and download the report").click()
    path = tmp_path / "taken.html"
    waiting.value.save_as(path)
    assert path.read_bytes() == (lawn / "out/report.html").read_bytes()


def same_by_the_command_line(run, lawn, photos, tmp_path, verdict) -> None:
    """Begin, add, mark and zone by hand what was done on the page: the same tables, byte for byte."""
    other = tmp_path / "by hand"
    assert run("start", other, "--leveled", "2026-06-03", "--grass", "zoysiagrass").code == 0
    (other / "readings.csv").write_text(PROBED)
    assert run("add", other, *photos).code == 0
    for name, marks in tomllib.loads((lawn / "marks.toml").read_text())["photo"].items():
        corners = [f"{x},{y}" for x, y in marks["corners_px"]]
        assert run("mark", other / "photos" / name, *corners).code == 0
    zone = json.dumps([list(corner) for corner in ZONE_M])
    with (other / "lawn.toml").open("a", encoding="utf-8") as file:
        file.write(f'\n[[zone]]\nname = "by the path"\noutline_m = {zone}\n')
    assert run("measure", other).code == 0
    said = run("outlook", other, "--as-of", dt.date.today(), "--json").document["verdict"]
    assert said == verdict
    for name in ("cover.csv", "outlook.csv"):
        assert (lawn / "out" / name).read_bytes() == (other / "out" / name).read_bytes(), name


def test_a_name_half_typed_stays_when_the_page_is_drawn_anew(open_tab, tmp_path):
    """As when a photo is measured meanwhile; here the window's width changes, which draws the sheet anew."""
    with serving(tmp_path / "lawn") as served:
        tab = open_tab(served.address)
        begin(tab)
        draw(tab, ZONE_M, "first")
        name = tab.locator(".sm-zones input").last
        name.fill("by the path")
        drawn = "document.querySelector('#zones .sm-sheet').clientWidth"
        before = tab.evaluate(drawn)
        tab.set_viewport_size({"width": 420, "height": 800})
        tab.wait_for_function(f"{drawn} !== {before}")
        tab.wait_for_timeout(100)
        assert name.input_value() == "by the path"
        name.press("Enter")
        name.blur()
        assert name.input_value() == "by the path"
        tab.context.close()  # while the page is still served: a lost connection is a console error


def test_two_tabs_on_the_same_zones_lose_nothing_silently(open_tab, tmp_path):
    lawn = tmp_path / "lawn"
    with serving(lawn) as served:
        first = open_tab(served.address)
        begin(first)
        second = open_tab(served.address)
        draw(first, ZONE_M, "first")
        draw(second, ZONE_M, '<script>alert("second")</script>')
        first.get_by_role("button", name="Save zones").click()
        first.locator("#zones").get_by_text("saved", exact=True).wait_for()

        told = second.locator("[data-role=conflict]")
        told.wait_for()
        soon(told).to_contain_text("first (0.72 m²)")
        soon(second.get_by_role("button", name="Save zones")).to_be_disabled()
        assert [zone["name"] for zone in zones_of(lawn)] == ["first"]
        told.get_by_role("button", name="Keep mine, then save").click()
        second.get_by_role("button", name="Save zones").click()
        second.locator("#zones").get_by_text("saved", exact=True).wait_for()

        assert [zone["name"] for zone in zones_of(lawn)] == ['<script>alert("second")</script>']
        assert any('"first"' in path.read_text() for path in lawn.glob("lawn.toml.*.bak"))
        first.wait_for_function("document.querySelector('.sm-zones input').value.startsWith('<script>')")
        first.context.close()
        second.context.close()


def zones_of(lawn):
    return tomllib.loads((lawn / "lawn.toml").read_text(encoding="utf-8"))["zone"]
