"""Sand day on the page, in a browser: five photos on an arc, what is missing after each, and what to do now.

The photos are those of the second sample lawn, whose heights are known (heights_truth.csv beside them).
"""

from __future__ import annotations

import datetime as dt
import io
import json
import re
from pathlib import Path

import pytest
from page_serving import serving, soon
from PIL import Image

from swardmark.common.cautions import DUST_CAUTION
from swardmark.common.errors import PhotoRefused
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import read_lawn
from swardmark.page.walk.photos import put_away, take_photo, walk_so_far

SAND = sorted(
    (Path(__file__).parents[2] / "sample_images" / "tern_cottage_sand" / "photos" / "relief").iterdir()
)
WAIT_MS = 60_000


@pytest.fixture
def lawn(tmp_path):
    folder = tmp_path / "lawn"
    start_lawn(folder, leveled=dt.date.today())
    return folder


def again(path: Path, *, kind: str = "JPEG", size=None, later_s: int | None = 0) -> bytes:
    """Return a photo encoded anew: in another size or kind of file, taken later, or (None) without its time."""
    photo = Image.open(path)
    exif, out = photo.getexif(), io.BytesIO()
    inner = exif.get_ifd(0x8769)
    when = dt.datetime.strptime(inner[0x9003], "%Y:%m:%d %H:%M:%S")
    for tags in (exif, inner):
        for tag in (0x0132, 0x9003, 0x9004):
            if tag in tags:
                del tags[tag]
    if later_s is not None:
        inner[0x9003] = (when + dt.timedelta(seconds=later_s)).strftime("%Y:%m:%d %H:%M:%S")
    photo = photo.resize(size) if size else photo
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    photo.save(out, kind, quality=90, exif=exif.tobytes())
    return out.getvalue()


def test_a_photo_is_kept_where_its_set_is_and_one_that_cannot_be_used_is_not(lawn):
    main = read_lawn(lawn)
    assert walk_so_far(main).text.startswith("Stand about 1.6 m")
    one = take_photo(main, SAND[0].read_bytes(), "a.jpg", point="by the gate")
    assert (one.kept, len(one.walk.coming_deg)) == ("by the gate/relief/a.jpg", 4)
    same = take_photo(main, SAND[0].read_bytes(), "b.jpg", point="by the gate")
    assert (same.kept, len(same.walk.photos)) == ("a.jpg", 1)
    assert take_photo(main, SAND[1].read_bytes(), "b.jpg").kept == "relief/b.jpg"
    other = take_photo(main, again(SAND[2], size=(1600, 1200)), "c.jpg")
    assert other.kept == "" and "differs from the others in pixel size" in other.walk.text
    assert [path.name for path in (lawn / "photos" / "relief").iterdir()] == ["b.jpg"]
    assert len(walk_so_far(main).photos) == 1
    assert list(main.photos()) == []


def test_a_late_photo_begins_a_new_set_and_a_set_can_be_put_away(lawn):
    main = read_lawn(lawn)
    take_photo(main, SAND[0].read_bytes(), "a.jpg")
    late = take_photo(main, again(SAND[1], later_s=181), "b.jpg")
    assert (late.is_late, len(late.walk.photos)) == (True, 1)
    assert put_away(main) == 1
    assert (lawn / "removed" / "relief" / "b.jpg").is_file()
    assert [one.name for one in walk_so_far(main).photos] == ["a.jpg"]


def test_heic_and_photos_that_do_not_say_their_time(lawn):
    """HEIC as iPhones write it; a camera that writes no time has the moment that the browser tells, in the name."""
    main = read_lawn(lawn)
    jpeg = take_photo(main, SAND[0].read_bytes(), "a.jpg").walk.photos[0]
    heic = take_photo(main, again(SAND[0], kind="HEIF"), "a.heic", point="gate")
    assert heic.kept == "gate/relief/a.heic"
    assert heic.walk.photos[0].direction_deg == pytest.approx(jpeg.direction_deg, abs=0.3)
    undated = again(SAND[1], later_s=None)
    with pytest.raises(PhotoRefused, match="carry no date"):
        take_photo(main, undated, "b.jpg")
    said = take_photo(main, undated, "b.jpg", taken=jpeg.taken_at + dt.timedelta(seconds=20))
    assert re.fullmatch(r"relief/2026-06-03 \d\d\.\d\d\.\d\d b\.jpg", said.kept)
    assert len(said.walk.photos) == 2


@pytest.mark.slow
def test_five_photos_on_sand_day_say_where_to_drag(browser, lawn, tmp_path):
    faults: list[str] = []
    room = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, locale="en-GB")
    small = tmp_path / "small.jpg"
    small.write_bytes(again(SAND[2], size=(1600, 1200)))
    with serving(lawn) as served:
        tab = room.new_page()
        tab.set_default_timeout(WAIT_MS)
        tab.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        tab.on("pageerror", lambda error: faults.append(str(error)))
        tab.goto(served.address)
        tab.locator(".sm-sand-day").get_by_role("link", name="Take the five photos").tap()
        guide = tab.locator("#next .sm-walk")
        guide.get_by_text("Stand about 1.6 m (5 ft)").wait_for()
        take = guide.locator("[data-role=walk-take]")
        soon(take).to_have_attribute("capture", "environment")
        soon(guide.locator(".next")).to_have_count(1)
        soon(guide.locator(".later")).to_have_count(4)
        for number, photo in enumerate(SAND, start=1):
            take.set_input_files(str(photo))
            said = f"{number} of 5: go about" if number < 5 else "All 5 photos are there: nothing is missing."
            guide.locator(".sm-walk-said", has_text=said).wait_for()
            soon(guide.locator(".had")).to_have_count(number)
            soon(guide.locator(".later")).to_have_count(max(0, 4 - number))
            if number == 3:
                guide.locator("[data-role=walk-choose]").set_input_files(str(small))
                guide.locator(".sm-bad", has_text="pixel size").wait_for()
        assert sorted(path.name for path in (lawn / "photos" / "relief").iterdir()) == [p.name for p in SAND]
        soon(guide.locator(".next")).to_have_count(0)
        guide.get_by_role("button", name="Measure the sand").tap()
        first = tab.locator(".sm-walk-answer li strong").first
        first.wait_for(timeout=2 * WAIT_MS)
        assert re.fullmatch(r"Drag twice across 1: \d+\smm low, \d(\.\d)?\sL\.", first.inner_text())
        soon(tab.locator(".sm-walk-answer .sm-caution")).to_have_text(DUST_CAUTION)
        tab.locator(".sm-walk-map").scroll_into_view_if_needed()
        tab.wait_for_function("document.querySelector('.sm-walk-map').naturalWidth > 300")
        soon(guide.locator(".had")).to_have_count(0)  # the next five
        assert tab.evaluate("document.documentElement.scrollWidth") <= 390
        status, answered = served.ask("PUT", "/walk?name=x.jpg&point=nowhere", SAND[0].read_bytes())
        assert (status, answered) == (404, "")
        status, answered = served.ask("PUT", "/walk?name=x.jpg", b"no photo")
        assert json.loads(answered)["state"] == "refused"
        room.close()
    assert faults == []
