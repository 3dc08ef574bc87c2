"""The sample lawn's photos, and a browser to look at the page with."""

from __future__ import annotations

import os
import shutil
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
