"""The page as an app on the home screen: light at the first visit, and useful where it cannot be reached."""

from __future__ import annotations

import datetime as dt
import json
import time
from pathlib import Path

import pytest
from page_serving import serving

from swardmark.lawn.folder import start_lawn
from swardmark.lawn.readings import read_diary

MOST_FIRST_VISIT_BYTES = 300_000
WAIT_MS = 30_000
KEPT = """async () => navigator.serviceWorker.controller
    && (await (await caches.open('swardmark-unreached')).keys()).length"""


@pytest.fixture
def room(browser):
    room = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, locale="en-GB")
    room.set_default_timeout(WAIT_MS)
    yield room
    room.close()


def test_the_first_visit_is_light_and_all_of_it_is_ours_or_the_library_s(measured_sample, room):
    """What goes over the network until the first screen stands, compressed, its photo among it."""
    with serving(measured_sample) as served:
        tab, sent = room.new_page(), []
        wire = room.new_cdp_session(tab)
        wire.send("Network.enable")
        wire.on("Network.loadingFinished", lambda one: sent.append(one["encodedDataLength"]))
        tab.goto(served.address)
        tab.wait_for_selector(".sm-newest svg")
        tab.wait_for_load_state("load")
        total = sum(sent)
        names = tab.evaluate("performance.getEntriesByType('resource').map((one) => one.name)")
        assert all(name.startswith(f"http://127.0.0.1:{served.port}/") for name in names)
        assert 100_000 < total < MOST_FIRST_VISIT_BYTES, total
        assert tab.locator("main").count() == 1
        assert "body--light" in tab.evaluate("document.body.className")


def test_it_can_be_installed(measured_sample, room):
    """What the W3C's Web Application Manifest asks for, and Chromium's own judgment."""
    with serving(measured_sample) as served:
        status, text = served.ask("GET", "/manifest.webmanifest")
        manifest = json.loads(text)
        assert (status, manifest["start_url"], manifest["display"]) == (200, "/", "standalone")
        assert served.ask("GET", manifest["icons"][0]["src"])[0] == 200
        tab = room.new_page()
        tab.goto(served.address)
        tab.wait_for_function(KEPT)
        told = room.new_cdp_session(tab).send("Page.getInstallabilityErrors")["installabilityErrors"]
        assert [one["errorId"] for one in told if one["errorId"] != "in-incognito"] == []


def test_a_photo_and_a_note_wait_while_the_page_is_stopped_and_arrive_when_it_runs_again(
    room, page_photos, tmp_path
):
    lawn, home, photo = tmp_path / "lawn", tmp_path / "home", page_photos[0]
    start_lawn(lawn)
    with serving(lawn, "--remember", home=home, inside=False) as served:
        tab, port = room.new_page(), served.port
        tab.goto(served.address)
        tab.wait_for_selector("[data-role=choose]", state="attached")
        tab.wait_for_function(KEPT)
        served.kill()
        tab.goto(f"http://127.0.0.1:{port}/")
        tab.get_by_text("The page cannot be reached").wait_for()
        assert tab.title() == "lawn"
        assert tab.evaluate("document.documentElement.scrollWidth") <= 390
        tab.locator("[data-role=choose]").set_input_files(str(photo))
        tab.get_by_text("1 photo waits in this browser.").wait_for()
        tab.locator("summary", has_text="The diary").click()
        tab.locator("[data-kind=diary] select").select_option("mowed")
        tab.locator("[data-kind=diary] button").click()
        tab.get_by_text("1 photo and 1 note wait in this browser.").wait_for()
    with serving(lawn, "--remember", "--port", str(port), home=home, inside=False):
        arrived(lawn / "photos" / photo.name, photo)  # nothing was tapped
        tab.wait_for_selector(".sm-nav")
        arrived(lawn / "diary.csv")
        tab.close()
    assert [(line.what, line.date) for line in read_diary(lawn)] == [("mowed", dt.date.today())]


def arrived(path: Path, same: Path | None = None) -> None:
    end = time.monotonic() + WAIT_MS / 1000
    while not path.exists():
        assert time.monotonic() < end
        time.sleep(0.2)
    assert same is None or path.read_bytes() == same.read_bytes()
