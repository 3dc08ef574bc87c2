"""Photos and lawns for the speed benchmark: drawn once at 12 megapixels, then copied under other names and days."""

from __future__ import annotations

import datetime as dt
import io
import re
import shutil
from pathlib import Path

import numpy as np
from PIL import Image

from swardmark.practice.draw import draw_photo
from swardmark.practice.lawn import REST, ZONES
from swardmark.practice.scene import OVERCAST, SUN, Camera, Ground, Scene, Square
from swardmark.practice.sward import sow

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
SIZE = (4000, 3000)
QUALITY = 92
A_DAY = 10
LEVELED = dt.datetime(2026, 6, 3, 8)
MOMENT = "%Y:%m:%d %H:%M:%S"
TAKEN = f"{LEVELED:{MOMENT}}".encode()
"""What the camera wrote into a drawn photo (Exif, DateTimeOriginal); copies get a moment of their own."""


def drawn_photos(folder: Path) -> list[bytes]:
    """Draw two photos of the practice lawn, 6 and 18 days after leveling; those drawn before are read again."""
    for number, (day, light) in enumerate(((6, OVERCAST), (18, SUN))):
        path = folder / f"taken on day {day:02d}.jpg"
        if not path.exists():
            folder.mkdir(parents=True, exist_ok=True)
            camera, ground = Camera(size_px=SIZE), Ground(seed=78)
            sward = sow([REST, *ZONES.values()], camera=camera, ground=ground, seed=78)
            held = camera.shaken(np.random.default_rng(day))
            drawn = draw_photo(sward.on_day(day), Scene(held, Square(), light, ground), seed=number)
            path.write_bytes(encoded(drawn.rgb, focal35_mm=round(held.focal35_mm)))
    return [path.read_bytes() for path in sorted(folder.glob("taken*"))]


def encoded(rgb: np.ndarray, *, focal35_mm: int) -> bytes:
    """Encode as a phone does, with the focal length and the moment."""
    exif, out = Image.Exif(), io.BytesIO()
    exif.get_ifd(0x8769).update({0xA405: focal35_mm, 0x9003: TAKEN.decode()})
    Image.fromarray(rgb).save(out, "JPEG", quality=QUALITY, exif=exif)
    return out.getvalue()


def taken(photo: bytes, when: dt.datetime) -> bytes:
    """Return the photo as if taken at another moment: other bytes, the same pixels, and no copy of the same shot."""
    assert photo.count(TAKEN) == 1
    return photo.replace(TAKEN, f"{when:{MOMENT}}".encode())


def lawn_of(folder: Path, drawn: list[bytes], count: int) -> Path:
    """Make a lawn of so many photos, ten a day."""
    (folder / "photos").mkdir(parents=True)
    shutil.copy(SAMPLE / "lawn.toml", folder)
    for number in range(count):
        day, of_day = divmod(number, A_DAY)
        when = LEVELED + dt.timedelta(days=day, hours=of_day)
        path = folder / "photos" / f"{when:%Y-%m-%d %H-%M-%S}.jpg"
        path.write_bytes(taken(drawn[number % len(drawn)], when))
    return folder


def with_zones(folder: Path, count: int) -> Path:
    """Give a lawn so many zones, squares of 30 cm on a lattice over the measured ground."""
    path = folder / "lawn.toml"
    text = re.split(r"(?m)^\[\[zone", path.read_text(encoding="utf-8"))[0]
    across = int(np.ceil(np.sqrt(count)))
    for number in range(count):
        row, col = divmod(number, across)
        x, y = -0.9 + 2.6 * col / across, 1.1 + 2.0 * row / across
        rim = [
            [round(x, 3), round(y, 3)],
            [round(x + 0.3, 3), round(y, 3)],
            [round(x + 0.3, 3), round(y + 0.3, 3)],
        ]
        rim.append([round(x, 3), round(y + 0.3, 3)])
        text += f'\n[[zone]]\nname = "zone {number + 1}"\noutline_m = {rim}\n'
    path.write_text(text, encoding="utf-8")
    return folder
