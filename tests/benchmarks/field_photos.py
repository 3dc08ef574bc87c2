"""Cover of photos taken straight down, against real grounds, real turf, and any folder of photos with masks.

    python tests/benchmarks/field_photos.py
    python tests/benchmarks/field_photos.py --photos DIR

With --photos the photos of DIR are scored against their masks (masked_photos.py says what the folder holds), each by
itself and as one series; nothing is fetched.

Else the photos come out of Debian packages (`apt-get download`, about 4 GB; `--folder` keeps them for the next run):
textures of games and of an office suite that are photographs of sand, soil, gravel, straw and turf, looked at one by
one (field_photo_list.toml). The constants of swardmark.canopy were chosen on the package marked "chosen on".

Five sets of each: bare grounds (truth 0), full turf (truth 100), both as they are; the same again through a drawn phone
camera; turf laid over ground in the shape of blades and patches, so that the truth is known to the pixel; and series of
seven such photos of one ground and one turf, read by one scale. The drawn camera changes exposure, white balance,
saturation and sharpness, lays hard blue shadows, adds noise and writes JPEG. Beside it, as a yardstick: excess green
with Otsu's value in 0.06..0.12, else 0.10.
"""

from __future__ import annotations

import argparse
import io
import subprocess
import tempfile
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from itertools import chain
from pathlib import Path

import cv2
import numpy as np
from masked_photos import covers_of_series, score_folder
from PIL import Image
from skimage.filters import threshold_otsu

from swardmark.canopy.cover import Cover
from swardmark.canopy.index import DARKEST_READABLE, GroundMap, excess_green
from swardmark.canopy.straight import cover_straight_down, straight_values

SIDE = 512
SHARES = (0.03, 0.10, 0.20, 0.35, 0.50, 0.65, 0.80, 0.90)
LIST = Path(__file__).with_name("field_photo_list.toml")
Photo = np.ndarray


def main() -> None:
    """Fetch what is missing, score all sets, print one line for each."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--folder", type=Path, help="where the packages are kept; else a temporary folder")
    options.add_argument("--packages", nargs="*", help="only these")
    options.add_argument("--composites", type=int, default=90, help="composites of each half")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--photos", type=Path, help="score this folder of photos with masks instead")
    chosen = options.parse_args()
    if chosen.photos:
        score_folder(chosen.photos)
        return
    with tempfile.TemporaryDirectory() as spare:
        folder = chosen.folder or Path(spare)
        folder.mkdir(parents=True, exist_ok=True)
        listed = tomllib.loads(LIST.read_text())
        wanted = {name: listed[name] for name in chosen.packages or listed}
        print(f"{'photos':11s} {'set':20s} {'number':>6s}  swardmark                    excess green")
        for use in ("chosen on", "checked on"):
            grounds, turfs = [], []
            for name, entry in wanted.items():
                if entry["use"] == use:
                    grounds += photos(folder, name, entry, "bare")
                    turfs += photos(folder, name, entry, "full")
            if grounds and turfs:
                score_half(use, grounds, turfs, chosen.composites, np.random.default_rng(chosen.seed))


def photos(folder: Path, package: str, entry: dict, kind: str) -> list[Photo]:
    """Return the package's photos of one kind, at most 768 pixels square from the middle."""
    root = folder / package
    if not root.is_dir():
        subprocess.run(["apt-get", "download", package], cwd=folder, check=True, capture_output=True)
        subprocess.run(["dpkg-deb", "-x", next(folder.glob(f"{package}_*.deb")), root], check=True)
    found = []
    archive = zipfile.ZipFile(root / entry["archive"]) if entry["archive"] else None
    for name in entry[kind]:
        member = entry["root"] + name + entry["suffix"]
        data = archive.read(member) if archive else (root / member).read_bytes()
        found.append(middle(np.asarray(Image.open(io.BytesIO(data)).convert("RGB"))))
    return found


def middle(photo: Photo, side: int = 768) -> Photo:
    """Return the middle square."""
    side = min(side, *photo.shape[:2])
    top, left = (photo.shape[0] - side) // 2, (photo.shape[1] - side) // 2
    return photo[top : top + side, left : left + side]


def score_half(use: str, grounds: list[Photo], turfs: list[Photo], number: int, rng) -> None:
    """Print the lines of one half of the photos."""
    show(use, "bare as they are", [(photo, 0.0) for photo in grounds])
    show(use, "full as they are", [(photo, 100.0) for photo in turfs])
    show(use, "bare, phone", [(camera(light_of(piece(p, rng)), rng), 0.0) for p in grounds])
    show(use, "full, phone", [(camera(light_of(piece(p, rng)), rng), 100.0) for p in turfs * 3])
    show(use, "turf laid on ground", list(composites(grounds, turfs, number, rng)))
    laid = [list(composites([pick(grounds, rng)], [pick(turfs, rng)], 7, rng)) for _ in range(number // 6)]
    covers = [covers_of_series([GroundMap(straight_values(p), 0, 0, 0.001) for p, _ in one]) for one in laid]
    show(use, "the same, as series", list(chain(*laid)), list(chain(*covers)))


def pick(photos: list[Photo], rng) -> Photo:
    """Return one of them at random."""
    return photos[rng.integers(len(photos))]


def show(use: str, name: str, cases: list[tuple[Photo, float]], covers: list[Cover] | None = None) -> None:
    """Print one line: error of this package and of the yardstick, and how often the interval holds the truth."""
    ours = covers or [cover_straight_down(photo) for photo, _ in cases]
    truth = np.array([value for _, value in cases])
    text = figures(np.array([cover.cover_pct for cover in ours]), truth)
    other = figures(np.array([plain_cover(photo) for photo, _ in cases]), truth)
    held = np.mean([c.low_pct <= value <= c.high_pct for c, value in zip(ours, truth, strict=True)])
    width = np.mean([c.high_pct - c.low_pct for c in ours])
    print(
        f"{use:11s} {name:20s} {len(cases):6d}  {text} | {other} | 95 %: {100 * held:3.0f} % wide {width:4.1f}"
    )


def figures(read: np.ndarray, truth: np.ndarray) -> str:
    """Return mean absolute error, bias and 95th percentile; for bare and full photos, how many miss 2 or 97 %."""
    error = read - truth
    missed = int(((truth == 0) & (read > 2)).sum() + ((truth == 100) & (read < 97)).sum())
    tail = (
        f"missed {missed:3d}" if set(truth) <= {0.0, 100.0} else f"p95 {np.quantile(abs(error), 0.95):6.1f}"
    )
    return f"MAE {abs(error).mean():5.2f} bias {error.mean():+6.2f} {tail}"


def plain_cover(photo: Photo) -> float:
    """Return the yardstick's cover: damped excess green, Otsu's value in 0.06..0.12, else 0.10."""
    index = excess_green(photo)[photo.max(axis=2) >= DARKEST_READABLE]
    value = threshold_otsu(index) if np.ptp(index) > 0 else 0
    return 100 * float((index > (value if 0.06 <= value <= 0.12 else 0.10)).mean())


def piece(photo: Photo, rng) -> Photo:
    """Return a random square of SIDE; small photos are mirrored until they are large enough."""
    while min(photo.shape[:2]) < SIDE:
        wide = np.concatenate([photo, photo[:, ::-1]], axis=1)
        photo = np.concatenate([wide, wide[::-1]])
    top, left = rng.integers(0, photo.shape[0] - SIDE + 1), rng.integers(0, photo.shape[1] - SIDE + 1)
    return photo[top : top + SIDE, left : left + SIDE]


def light_of(photo: Photo) -> np.ndarray:
    """Return linear light 0..1 by a power of 2.2."""
    return (photo / 255.0) ** 2.2


def composites(grounds: list[Photo], turfs: list[Photo], number: int, rng) -> Iterator[tuple[Photo, float]]:
    """Lay turf over ground through masks of known share; the turf throws a soft shadow."""
    draw: tuple[Callable, ...] = (patches, blades, blades)
    for k in range(number):
        turf = light_of(piece(turfs[k % len(turfs)], rng))
        ground = light_of(piece(grounds[rng.integers(len(grounds))], rng))
        mask = draw[k % 3](float(rng.choice(SHARES)), rng)
        mask = cv2.resize(mask, (SIDE, SIDE), interpolation=cv2.INTER_AREA) / 255.0
        shadow = cv2.GaussianBlur(np.roll(mask, rng.integers(-6, 7, 2), (0, 1)), (0, 0), 2)
        ground = ground * (1 - rng.choice([0, 0.4, 0.75]) * shadow)[..., None]
        yield (
            camera(mask[..., None] * turf + (1 - mask[..., None]) * ground, rng),
            100 * float(mask.mean()),
        )


def blades(share: float, rng) -> np.ndarray:
    """Draw curved tapering blades, scattered or in tufts, until they cover the share; uint8 at twice the size."""
    size = 2 * SIDE
    mask = np.zeros((size, size), np.uint8)
    tufts = rng.uniform(0, size, (rng.integers(4, 40), 2))
    scattered = rng.choice([0.15, 1.0])
    while (mask > 0).mean() < share:
        for _ in range(20):
            near = tufts[rng.integers(len(tufts))] + rng.normal(0, 70, 2)
            root = rng.uniform(0, size, 2) if rng.uniform() < scattered else near
            length, width = rng.uniform(60, 260), rng.uniform(6, 16)
            along = np.linspace(0, 1, 12)
            turn = rng.uniform(0, 2 * np.pi) + rng.normal(0, 0.8) * along
            line = root + np.cumsum(np.stack([np.cos(turn), np.sin(turn)], axis=1) * length / 12, axis=0)
            side = np.stack([-np.sin(turn), np.cos(turn)], axis=1) * (width * (1 - along) ** 0.7)[:, None]
            cv2.fillPoly(
                mask, [np.rint(np.concatenate([line + side, (line - side)[::-1]])).astype(np.int32)], 255
            )
    return mask


def patches(share: float, rng) -> np.ndarray:
    """Draw random patches that cover the share, fine or coarse; uint8 at twice the size."""
    field = cv2.GaussianBlur(rng.normal(size=(2 * SIDE, 2 * SIDE)), (0, 0), float(rng.choice([6, 14, 30])))
    return (255 * (field > np.quantile(field, 1 - share))).astype(np.uint8)


def camera(light: np.ndarray, rng) -> Photo:
    """Draw what a phone makes of the light: shadow, exposure, balance, saturation, blur, noise, JPEG."""
    if rng.uniform() < 0.4:
        field = cv2.GaussianBlur(rng.normal(size=light.shape[:2]), (0, 0), 60)
        shade = (field > np.quantile(field, rng.uniform(0.2, 0.8))).astype(float)
        shade = cv2.GaussianBlur(shade, (0, 0), float(rng.choice([1, 6])))[..., None]
        light = light * (1 - shade * (1 - np.array([0.20, 0.26, 0.36]) * rng.uniform(0.7, 1.6)))
    warmth = rng.normal(0.02, 0.12)
    gains = np.exp([0.6 * warmth, rng.normal(0, 0.03), -warmth])
    light = light * gains * 2 ** rng.uniform(-1.2, 0.6)
    gray = light.mean(axis=2, keepdims=True)
    light = gray + (light - gray) * rng.uniform(0.75, 1.15)
    blur = float(rng.choice([0, 0, 0.6, 1.0]))
    light = cv2.GaussianBlur(light, (0, 0), blur) if blur else light
    coded = 255 * np.clip(light, 0, None) ** (1 / 2.2) + rng.normal(0, rng.choice([0.5, 2, 5]), light.shape)
    file = io.BytesIO()
    quality = int(rng.choice([60, 78, 90, 95]))
    Image.fromarray(np.clip(np.rint(coded), 0, 255).astype(np.uint8)).save(file, "JPEG", quality=quality)
    return np.asarray(Image.open(file))


if __name__ == "__main__":
    main()
