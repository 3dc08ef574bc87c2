"""Everything that `swardmark report` writes into the lawn's out folder, in one call."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path

from swardmark.common.writing import write_files
from swardmark.drawing.figures import Drawn, curve_figures, save_figures
from swardmark.drawing.pictures import FolderPhotos, PhotoSource
from swardmark.drawing.scenes import scenes
from swardmark.drawing.timelapse import timelapse
from swardmark.report.html import REPORT_FILE, beside_figures, rendered
from swardmark.season import Season
from swardmark.words.calendar import season_calendar
from swardmark.words.tables import SEASON_TABLES, season_tables


def write_tables(season: Season, *, folder: Path, tables: Mapping[str, str] | None = None) -> list[Path]:
    """Write every table of the season: cover.csv, outlook.csv, spots.csv once there is a plan, the heights' two.

    A table that this season does not have, as one of an earlier day, is not left there from another run. `tables` are
    those of `season_tables`, where they are at hand.
    """
    tables = season_tables(season) if tables is None else tables
    for name in set(SEASON_TABLES) - set(tables):
        (folder / name).unlink(missing_ok=True)
    return write_files({folder / name: text for name, text in tables.items()})


def write_all(
    season: Season, *, folder: Path, figures_only: bool = False, photos: PhotoSource | None = None
) -> list[Path]:
    """Write report.html, tables, figures and calendar; returns the paths, the most wanted first.

    Pictures are made on a thread beside the figures.

    Parameters
    ----------
    season : Season
        What is reported.
    folder : Path
        The lawn's out folder; made if it is not there.
    figures_only : bool
        Write nothing but the figures.
    photos : PhotoSource, optional
        Where pixels come from; by default the photos of the lawn's folder are read again.
    """
    drawn, photos = Drawn(), photos or FolderPhotos(season.lawn.folder)
    place = folder / "figures"
    with beside_figures(season) as beside:
        moving = beside.begin(partial(timelapse, season, place / "ground.webp", photos=photos, drawn=drawn))
        pictures = None if figures_only else beside.begin(partial(scenes, season, photos, drawn=drawn))
        drawn.draw(curve_figures(season))
        beside.planned()
        figures = [*save_figures(season, place, drawn=drawn), moving.result()]
        if pictures is None:
            return figures
        tables = season_tables(season)
        text = rendered(season, drawn=drawn, pictures=pictures.result, tables=tables)
    texts = {folder / REPORT_FILE: text, folder / "lawn.ics": season_calendar(season)}
    page, calendar = write_files(texts)
    return [page, *write_tables(season, folder=folder, tables=tables), calendar, *figures]
