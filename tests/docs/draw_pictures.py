"""Draw the pictures of the documents anew from the sample lawn.

    python tests/docs/draw_pictures.py

Everything but the report's screenshot comes from swardmark's own functions; the screenshot is taken by Chromium, and is
left as it is where that is missing.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import tempfile
from pathlib import Path

import cv2
import numpy as np
from matplotlib.figure import Figure

from swardmark import write_report
from swardmark.common.files import write_whole
from swardmark.drawing.bare import outlines_of
from swardmark.drawing.figures import cover_curves, figure_bytes
from swardmark.drawing.ground_view import (
    common_window,
    draw_outlines,
    look_down,
    on_picture,
    reduced,
)
from swardmark.drawing.level_map import level_map
from swardmark.drawing.maps import relevel_map
from swardmark.drawing.palette import BARE_DARK, BLUE, INK, QUIET, drawing_style
from swardmark.drawing.palette import SAND as SAND_TONE
from swardmark.drawing.pictures import FolderPhotos, encode
from swardmark.drawing.relief_map import relief_map
from swardmark.lawn.toml import read_lawn
from swardmark.measure.covers import measure_covers
from swardmark.relief.folder import relief_of
from swardmark.season import Season, season_of
from swardmark.sheets.carry_sheet import write_carry_sheet
from swardmark.sheets.howto import draw_photo_page
from swardmark.sheets.pegs import write_pegs

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "docs" / "pictures"
SAMPLE = ROOT / "sample_images" / "tern_cottage"
SAND = ROOT / "sample_images" / "tern_cottage_sand"
GAP = 8
LETTERING = cv2.FONT_HERSHEY_SIMPLEX


def beside(pictures: list[np.ndarray]) -> np.ndarray:
    """Lay pictures of one height side by side, with white between them."""
    gap = np.full((pictures[0].shape[0], GAP, 3), 255, np.uint8)
    parts = [part for picture in pictures for part in (gap, picture)]
    return np.concatenate(parts[1:], axis=1)


def of_height(picture: np.ndarray, rows: int) -> np.ndarray:
    """Return a picture scaled to so many rows."""
    cols = round(picture.shape[1] * rows / picture.shape[0])
    return cv2.resize(picture, (cols, rows), interpolation=cv2.INTER_AREA)


def series(season: Season, photos: FolderPhotos) -> np.ndarray:
    """Four photos of the season in two rows, their day written in the corner."""
    (point,) = season.points
    wanted = {c.photo: c.day for c in season.covers if c.day in (0, 9, 16, 28)}
    shown = []
    for entry in point.entries:
        if entry.name in wanted:
            picture = of_height(photos.picture(entry, longest_px=1600), 330)
            write_on(picture, f"day {wanted[entry.name]}", (10, 318), 0.8)
            shown.append(picture)
    rows = [beside(shown[:2]), beside(shown[2:])]
    return np.concatenate([rows[0], np.full((GAP, rows[0].shape[1], 3), 255, np.uint8), rows[1]])


def square(season: Season, photos: FolderPhotos) -> np.ndarray:
    """One photo with the square's sides and the numbers of its corners."""
    entry = season.points[0].entries[2]
    picture = photos.picture(entry, longest_px=900)
    to_picture = reduced(entry.facts.to_photo, entry.facts.size, (picture.shape[1], picture.shape[0]))
    side = season.points[0].side_m
    corners = np.array([[0, 0], [side, 0], [side, side], [0, side]])
    (ring,) = on_picture([corners], to_picture)
    picture = draw_outlines(picture, [ring])
    outward = np.array([[-42, 20], [22, 20], [22, 0], [-42, 0]])
    for number, place in enumerate((ring + outward).round().astype(int)):
        write_on(picture, str(number), tuple(place), 1.0)
    return picture


def bare(season: Season, photos: FolderPhotos) -> np.ndarray:
    """The newest photo beside its ground view, bare ground outlined in both."""
    (point,) = season.points
    entry = point.entries[-1]
    outlines = outlines_of(season, point, len(point.entries) - 1)
    picture = photos.picture(entry, longest_px=760)
    to_picture = reduced(entry.facts.to_photo, entry.facts.size, (picture.shape[1], picture.shape[0]))
    window = common_window(point.maps, longest_px=570)
    full = photos.picture(entry, longest_px=1600)
    laid = look_down(full, entry.facts.to_photo, entry.facts.size, window)
    views = [
        draw_outlines(picture, on_picture(outlines, to_picture)),
        draw_outlines(laid, on_picture(outlines, window.to_picture)),
    ]
    return beside([of_height(view, 430) for view in views])


def write_on(picture: np.ndarray, text: str, place: tuple[int, int], size: float) -> None:
    """Write on a picture, dark on a light plate, to be read on sand and on leaf."""
    (width, height), below = cv2.getTextSize(text, LETTERING, size, 2)
    x, y = place
    cv2.rectangle(picture, (x - 6, y - height - 6), (x + width + 6, y + below), (255, 255, 255), cv2.FILLED)
    cv2.putText(picture, text, place, LETTERING, size, (20, 30, 60), 2, cv2.LINE_AA)


def howto() -> bytes:
    """The drawings of the printed page on how to take the photo, as PNG."""
    from matplotlib.transforms import Bbox

    with drawing_style():
        figure = Figure(figsize=(210 / 25.4, 297 / 25.4), facecolor="white")
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, 210), ylim=(0, 297), aspect="equal")
        axes.axis("off")
        draw_photo_page(axes, mark_mm=120.0, side_m=1.0)
        out = io.BytesIO()
        figure.savefig(out, format="png", dpi=110, bbox_inches=Bbox([[0.5, 4.8], [7.5, 10.4]]))
    return out.getvalue()


def sand_map() -> bytes:
    """The map of the second sample lawn's sand, as PNG."""
    with tempfile.TemporaryDirectory() as place:
        lawn = Path(place) / "lawn"
        shutil.copytree(SAND, lawn)
        (reading,) = relief_of(read_lawn(lawn)).sand
    return figure_bytes(relief_map(reading.relief), "png")


def string_side_view() -> bytes:
    """A string over ground from the side: what is read at each place of the grid, as PNG."""
    x = np.linspace(0, 6, 400)
    ground = (
        -28 * np.exp(-(((x - 2.4) / 0.7) ** 2))
        + 9 * np.exp(-(((x - 4.6) / 0.5) ** 2))
        + 2 * np.sin(3 * x)
        - 3 * x
    )
    places = np.arange(0.375, 6, 0.75)
    with drawing_style():
        figure = Figure(figsize=(6.4, 2.5), facecolor="white", layout="constrained")
        axes = figure.add_subplot()
        axes.fill_between(x, ground, -70, color=SAND_TONE, alpha=0.45, lw=0)
        axes.plot(x, ground, color=BARE_DARK, lw=1.4)
        axes.plot([-0.1, 6.1], [25, 25], color=BLUE, lw=1.6)
        for end in (-0.1, 6.1):
            axes.plot([end, end], [-60, 32], color=INK, lw=3, solid_capstyle="butt")
        for place in places:
            low = float(np.interp(place, x, ground))
            axes.annotate(
                "", (place, low), (place, 25), arrowprops={"arrowstyle": "->", "color": INK, "lw": 0.9}
            )
            axes.text(place + 0.05, 4, f"{25 - low:.0f}", fontsize=8, color=INK)
        axes.text(
            3.0, 30, "string, set level; read down to the soil in mm", fontsize=8, ha="center", color=BLUE
        )
        axes.annotate(
            "", (places[2], -52), (places[3], -52), arrowprops={"arrowstyle": "<->", "color": QUIET}
        )
        axes.text(float(places[2:4].mean()), -64, "0.75 m (2 1/2 ft)", fontsize=8, ha="center", color=QUIET)
        axes.set(xlim=(-0.2, 6.2), ylim=(-70, 40))
        axes.axis("off")
        return figure_bytes(figure, "png")


def printed(pdf: Path, page: int) -> np.ndarray:
    """One page of a PDF as a picture (poppler)."""
    args = ["pdftoppm", "-r", "80", "-png", "-f", str(page), "-l", str(page), str(pdf)]
    raw = subprocess.run(args, check=True, capture_output=True).stdout
    return cv2.imdecode(np.frombuffer(raw, np.uint8), cv2.IMREAD_COLOR)[..., ::-1]


def report(season: Season, folder: Path) -> np.ndarray | None:
    """Photograph the top of the report in Chromium; None where there is none."""
    chromium = shutil.which("chromium")
    if chromium is None:
        return None
    page = write_report(season, folder=folder)
    shot = folder / "shot.png"
    flags = ["--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--window-size=900,860"]
    command = [chromium, *flags, f"--screenshot={shot}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    return cv2.imdecode(np.frombuffer(shot.read_bytes(), np.uint8), cv2.IMREAD_COLOR)[..., ::-1]


def main() -> None:
    """Draw them all."""
    with tempfile.TemporaryDirectory() as home:
        folder = Path(home) / "tern_cottage"
        shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
        season = season_of(measure_covers(folder))
        photos = FolderPhotos(folder)
        write_whole(PICTURES / "series.webp", encode(series(season, photos), most_bytes=160_000))
        write_whole(PICTURES / "square.webp", encode(square(season, photos), most_bytes=120_000))
        write_whole(PICTURES / "bare.webp", encode(bare(season, photos), most_bytes=160_000))
        write_whole(PICTURES / "curves.png", figure_bytes(cover_curves(season), "png"))
        write_whole(PICTURES / "relevel.png", figure_bytes(relevel_map(season), "png"))
        write_whole(PICTURES / "howto.png", howto())
        write_whole(PICTURES / "sand-map.png", sand_map())
        write_whole(PICTURES / "string.png", string_side_view())
        write_whole(PICTURES / "level-map.png", figure_bytes(level_map(season.level.maps[0]), "png"))
        carried = write_carry_sheet(season.level, folder=Path(home))
        write_whole(PICTURES / "carry.webp", encode(printed(carried, 1), most_bytes=90_000))
        pegs = write_pegs(Path(home) / "pegs.pdf")
        write_whole(PICTURES / "pegs.webp", encode(printed(pegs, 1), most_bytes=90_000))
        seen = report(season, Path(home))
        if seen is not None:
            write_whole(PICTURES / "report.webp", encode(seen, most_bytes=120_000))
    for path in sorted(PICTURES.iterdir()):
        print(f"{path.name} {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
