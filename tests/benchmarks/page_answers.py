"""How quickly the page answers while photos are measured: `python tests/benchmarks/page_answers.py [PHOTOS]`.

Takes the sample lawn's photos, enlarges them to 12 megapixels under as many days as are wanted, starts the page on
them, and asks for the page, a thumbnail and a table in turn, with a short rest between, until all are measured.
Prints the median, the 95th percentile and the longest answer of each.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_images" / "tern_cottage"
SIZE = (4000, 3000)
REST_S = 0.05


def main(count: int = 40) -> None:
    """Run the benchmark and print its table."""
    sys.path.insert(0, str(ROOT / "tests" / "page"))
    from page_serving import serving

    with tempfile.TemporaryDirectory() as room:
        lawn = Path(room) / "lawn"
        large_lawn(lawn, count)
        answers: dict[str, list[float]] = {
            "/": [],
            "/picture/thumb/2026-06-03.jpg": [],
            "/take/lawn.toml": [],
        }
        with serving(lawn) as page:
            begun = time.perf_counter()
            page.ask("GET", "/")
            while time.perf_counter() - begun < 900 and not (lawn / "out" / "cover.csv").exists():
                for path, taken in answers.items():
                    start = time.perf_counter()
                    status, _ = page.ask("GET", path)
                    taken.append(time.perf_counter() - start)
                    assert status == 200, (path, status)
                    time.sleep(REST_S)
            whole = time.perf_counter() - begun
            rows = (lawn / "out" / "cover.csv").read_text(encoding="utf-8").splitlines()[1:]
            measured = len({row.split(",")[1] for row in rows})
        size = SIZE[0] * SIZE[1] / 1e6
        print(
            f"{measured} of {count} photos of {size:.0f} megapixels measured in {whole:.1f} s; answers in ms"
        )
        print(f"{'asked for':34} {'times':>6} {'median':>7} {'p95':>7} {'longest':>8}")
        for path, taken in [*answers.items(), ("all", [t for each in answers.values() for t in each])]:
            ms = 1000 * np.array(taken)
            print(f"{path:34} {len(ms):6} {np.median(ms):7.1f} {np.percentile(ms, 95):7.1f} {ms.max():8.1f}")


def large_lawn(folder: Path, count: int) -> None:
    """Make a lawn of 12-megapixel photos, each a little different, under days in June and July."""
    import cv2

    (folder / "photos").mkdir(parents=True)
    shutil.copy(SAMPLE / "lawn.toml", folder)
    sources = sorted((SAMPLE / "photos").iterdir())
    random = np.random.default_rng(1)
    for number in range(count):
        picture = cv2.imread(str(sources[number * len(sources) // count]))
        large = cv2.resize(picture, SIZE, interpolation=cv2.INTER_CUBIC)
        noise = random.integers(0, 6, large.shape, np.uint8)
        day, hour = 3 + number // 2, 9 + 4 * (number % 2)
        name = f"2026-06-{day:02d}.jpg" if number % 2 == 0 else f"2026-06-{day:02d} {hour:02d}-00-00.jpg"
        cv2.imwrite(str(folder / "photos" / name), cv2.add(large, noise), [cv2.IMWRITE_JPEG_QUALITY, 90])


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
