"""The report in a real browser: offline, with the keyboard, without an error, without a request, and under axe.

Chromium is Debian's; axe-core (Deque, https://github.com/dequelabs/axe-core) checks WCAG 2 rules and comes from the
npm registry once, into a folder of the user's cache. Where either is missing the tests are skipped, in CI they fail.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

import pytest
from made_season import renamed

from swardmark.measure.covers import measure_covers
from swardmark.report.html import write_report
from swardmark.season import Season, season_of

pytestmark = pytest.mark.xdist_group("browser")
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-background-networking"]
AXE = "axe-core@4.10.3"
WIDTHS = (360, 768, 1280)
MOST_SCREENS, MOST_PAGES = 7, 4


def missing(what: str) -> NoReturn:
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)


@pytest.fixture(scope="module")
def browser() -> Iterator:
    if not Path(CHROMIUM).exists():
        missing(f"{CHROMIUM} is missing: apt-get install chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright is missing: pip install -e .[test]")
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="module")
def axe() -> str:
    """Return the text of axe.min.js, fetched once by npm."""
    cache = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "swardmark-tests"
    script = cache / AXE / "package" / "axe.min.js"
    if not script.exists():
        npm = shutil.which("npm")
        if npm is None:
            missing("npm is missing: it fetches axe-core")
        script.parents[1].mkdir(parents=True, exist_ok=True)
        args = [npm, "pack", "--silent", AXE, "--pack-destination", str(script.parents[1])]
        done = subprocess.run(args, capture_output=True, text=True, timeout=120)
        if done.returncode:
            missing(f"npm cannot fetch axe-core: {done.stderr.strip()[-200:]}")
        (packed,) = script.parents[1].glob("*.tgz")
        with tarfile.open(packed) as archive:
            archive.extractall(script.parents[1], filter="data")
    return script.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(browser, season: Season, tmp_path_factory: pytest.TempPathFactory) -> Iterator:
    """The report opened from a file, offline; whatever it says or asks for is kept in `page.said`, `page.asked`."""
    path = write_report(season, folder=tmp_path_factory.mktemp("out"))
    context = browser.new_context(viewport={"width": 1280, "height": 900}, offline=True)
    opened = context.new_page()
    opened.said, opened.asked = [], []
    opened.on("console", lambda message: opened.said.append(message.text))
    opened.on("pageerror", lambda error: opened.said.append(str(error)))
    opened.on("request", lambda request: opened.asked.append(request.url))
    opened.goto(path.as_uri())
    yield opened
    context.close()


def test_the_slider_moves_by_key(page) -> None:
    page.locator("details", has=page.locator("[data-slider]")).evaluate("one => { one.open = true; }")
    slider, output = page.locator("input[type=range]"), page.locator("output")
    assert output.inner_text().startswith("15 June")
    slider.focus()
    page.keyboard.press("ArrowLeft")
    assert output.inner_text().startswith("11 June")
    assert slider.get_attribute("aria-valuetext").startswith("11 June, day 8")
    page.keyboard.press("Home")
    assert output.inner_text().startswith("3 June")
    shown = page.locator(".frames > figure:visible")
    assert shown.count() == 1
    assert "3 June" in shown.locator("img").get_attribute("alt")
    page.keyboard.press("End")
    assert output.inner_text().startswith("15 June")


def test_every_picture_is_drawn(page) -> None:
    broken = page.evaluate("[...document.images].filter(i => !(i.complete && i.naturalWidth > 0)).length")
    assert page.evaluate("document.images.length") > 10
    assert broken == 0


@pytest.mark.parametrize(("width", "height"), [(360, 800), (1280, 900)])
def test_the_first_screen_holds_the_answer(page, width: int, height: int) -> None:
    """Sentence, number, photo and the first line of the day's card, in this order where they stand in one column."""
    page.set_viewport_size({"width": width, "height": height})
    page.reload()
    bottom = "s => document.querySelector(s).getBoundingClientRect().bottom"
    places = page.evaluate(f"['.sentence', '.number', '.newest img', '.card li > p'].map({bottom})")
    assert max(places) <= height
    assert width > 700 or places == sorted(places)


def test_a_phone_folds_what_is_not_the_answer_and_print_unfolds_what_matters(page) -> None:
    page.set_viewport_size({"width": 360, "height": 800})
    page.reload()
    assert page.evaluate("document.documentElement.scrollHeight") <= MOST_SCREENS * 800
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate("[...document.querySelectorAll('details.wide, details.plan')].every(d => d.open)")
    assert not page.evaluate(
        "[...document.querySelectorAll('details:not(.wide, .plan, .screen)')].some(d => d.open)"
    )


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_hangs_over_the_edge(page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_name_of_200_letters_does_not_widen_the_page(browser, season: Season, tmp_path: Path) -> None:
    path = write_report(renamed(season, zone="x" * 200), folder=tmp_path)
    narrow = browser.new_page(viewport={"width": 360, "height": 800})
    narrow.goto(path.as_uri())
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 360
    narrow.close()


def serious(page, axe: str) -> list[tuple[str, str, str]]:
    """Return what axe finds on a page: rule, impact and the first place."""
    page.evaluate(axe)
    result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    found = [(rule["id"], rule["impact"], rule["nodes"][0]["html"][:120]) for rule in result["violations"]]
    return [one for one in found if one[1] in ("serious", "critical")]


@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_serious(page, axe: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    assert serious(page, axe) == []


def test_axe_would_find_something(browser, axe: str) -> None:
    """Otherwise the test above would prove nothing."""
    faulty = browser.new_page()
    faulty.set_content(
        "<html lang=en><title>x</title><main><img src='data:,'><p style='color:#ccc'>faint</p></main>"
    )
    assert {rule for rule, _, _ in serious(faulty, axe)} >= {"image-alt", "color-contrast"}
    faulty.close()


def test_it_prints_on_four_pages_with_the_album(page) -> None:
    page.emulate_media(media="print")
    assert page.locator(".album > figure:visible").count() == 3
    assert page.locator("input[type=range]:visible").count() == 0
    for paper in ("A4", "Letter"):
        printed = page.pdf(format=paper)
        assert len(printed) > 50_000
        assert 1 <= pages_in(printed) <= MOST_PAGES
    page.emulate_media(media="screen")


@pytest.fixture(scope="module")
def sample(browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator:
    """The report of the sample lawn, the longest one: heights before and after, sand, a spot plan, three zones."""
    home = tmp_path_factory.mktemp("sample") / "tern_cottage"
    shutil.copytree(Path(__file__).parents[2] / "sample_images" / "tern_cottage", home)
    path = write_report(season_of(measure_covers(home)), folder=home)
    opened = browser.new_page(viewport={"width": 360, "height": 800})
    opened.goto(path.as_uri())
    yield opened
    opened.close()


def test_the_sample_lawn_takes_seven_screens_on_a_phone_and_four_printed_pages(sample) -> None:
    assert sample.evaluate("document.documentElement.scrollHeight") <= MOST_SCREENS * 800
    assert sample.locator("#level").count() == sample.locator("#relevel").count() == 1
    for paper in ("A4", "Letter"):
        assert pages_in(sample.pdf(format=paper)) <= MOST_PAGES


def pages_in(printed: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", printed))


def test_no_error_was_said_and_nothing_was_asked_for(page) -> None:
    """Last on purpose: it looks back on all that the tests above did."""
    page.wait_for_timeout(50)
    assert page.said == []
    assert [url for url in page.asked if not url.startswith(("data:", "file:"))] == []
