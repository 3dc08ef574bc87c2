"""Photos chosen while the page does not answer wait in the browser, and arrive whole, once, in their own lawn."""

from __future__ import annotations

import io
import json
import time

import pytest
from page_serving import serving, soon
from PIL import Image

from swardmark.lawn.folder import start_lawn

WAIT_S = 30
COUNT = (
    """async () => { const { allKept } = await import('/js/waiting.js'); return (await allKept()).length; }"""
)


@pytest.fixture
def lawn(tmp_path):
    return begun(tmp_path / "lawn")


def begun(folder):
    start_lawn(folder)
    return folder


def choose(tab, *photos) -> None:
    tab.locator("[data-role=choose]").set_input_files([str(photo) for photo in photos])


def opened(room, address: str):
    tab = room.new_page()
    tab.goto(address)
    tab.wait_for_selector("[data-role=choose]", state="attached")
    return tab


def files_of(lawn) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (lawn / "photos").iterdir() if path.is_file()}


def same_soon(lawn, photos) -> None:
    """Wait until the lawn has these photos, byte for byte; then look that no other one came."""
    wanted = {photo.name: photo.read_bytes() for photo in photos}
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end and files_of(lawn) != wanted:
        time.sleep(0.2)
    assert files_of(lawn) == wanted


def nothing_waits(tab) -> None:
    tab.wait_for_function("!document.querySelector('.sm-held')")
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end and tab.evaluate(COUNT):
        time.sleep(0.2)
    assert tab.evaluate(COUNT) == 0


def test_photos_chosen_offline_arrive_after_the_tab_was_closed(room, lawn, page_photos):
    photos = page_photos[:2]
    with serving(lawn) as served:
        tab = opened(room, served.address)
        room.set_offline(True)
        choose(tab, *photos)
        held = tab.locator(".sm-held")
        held.get_by_text("2 photos wait in this browser.").wait_for()
        held.locator("summary").click()
        soon(held.locator(".sm-name")).to_have_text([photo.name for photo in photos])
        assert tab.evaluate("document.documentElement.scrollWidth") <= 390
        tab.close()
        assert files_of(lawn) == {}

        room.set_offline(False)
        tab = opened(room, f"http://127.0.0.1:{served.port}/")
        same_soon(lawn, photos)
        nothing_waits(tab)
        tab.close()


def test_a_photo_chosen_while_the_page_is_stopped_is_sent_when_it_runs_again(
    room, lawn, page_photos, tmp_path
):
    home = tmp_path / "home"
    with serving(lawn, "--remember", home=home, inside=False) as served:
        port = served.port
        tab = opened(room, served.address)
        served.kill()
        choose(tab, page_photos[0])
        tab.get_by_text("1 photo waits in this browser.").wait_for()
    with serving(lawn, "--remember", "--port", str(port), home=home, inside=False):
        same_soon(lawn, page_photos[:1])  # nothing was tapped
        nothing_waits(tab)
        tab.close()


def test_a_photo_whose_answer_was_lost_is_not_there_twice(room, lawn, page_photos):
    with serving(lawn) as served:
        tab = opened(room, served.address)
        taken = []

        def lose_the_answer(route):
            path = route.request.url.partition(f":{served.port}")[
                2
            ]  # Playwright hands the body of a file to no one
            taken.append(json.loads(served.ask("PUT", path, page_photos[0].read_bytes())[1]))
            route.abort()

        tab.route("**/photos?*", lose_the_answer, times=1)
        choose(tab, page_photos[0])
        waits, here = tab.get_by_text("1 photo waits in this browser."), tab.get_by_text("already here, as")
        waits.or_(here).first.wait_for()
        assert taken[0]["state"] == "added"
        if waits.is_visible():  # on a slow machine the page's own clock may have sent it already
            tab.get_by_role("button", name="Send now").click()
            here.wait_for()
        nothing_waits(tab)
        same_soon(lawn, page_photos[:1])
        tab.close()


def test_photos_wait_for_the_lawn_they_were_chosen_for(room, lawn, page_photos, tmp_path):
    """Another lawn answers at the same address: its page names the first one, and takes nothing unasked."""
    other = begun(tmp_path / "other")
    with serving(lawn) as served:
        port = served.port
        tab = opened(room, served.address)
        room.set_offline(True)
        choose(tab, page_photos[0])
        tab.get_by_text("1 photo waits in this browser.").wait_for()
        tab.close()
        room.set_offline(False)
    with serving(other, "--port", str(port), inside=False) as served:
        tab = opened(room, served.address)
        tab.locator(".sm-held").get_by_text("1 photo waits for").wait_for()
        time.sleep(1)
        assert files_of(other) == {}
        assert tab.evaluate(COUNT) == 1
        tab.get_by_role("button", name="Add to this lawn").click()
        same_soon(other, page_photos[:1])
        nothing_waits(tab)
        tab.close()
    assert files_of(lawn) == {}


def test_what_is_refused_waits_no_longer_and_what_asks_for_its_day_does(room, lawn, page_photos, tmp_path):
    broken, undated = tmp_path / "broken 2026-06-09.jpg", tmp_path / "undated.jpg"
    broken.write_bytes(b"no picture at all")
    undated.write_bytes(without_date(page_photos[0]))
    with serving(lawn) as served:
        tab = opened(room, served.address)
        choose(tab, broken)
        tab.locator(".sm-queue .refused").wait_for()
        assert tab.evaluate(COUNT) == 0
        tab.close()
        tab = opened(room, f"http://127.0.0.1:{served.port}/")
        choose(tab, undated)
        tab.get_by_text("This photo has no date.").wait_for()
        tab.close()
        tab = opened(room, f"http://127.0.0.1:{served.port}/")
        tab.get_by_label("Taken on").fill("2026-06-09")
        tab.get_by_role("button", name="Add with this day").click()
        tab.locator(".sm-queue .added").wait_for()
        nothing_waits(tab)
        assert len(files_of(lawn)) == 1
        tab.close()


def without_date(photo) -> bytes:
    out = io.BytesIO()
    Image.open(photo).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()


def test_what_waits_can_be_thrown_away_by_two_taps(room, lawn, page_photos):
    with serving(lawn) as served:
        tab = opened(room, served.address)
        room.set_offline(True)
        choose(tab, page_photos[0])
        tab.locator(".sm-held summary").click()
        tab.get_by_role("button", name="Throw away").click()
        soon(tab.locator(".sm-held")).to_have_count(1)
        tab.get_by_role("button", name="Throw away for good").click()
        room.set_offline(False)
        tab.close()
        tab = opened(room, f"http://127.0.0.1:{served.port}/")
        nothing_waits(tab)
        assert files_of(lawn) == {}
        tab.close()
