"""Write the generated parts of README.md and docs/ between their markers, or check that they are up to date.

    python tests/docs/generate_docs.py             # write all but the measured figures
    python tests/docs/generate_docs.py --check     # fail if anything would change
    python tests/docs/generate_docs.py --measure   # run the benchmarks and write their figures, too (ten minutes)

A part stands between `<!-- NAME: begin -->` and `<!-- NAME: end -->`; the rest of a page is written by hand. The
examples' output in docs/python.md is refreshed as well. Transcript, examples and figures come from real runs.
"""

from __future__ import annotations

import argparse
import contextlib
import doctest
import io
import os
import pty
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from docs_tables import BLOCKS

ROOT = Path(__file__).parents[2]
SAMPLE = Path("sample_images") / "tern_cottage"
WIDTH = 100
BENCHMARKS = {
    "practice-figures": "practice_lawns.py --seeds 101 102 103 104 105",
    "accuracy-figures": "accuracy.py --scenes 15 --seed 5000",
    "forecast-figures": "forecast.py --lawns 250 --seed 7",
}
SLACK = 2.0
"""Numbers of a transcript may differ by this much between library versions, which decode JPEG differently."""


def pages() -> list[Path]:
    """Return every page of the documents, README.md first."""
    return [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def replaced(text: str, name: str, block: str) -> str:
    """Return a page's text with the block between the markers of a name changed."""
    begin, end = f"<!-- {name}: begin -->", f"<!-- {name}: end -->"
    before, found, rest = text.partition(begin)
    _, closed, after = rest.partition(end)
    if not (found and closed):
        raise ValueError(f"no markers for {name}")
    return f"{before}{begin}\n{block.strip()}\n{end}{after}"


def block_of(text: str, name: str) -> str:
    """Return what stands between the markers of a name."""
    return text.partition(f"<!-- {name}: begin -->")[2].partition(f"<!-- {name}: end -->")[0].strip()


def transcript(home: Path) -> str:
    """Return the terminal's output of the report of the sample lawn, which lies in `home` under its own path."""
    shown = ["swardmark", "report", str(SAMPLE)]
    return f"```text\n$ {' '.join(shown)}\n{_terminal([sys.executable, '-m', *shown], home)}\n```"


def _terminal(words: Sequence[str], home: Path) -> str:
    """Run a command on a terminal of its own and return what it shows there, without colors."""
    screen, side = pty.openpty()
    settings = {"COLUMNS": str(WIDTH), "TERM": "xterm", "NO_COLOR": "1", "PYTHONPATH": str(ROOT / "coverage")}
    with subprocess.Popen(
        words, cwd=home, env=os.environ | settings, stdout=side, stderr=subprocess.PIPE
    ) as run:
        os.close(side)
        seen = b""
        with contextlib.suppress(OSError):
            while data := os.read(screen, 65536):
                seen += data
        os.close(screen)
        said = run.stderr.read().decode() if run.stderr else ""
    if run.returncode:
        raise RuntimeError(said)
    plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", seen.decode().replace("\r\n", "\n"))
    return "\n".join(line.rstrip() for line in plain.strip().splitlines())


def with_fresh_examples(text: str, home: Path) -> str:
    """Return a page with the output of its examples as a run in `home` gives it."""
    parts, names, here = [], {"__name__": "__main__"}, Path.cwd()
    os.chdir(home)
    try:
        for part in doctest.DocTestParser().parse(text):
            if isinstance(part, str):
                parts.append(part)
                continue
            out = io.StringIO()
            with contextlib.redirect_stdout(out):
                exec(compile(part.source, "example", "single"), names)
            first, *more = part.source.splitlines()
            source = [f">>> {first}", *(f"... {line}".rstrip() for line in more)]
            parts.append("\n".join(source) + "\n" + out.getvalue())
    finally:
        os.chdir(here)
    return "".join(parts)


def alike(one: str, other: str) -> bool:
    """Whether two outputs say the same, numbers within `SLACK` and sparklines aside."""
    number = re.compile(r"\d+(?:\.\d+)?")
    plain = [re.sub(r"[\s▁▂▃▄▅▆▇█]+", "", number.sub("#", text)) for text in (one, other)]
    pairs = zip(number.findall(one), number.findall(other), strict=False)
    return plain[0] == plain[1] and all(abs(float(a) - float(b)) <= SLACK for a, b in pairs)


def generated(page: str) -> str:
    """Return a page with its generated tables fresh."""
    text = (ROOT / page).read_text(encoding="utf-8")
    for name, make in BLOCKS[page].items():
        text = replaced(text, name, make())
    return text


def _benchmark(words: str) -> str:
    """Run a benchmark and return its figures, without the seconds it took and what is wanted of it."""
    command = [sys.executable, *(f"tests/benchmarks/{words}".split())]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    lines = [line for line in done.stdout.splitlines() if not re.match(r"\d+ s$| +wanted ", line)]
    figures = "\n".join(re.sub(r"  \(\d+ s\)$", "", line).rstrip() for line in lines)
    return f"```text\n$ python tests/benchmarks/{words}\n{figures}\n```"


def _measure() -> None:
    page = ROOT / "docs/how-it-works.md"
    for name, words in BENCHMARKS.items():
        figures = _benchmark(words)
        page.write_text(replaced(page.read_text(encoding="utf-8"), name, figures), encoding="utf-8")


def main() -> None:
    """Write or check."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--check", action="store_true", help="write nothing, fail if anything would change")
    parser.add_argument("--measure", action="store_true", help="run the benchmarks, too")
    options = parser.parse_args()
    if options.measure and not options.check:
        _measure()
    fresh = {page: generated(page) for page in BLOCKS}
    with tempfile.TemporaryDirectory() as folder:
        leave = shutil.ignore_patterns("record.sqlite*", "out")
        shutil.copytree(ROOT / SAMPLE, Path(folder) / SAMPLE, ignore=leave)
        readme = (ROOT / "README.md").read_text(encoding="utf-8")
        fresh["README.md"] = replaced(readme, "transcript", transcript(Path(folder)))
        examples = (ROOT / "docs/python.md").read_text(encoding="utf-8")
        fresh["docs/python.md"] = with_fresh_examples(examples, Path(folder))
    stale = [page for page, text in fresh.items() if text != (ROOT / page).read_text(encoding="utf-8")]
    if options.check:
        sys.exit(f"out of date: {', '.join(stale)}; run tests/docs/generate_docs.py" if stale else 0)
    for page in stale:
        (ROOT / page).write_text(fresh[page], encoding="utf-8")
        print(f"wrote {page}")


if __name__ == "__main__":
    main()
