"""The ground view through the dates as one animated picture: aligned, dated, with bare ground outlined."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.errors import UsageError
from swardmark.common.files import write_whole
from swardmark.drawing.figures import Drawn
from swardmark.drawing.ground_view import RGB, common_window, draw_outlines, look_down, on_picture
from swardmark.drawing.palette import FONT, INK, PAPER
from swardmark.drawing.pictures import QUICK, FolderPhotos, PhotoSource
from swardmark.drawing.scenes import LEAST_PX, MOST_THUMBS, READ_PX, date_labels
from swardmark.measure.points import evenly

if TYPE_CHECKING:
    from swardmark.measure.points import PointReview
    from swardmark.season import Season

KINDS = {".webp": "WEBP", ".gif": "GIF"}
FRAME_MS, LAST_MS = 900, 2500
MOST_FRAMES = MOST_THUMBS
"""More would run for longer than anyone looks, and each photo that the strip shows too is read once."""
LONGEST_PX = 640
STRIP_PX = 34
"""Height of the strip below the picture that holds the date."""


def timelapse(
    season: Season,
    path: Path | str,
    *,
    point: str | None = None,
    photos: PhotoSource | None = None,
    drawn: Drawn | None = None,
) -> Path:
    """Write the ground view of all dates as an animated WebP or GIF.

    Parameters
    ----------
    season : Season
        The season as it stands.
    path : Path or str
        Where to write; its ending, .webp or .gif, chooses the kind.
    point : str, optional
        The photo point; the first if absent.
    photos : PhotoSource, optional
        Where pixels come from; the lawn's folder if absent.
    drawn : Drawn, optional
        Outlines that were drawn already.

    Raises
    ------
    UsageError
        The ending is another, there is no such photo point, or none of its photos can be read any more.
    """
    from PIL import Image

    path = Path(path)
    kind = KINDS.get(path.suffix.lower())
    if kind is None:
        raise UsageError("a timelapse is a .webp or a .gif file", where=str(path), remedy="Change its ending")
    source = photos or FolderPhotos(season.lawn.folder)
    frames = _frames(season, _point(season, point), source, drawn or Drawn())
    if not frames:
        raise UsageError("none of the photos can be read any more", where=str(season.lawn.folder / "photos"),
                         remedy="Put them back")  # fmt: skip
    pictures = [Image.fromarray(frame) for frame in frames]
    times = [FRAME_MS] * (len(frames) - 1) + [LAST_MS]
    out = io.BytesIO()
    pictures[0].save(out, kind, save_all=True, append_images=pictures[1:], duration=times, loop=0, quality=60,
                     method=QUICK)  # fmt: skip
    return write_whole(path, out.getvalue())


def _point(season: Season, name: str | None) -> PointReview:
    for point in season.points:
        if name is None or point.name == name:
            return point
    known = ", ".join(point.name for point in season.points)
    raise UsageError(f"no photo point is named '{name}'", where="point", remedy=f"Choose one of: {known}")


def _frames(season: Season, point: PointReview, photos: PhotoSource, drawn: Drawn) -> list[RGB]:
    window = common_window(point.maps, longest_px=LONGEST_PX)
    labels, frames = date_labels(season), []
    for number, entry in evenly(list(enumerate(point.entries)), MOST_FRAMES):
        rgb = photos.picture(entry, longest_px=READ_PX, least_px=LEAST_PX)
        if rgb is not None:
            laid = look_down(rgb, entry.facts.to_photo, entry.facts.size, window)
            rings = on_picture(drawn.outlines(season, point, number), window.to_picture)
            frames.append(captioned(draw_outlines(laid, rings), labels[entry.point, entry.name]))
    return frames


def captioned(picture: RGB, label: str) -> RGB:
    """Return the picture with a strip below it that holds a line of text; the picture itself stays as it is."""
    from matplotlib.font_manager import FontProperties, findfont
    from PIL import Image, ImageDraw, ImageFont

    rows, cols = picture.shape[:2]
    sheet = Image.new("RGB", (cols, rows + STRIP_PX), PAPER)
    sheet.paste(Image.fromarray(picture), (0, 0))
    font = ImageFont.truetype(findfont(FontProperties(family=FONT)), 18)
    ImageDraw.Draw(sheet).text((8, rows + STRIP_PX // 2), label, fill=INK, font=font, anchor="lm")
    return np.asarray(sheet)
