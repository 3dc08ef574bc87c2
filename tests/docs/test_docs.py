"""The documents: generated parts are up to date, commands documented, links whole, examples run, the site builds."""

from __future__ import annotations

import doctest
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from docs_tables import BLOCKS
from generate_docs import BENCHMARKS, ROOT, SAMPLE, WIDTH, alike, block_of, generated, pages, transcript
from skimage.filters import threshold_otsu

DOCS = ROOT / "docs"
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
LOADS = re.compile(
    r"""<(?:script|img|iframe)[^>]*\bsrc=["']?(?:https?:)?//"""
    r"""|<link[^>]*rel=["']?(?:stylesheet|preconnect)["']?[^>]*href=["']?(?:https?:)?//"""
)
"""Anything that a browser would fetch from another machine."""
MOST_PICTURE_BYTES = 1_500_000


class Near(doctest.OutputChecker):
    """Numbers may differ a little between library versions, which decode JPEG differently."""

    def check_output(self, want: str, got: str, optionflags: int) -> bool:
        return super().check_output(want, got, optionflags) or alike(want, got)


@pytest.fixture(scope="module")
def home(measured_sample, tmp_path_factory):
    """A folder in which the sample lies as it does in the project, measured already."""
    folder = tmp_path_factory.mktemp("home")
    shutil.copytree(measured_sample, folder / SAMPLE)
    return folder


def prose(path: Path) -> str:
    """Return a page without its code blocks and code spans, in which nothing is a link."""
    text = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    return re.sub(r"`[^`\n]*`", "", text)


def anchors(path: Path) -> set[str]:
    """Return the anchors of a page's headings, as Markdown renderers make them."""
    text = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    heads = re.findall(r"^#+ +(.+?) *$", text, flags=re.MULTILINE)
    return {re.sub(r"[-\s]+", "-", re.sub(r"[^\w\s-]", "", head).strip().lower()) for head in heads}


@pytest.mark.parametrize("page", BLOCKS)
def test_generated_tables_are_up_to_date(page):
    assert (ROOT / page).read_text(encoding="utf-8") == generated(page), "run tests/docs/generate_docs.py"


def test_measured_figures_stand_beside_their_command():
    text = (DOCS / "how-it-works.md").read_text(encoding="utf-8")
    for name, words in BENCHMARKS.items():
        figures = block_of(text, name)
        assert f"$ python tests/benchmarks/{words}" in figures, "run tests/docs/generate_docs.py --measure"
        assert len(figures.splitlines()) > 5, name


@pytest.mark.parametrize(("share", "read"), [(0.02, 43), (0.98, 57)])
def test_what_a_threshold_per_photo_does(share, read):
    """As docs/how-it-works.md says: two normal classes four standard deviations apart, split by Otsu's method."""
    level = np.linspace(-6, 10, 1601)
    bell = np.exp(-0.5 * level**2), np.exp(-0.5 * (level - 4) ** 2)
    histogram = (1 - share) * bell[0] + share * bell[1]
    above = level > threshold_otsu(hist=(histogram, level))
    assert round(100 * histogram[above].sum() / histogram.sum()) == read


def test_the_readme_shows_what_the_terminal_shows(home):
    shown = block_of((ROOT / "README.md").read_text(encoding="utf-8"), "transcript")
    assert alike(shown, transcript(home)), "run tests/docs/generate_docs.py"
    assert str(home) not in shown and len(shown.splitlines()) > 10


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("97 % ▁▂▃ on 2 July", "96 % ▁▁▃ on 3 July", True),
        ("97 % on 2 July", "92 % on 2 July", False),
        ("97 % on 2 July", "97 % by 2 July", False),
        ("97 %", "97 % 3", False),
    ],
)
def test_outputs_are_compared_with_little_slack(one, other, same):
    assert alike(one, other) is same


def test_every_command_and_option_is_documented(run):
    """What `--help` prints is what docs/commands.md says, no more and no less."""
    text = (DOCS / "commands.md").read_text(encoding="utf-8")
    listed = re.findall(r"^ {2}([a-z]+) ", run("--help").out.partition("Commands:")[2], flags=re.MULTILINE)
    parts = dict(re.findall(r"^### (\w+)\n(.*?)(?=^### |\Z)", text, flags=re.DOTALL | re.MULTILINE))
    assert sorted(parts) == sorted(listed)
    for name in ("relevel", "add", "page"):
        helped = set(re.findall(r"^ +(?:-\w, )?(--[a-z0-9-]+)", run(name, "--help").out, flags=re.MULTILINE))
        assert helped - {"--help"} <= set(re.findall(r"`(--[a-z0-9-]+)", parts[name])), name


def test_commands_named_in_the_documents_exist(run):
    """Every `swardmark NAME` in a code span or block is a command."""
    known = set(
        re.findall(r"^### (\w+)$", (DOCS / "commands.md").read_text(encoding="utf-8"), flags=re.MULTILINE)
    )
    for path in pages():
        code = re.findall(
            r"```(?:sh|text)\n.*?```|`[^`\n]+`", path.read_text(encoding="utf-8"), flags=re.DOTALL
        )
        named = {name for part in code for name in re.findall(r"(?:^|[\n`/ ])swardmark ([a-z]+)\b", part)}
        assert named <= known, path.name


@pytest.mark.parametrize("path", pages(), ids=lambda path: path.name)
def test_links_lead_somewhere(path):
    for link in LINK.findall(prose(path)):
        if link.startswith(("http://", "https://")):
            continue
        file, _, anchor = link.partition("#")
        target = (path.parent / file).resolve() if file else path
        assert target.exists(), link
        assert target.is_relative_to(ROOT), link
        if anchor:
            assert anchor in anchors(target), link


def test_every_page_is_in_the_sites_menu():
    menu = (ROOT / ".mkdocs.yml").read_text(encoding="utf-8").partition("\nnav:")[2]
    assert set(re.findall(r"[\w-]+\.md", menu)) == {path.name for path in DOCS.glob("*.md")}


def test_pictures_are_small_and_all_shown():
    pictures = list((DOCS / "pictures").iterdir())
    assert sum(path.stat().st_size for path in pictures) < MOST_PICTURE_BYTES
    shown = "".join(path.read_text(encoding="utf-8") for path in DOCS.glob("*.md"))
    assert [path.name for path in pictures if f"(pictures/{path.name})" not in shown] == []


def test_the_python_examples_run(home, monkeypatch):
    monkeypatch.chdir(home)
    text = (DOCS / "python.md").read_text(encoding="utf-8")
    test = doctest.DocTestParser().get_doctest(text, {}, "python.md", "docs/python.md", 0)
    assert len(test.examples) > 20
    heard: list[str] = []
    result = doctest.DocTestRunner(checker=Near()).run(test, out=heard.append)
    assert result.failed == 0, "".join(heard)


def test_the_python_page_lists_the_public_names():
    import swardmark

    listed = (DOCS / "python.md").read_text(encoding="utf-8").partition("## All public names")[2]
    assert set(swardmark.__all__) <= set(re.findall(r"`(\w+)`", listed))


def test_the_transcript_fits_a_page():
    """Sentences wrap at the terminal's width; only the table may be wider."""
    shown = block_of((ROOT / "README.md").read_text(encoding="utf-8"), "transcript")
    wide = [line for line in shown.splitlines() if len(line) > WIDTH]
    assert len(wide) <= 6


def test_the_site_builds_without_a_warning(tmp_path):
    """As `pip install -e '.[docs]'` and `mkdocs build --strict`; no page loads anything from outside."""
    site = tmp_path / "site"
    command = [
        sys.executable,
        "-m",
        "mkdocs",
        "build",
        "--strict",
        "--quiet",
        "-f",
        ".mkdocs.yml",
        "-d",
        str(site),
    ]
    settings = os.environ | {"PYTHONWARNINGS": "ignore", "NO_MKDOCS_2_WARNING": "1"}
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, env=settings, timeout=120)
    assert done.returncode == 0, done.stderr
    for page in site.rglob("*.html"):
        assert not LOADS.search(page.read_text(encoding="utf-8")), page.name
