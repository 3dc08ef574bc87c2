"""How the page does under Lighthouse (npm): `python tests/benchmarks/page_audit.py [--room DIR]`.

Serves the measured sample lawn, and audits each place as a phone sees it: accessibility and best practices, of 100.
Prints every audit that is not passed. Needs npm and Chromium; Lighthouse is installed into DIR (a temporary folder).
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_images" / "tern_cottage"
PLACES = ("today", "photos", "zones", "next", "settings", "share")
CATEGORIES = ("accessibility", "best-practices")
MEASURING_S = 60


def main() -> None:
    """Audit each place and print its scores."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--room", type=Path, help="where Lighthouse is installed, to be used again")
    room = parser.parse_args().room
    sys.path.insert(0, str(ROOT / "tests" / "page"))
    from page_serving import serving

    with tempfile.TemporaryDirectory() as temporary:
        audit = installed(room or Path(temporary) / "npm")
        lawn = Path(shutil.copytree(SAMPLE, Path(temporary) / "lawn"))
        with serving(lawn) as page:
            page.cookie = page.let_in()
            page.ask("GET", "/")
            end = time.monotonic() + MEASURING_S
            while not (lawn / "out" / "cover.csv").exists() and time.monotonic() < end:
                time.sleep(0.5)
            headers = json.dumps({"Cookie": page.cookie})
            for place in PLACES:
                found = run(audit, f"http://127.0.0.1:{page.port}/#{place}", headers, Path(temporary))
                scores = "  ".join(
                    f"{name} {100 * found['categories'][name]['score']:.0f}" for name in CATEGORIES
                )
                print(f"{place:10} {scores}", flush=True)
                for one in found["audits"].values():
                    if one["score"] is not None and one["score"] < 1:
                        print(f"{'':10} not passed: {one['title']}")


def installed(room: Path) -> Path:
    """Install Lighthouse with npm where it is not there yet; returns its script."""
    script = room / "node_modules" / "lighthouse" / "cli" / "index.js"
    if not script.exists():
        room.mkdir(parents=True, exist_ok=True)
        subprocess.run(["npm", "install", "--silent", "lighthouse@12"], cwd=room, check=True)
    return script


def run(script: Path, address: str, headers: str, room: Path) -> dict:
    """Audit one address with the page's pass; returns Lighthouse's own document."""
    out = room / "audit.json"
    subprocess.run(
        ["node", str(script), address, f"--extra-headers={headers}", "--disable-storage-reset", "--quiet",
         f"--only-categories={','.join(CATEGORIES)}", "--output=json", f"--output-path={out}",
         "--chrome-flags=--headless=new --no-sandbox"],
        check=True, timeout=180, env={**os.environ, "CHROME_PATH": str(shutil.which("chromium"))},
    )  # fmt: skip
    return json.loads(out.read_text(encoding="utf-8"))


if __name__ == "__main__":
    main()
