"""The page in Firefox: `python tests/benchmarks/page_in_firefox.py [--room DIR]`.

Serves the sample lawn without its last photo, opens the link in Firefox at 390 px, goes to each place, adds the last
photo and waits until the answer has changed. Ends with exit code 1 on an error in the console or a place wider than
the screen. Needs Firefox (`apt install firefox-esr`) and npm, which installs puppeteer-core into DIR; it speaks
WebDriver BiDi (W3C), so that Firefox is the one that keepers have.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_images" / "tern_cottage"
SCRIPT = Path(__file__).with_suffix(".mjs")


def main() -> int:
    """Run the weekly job in Firefox; returns the exit code."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--room", type=Path, help="where puppeteer-core is installed, to be used again")
    room = parser.parse_args().room
    firefox = shutil.which("firefox-esr") or shutil.which("firefox")
    if firefox is None:
        raise SystemExit("Firefox is missing: apt install firefox-esr")
    sys.path.insert(0, str(ROOT / "tests" / "page"))
    from page_serving import serving

    with tempfile.TemporaryDirectory() as temporary:
        tools = room or Path(temporary) / "npm"
        tools.mkdir(parents=True, exist_ok=True)
        if not (tools / "node_modules" / "puppeteer-core").exists():
            subprocess.run(["npm", "install", "--silent", "puppeteer-core@24"], cwd=tools, check=True)
        script = Path(shutil.copy(SCRIPT, tools))
        lawn = Path(shutil.copytree(SAMPLE, Path(temporary) / "lawn"))
        last = sorted((lawn / "photos").glob("*.jpg"))[-1]
        photo = shutil.move(last, Path(temporary) / last.name)
        subprocess.run([sys.executable, "-m", "swardmark", "measure", str(lawn), "--quiet"], check=True)
        with serving(lawn) as page:
            done = subprocess.run(
                ["node", str(script), page.address, str(photo), firefox],
                capture_output=True, text=True, check=True, timeout=180,
            )  # fmt: skip
    seen = json.loads(done.stdout)
    print(f"before: {seen['before']}\nafter:  {seen['after']}")
    print("wider than the screen by px:", seen["places"], "\nerrors in the console:", seen["errors"])
    return int(bool(seen["errors"]) or max(seen["places"].values()) > 0)


if __name__ == "__main__":
    sys.exit(main())
