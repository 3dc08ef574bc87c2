"""report.html: one file that holds everything, works without a network, and says the verdict first.

Values are gathered by content.py and scenes.py, laid out by templates/report.html.j2 with autoescape, and written in
one step. A content security policy inside the file forbids the browser to fetch anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from swardmark.common.errors import check_argument, check_path
from swardmark.common.files import write_whole
from swardmark.drawing import sentences
from swardmark.drawing.figures import Drawn
from swardmark.drawing.palette import load_plotting
from swardmark.drawing.pictures import FolderPhotos, PhotoSource
from swardmark.drawing.scenes import Scene, scenes
from swardmark.report import content, first_screen
from swardmark.season import Season
from swardmark.words.tables import season_tables

T = TypeVar("T")

REPORT_FILE = "report.html"
PICTURE_THREADS = 2
TEMPLATES = Path(__file__).parent / "templates"


def write_report(
    season: Season, *, folder: Path | str, photos: PhotoSource | None = None, drawn: Drawn | None = None
) -> Path:
    """Write report.html into a folder, in one step, and return its path.

    Parameters
    ----------
    season : Season
        The season as it stands.
    folder : Path or str
        Where to write, such as the lawn's out/.
    photos : PhotoSource, optional
        Where pixels come from; by default the photos of the lawn's folder are read again. A photo that cannot be had
        leaves a line of text in its place.
    drawn : Drawn, optional
        Figures that were drawn already.
    """
    check_argument(season, Season, name="season", where="write_report", remedy="Give what season_of returns")
    check_path(folder, name="folder", where="write_report")
    source = photos if photos is not None else FolderPhotos(season.lawn.folder)
    return write_whole(Path(folder) / REPORT_FILE, render_report(season, photos=source, drawn=drawn))


def render_report(season: Season, *, photos: PhotoSource, drawn: Drawn | None = None) -> str:
    """Return the report as HTML text; its pictures are made on a thread beside its figures."""
    drawn = drawn or Drawn()
    with beside_figures(season) as beside:
        pictures = beside.begin(partial(scenes, season, photos, drawn=drawn))
        beside.planned()
        tables = season_tables(season)
        return rendered(season, drawn=drawn, pictures=pictures.result, tables=tables)


def rendered(
    season: Season, *, drawn: Drawn, pictures: Callable[[], tuple[Scene, ...]], tables: Mapping[str, str]
) -> str:
    """Return the report as HTML text, which holds the tables; `pictures` are asked for last."""
    parts = {
        "lawn": season.lawn,
        "head": content.head(season),
        "verdict": first_screen.verdict(season),
        "today": first_screen.today(season),
        "next": content.what_next(season),
        "curves": content.curves(season, drawn),
        "status": content.status(season),
        "level": content.level(season, drawn),
        "relief": content.relief(season),
        "relevel": content.relevel(season, drawn),
        "sure": content.how_sure(season, drawn),
        "files": content.files(season, tables),
        "say": sentences,
    }
    return render("report.html.j2", {**parts, "scenes": pictures()})


@contextmanager
def beside_figures(season: Season) -> Iterator[Beside]:
    """Begin threads for pictures, the first of which makes the plan that figures and pictures show.

    Libraries that several threads want are loaded before there are several.
    """
    import cv2
    import matplotlib.font_manager
    import PIL.Image
    import shapely

    _ = cv2, matplotlib.font_manager, PIL.Image, shapely
    with ThreadPoolExecutor(PICTURE_THREADS) as threads:
        beside = Beside(season, threads)
        load_plotting()
        yield beside


class Beside:
    """Threads beside that which draws figures."""

    def __init__(self, season: Season, threads: ThreadPoolExecutor) -> None:
        self._threads = threads
        self._plan = threads.submit(
            lambda: (season.is_planned and season.searches, season.relevel, season.level)
        )

    def planned(self) -> None:
        """Wait for the plan."""
        self._plan.result()

    def begin(self, make: Callable[[], T]) -> Future[T]:
        """Begin something that the plan is needed for."""

        def made() -> T:
            self.planned()
            return make()

        return self._threads.submit(made)


def render(name: str, values: Mapping[str, Any], *, templates: Path = TEMPLATES) -> str:
    """Return a template of a room filled with values, everything escaped."""
    import jinja2
    from markupsafe import Markup

    house = jinja2.Environment(
        loader=jinja2.FileSystemLoader(templates),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    plain = {
        kind: Markup((TEMPLATES / f"report.{kind}").read_text(encoding="utf-8")) for kind in ("css", "js")
    }
    return house.get_template(name).render(**values, **plain)
