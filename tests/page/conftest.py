"""The sample lawn's photos, and a browser to look at the page with."""

from __future__ import annotations

import os
import shutil
import subprocess
import tarfile
from pathlib import Path

import pytest

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
CHROMIUM_OPTIONS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


@pytest.fixture(scope="session")
def page_photos() -> list[Path]:
    """Every other photo of the sample lawn, oldest first."""
    return sorted((SAMPLE / "photos").iterdir())[::2]


@pytest.fixture(scope="module")
def browser():
    """Debian's Chromium. Where the checks run as a whole (CI) it must be there; elsewhere its tests are left out.

    Only as long as a module: Playwright keeps an event loop running, which other tests start their own of.
    """
    wanted = os.environ.get("CI") == "true"
    where = shutil.which("chromium")
    if where is None and not wanted:
        pytest.skip("Chromium is not installed")
    assert where is not None, "Chromium is not installed: apt-get install chromium"
    if not wanted:
        pytest.importorskip("playwright")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as tool:
        shown = tool.chromium.launch(executable_path=where, args=list(CHROMIUM_OPTIONS))
        yield shown
        shown.close()


AXE = "axe-core@4.10.3"


@pytest.fixture(scope="session")
def axe() -> str:
    """Return the text of axe.min.js, fetched once by npm into the user's cache; in CI it must be had."""
    cache = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "swardmark-tests"
    script = cache / AXE / "package" / "axe.min.js"
    if not script.exists():
        npm = shutil.which("npm")
        if npm is None and os.environ.get("CI") != "true":
            pytest.skip("npm is missing: it fetches axe-core")
        assert npm is not None, "npm is missing: it fetches axe-core"
        script.parents[1].mkdir(parents=True, exist_ok=True)
        args = [npm, "pack", "--silent", AXE, "--pack-destination", str(script.parents[1])]
        done = subprocess.run(args, capture_output=True, text=True, timeout=120)
        if done.returncode and os.environ.get("CI") != "true":
            pytest.skip("npm cannot fetch axe-core")
        assert done.returncode == 0, done.stderr[-200:]
        (packed,) = script.parents[1].glob("*.tgz")
        with tarfile.open(packed) as archive:
            archive.extractall(script.parents[1], filter="data")
    return script.read_text(encoding="utf-8")


@pytest.fixture
def room(browser):
    """A browser as the keeper's phone has it: what it stores outlives its tabs."""
    room = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, locale="en-GB")
    room.set_default_timeout(30_000)
    yield room
    room.close()
