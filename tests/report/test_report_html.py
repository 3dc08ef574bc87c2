"""report.html: its words against a kept text, and what may never be in it."""

from __future__ import annotations

import base64
import datetime as dt
import html
import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
import shapely
from made_season import made_season, renamed
from PIL import Image

from swardmark.canopy.index import GroundMap
from swardmark.drawing.bare import outlines_of
from swardmark.drawing.pictures import FolderPhotos
from swardmark.drawing.scenes import album_of, scenes
from swardmark.measure.lawn_ground import LawnGround
from swardmark.measure.zone_points import ZonePoints
from swardmark.relevel.planning import PointMaps, plan_from_searches, search_seasons
from swardmark.relevel.spots import SpotSearch
from swardmark.report.html import render_report, write_report
from swardmark.report.writing import write_tables
from swardmark.season import FIRST_PLAN_DAY, Season
from swardmark.words.calendar import season_calendar
from swardmark.words.tables import season_tables

GOLD = Path(__file__).parent / "gold" / "report.txt"
NASTY = (
    "<script>alert(1)</script>",
    "quotes \" and ' and &amp; <img src=x onerror=alert(1)>",
    "emoji 🌱🏡 and 芝生",
    "x" * 200,
    "{{ 7 * 7 }} {% raw %} $\\frac{1}{2}$",
    "esc \x1b[31m red \u202e turned",
)


@pytest.fixture(scope="module")
def page(season: Season) -> str:
    return render_report(season, photos=FolderPhotos(season.lawn.folder))


class Words(HTMLParser):
    """The words a reader sees, one line a block; and every address that the page holds."""

    BLOCKS = frozenset({
        "p", "li", "h1", "h2", "h3", "tr", "dt", "dd", "figcaption", "summary", "section", "output", "label",
        "footer", "header",
    })  # fmt: skip
    SILENT = frozenset({"style", "script"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.lines, self.line, self.silent, self.addresses, self.tags = [], "", 0, [], []
        self.feed(text)
        self._end()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.silent += tag in self.SILENT
        self.addresses += [
            value for key, value in attrs if key in ("src", "href", "xlink:href", "action", "srcset")
        ]
        if tag in self.BLOCKS:
            self._end()
        if tag in ("td", "strong", "span"):
            self.line += " | " if tag == "td" else " "
        alt = dict(attrs).get("alt")
        if alt is not None:
            self.lines.append(f"[picture: {alt}]")

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in self.SILENT
        if tag in self.BLOCKS:
            self._end()

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.line += data

    def _end(self) -> None:
        line = " ".join(self.line.split())
        if line:
            self.lines.append(line)
        self.line = ""


def test_the_words_of_the_report_are_as_kept(page: str, season: Season) -> None:
    """Delete the kept file to write it anew, then read what changed."""
    text = "\n".join(Words(page).lines).replace(str(season.lawn.folder), "FOLDER") + "\n"
    if not GOLD.exists():
        GOLD.write_text(text, encoding="utf-8")
        pytest.fail(f"{GOLD} was missing and has been written: read it and run again")
    assert text == GOLD.read_text(encoding="utf-8")


def test_the_verdict_comes_first_then_what_to_do(page: str) -> None:
    places = [page.index(f'<h2 id="{name}') for name in ("verdict", "today", "pictures1", "curves", "sure")]
    assert places == sorted(places)


def test_tables_and_calendar_lie_inside_the_file(page: str, season: Season) -> None:
    """Each is the file that stands beside the report, byte for byte."""
    held = dict(re.findall(r'download="([\w.]+)" href="data:text/[a-z]+;base64,([^"]+)"', page))
    texts = {name: base64.b64decode(data).decode("utf-8") for name, data in held.items()}
    assert texts == {**season_tables(season), "lawn.ics": season_calendar(season)}
    assert texts["outlook.csv"].startswith("point,zone,") and "BEGIN:VCALENDAR" in texts["lawn.ics"]


def test_the_album_shows_days_0_7_14_and_28_or_those_nearest(season: Season) -> None:
    (point,) = season.points
    days = [(entry.taken_at.date() - season.day_zero).days for entry in point.entries]
    assert days == [0, 4, 8, 12]
    assert [days[number] for number in album_of(season, point)] == [0, 8, 12]
    (scene,) = scenes(season, FolderPhotos(season.lawn.folder))
    sizes = {(page.straight.width, page.straight.height) for page in scene.album}
    assert len(scene.album) == 3 and len(sizes) == 1, "one window of ground, one scale"
    assert len({page.taken.width for page in scene.album}) == 1


def test_no_address_leads_out_of_the_file(page: str) -> None:
    addresses = Words(page).addresses
    assert addresses and all(address.startswith("data:") for address in addresses)
    style = "".join(re.findall(r"<style>(.*?)</style>", page, re.S))
    assert "url(" not in style and "@import" not in style
    assert "default-src 'none'" in page


def test_embedded_pictures_hold_pixels_only(page: str) -> None:
    found = re.findall(r'src="data:(image/[\w+]+);base64,([^"]+)"', page)
    assert {kind for kind, _ in found} == {"image/webp", "image/svg+xml", "image/png"}
    for kind, text in found:
        data = base64.b64decode(text)
        if kind != "image/svg+xml":
            with Image.open(io.BytesIO(data)) as picture:
                assert not picture.getexif() and "exif" not in picture.info


def test_the_photo_files_do_hold_a_position(season: Season) -> None:
    """Otherwise the test above would prove nothing."""
    with Image.open(season.lawn.folder / "photos" / "day-0.jpg") as picture:
        assert picture.getexif().get_ifd(0x8825)


def test_ten_noisy_photos_stay_under_3_mb(season: Season) -> None:
    class Noise:
        def picture(self, entry, *, longest_px: int, least_px: int | None = None) -> np.ndarray:
            return np.random.default_rng(len(entry.name)).integers(0, 255, (900, 1200, 3), dtype=np.uint8)

    point = season.points[0]
    more = (point.entries * 3)[:9] + point.entries[-1:]
    named = tuple(replace(entry, name=f"{n}-{entry.name}") for n, entry in enumerate(more))
    wide = replace(
        season, points=(replace(point, entries=named, maps=(point.maps * 3)[:9] + point.maps[-1:]),)
    )
    wide.__dict__["relevel"] = None
    size = len(render_report(wide, photos=Noise()).encode())
    assert size < 3_000_000


def test_a_missing_photo_leaves_words_in_its_place(season: Season, tmp_path: Path) -> None:
    path = write_report(season, folder=tmp_path, photos=FolderPhotos(tmp_path / "nowhere"))
    assert path == tmp_path / "report.html"
    text = path.read_text(encoding="utf-8")
    assert "day-12.jpg is no longer in photos/" in text
    assert not list(tmp_path.glob("*.part"))


def test_bare_ground_lies_over_the_photo_as_lines(season: Season) -> None:
    scene = scenes(season, FolderPhotos(season.lawn.folder))[0]
    assert scene.newest.outlines.startswith("M") and scene.frames[-1].picture.outlines.startswith("M")
    assert [frame.label.split(":")[0] for frame in scene.frames] == [
        "3 June, day 0", "7 June, day 4", "11 June, day 8", "15 June, day 12",
    ]  # fmt: skip


def test_mostly_bare_ground_is_not_outlined(season: Season) -> None:
    """A tenth of it is covered on the first day, 43 % on the last: at first lines would run everywhere."""
    first, *_, last = scenes(season, FolderPhotos(season.lawn.folder))[0].frames
    assert not first.picture.outlines
    assert last.picture.outlines


def test_the_lawn_outline_bounds_what_is_outlined(season: Season) -> None:
    square = ((0.1, 1.3), (0.3, 1.3), (0.3, 1.5), (0.1, 1.5))
    lawn = season.lawn.model_copy(update={"lawn_outline_m": square})
    few = scenes(replace(season, lawn=lawn), FolderPhotos(season.lawn.folder))[0]
    many = scenes(season, FolderPhotos(season.lawn.folder))[0]
    assert len(few.newest.outlines) < len(many.newest.outlines) / 3


def test_what_is_taken_for_a_path_has_no_line(season: Season) -> None:
    """The bare corner is outlined while it counts as lawn, and not where the cover or the plan takes it for a path."""
    point = season.points[0]
    corner = ((1.2, 0.6), (2.0, 0.6), (2.0, 2.0), (1.2, 2.0))
    last = len(point.entries) - 1
    assert touching(outlines_of(season, point, last), corner)
    taken = SpotSearch("main", left_out_m=(corner,))
    planned = replace(season, as_of=season.day_zero + dt.timedelta(days=FIRST_PLAN_DAY))
    planned.__dict__["searches"] = ((taken,),)
    assert not touching(outlines_of(planned, point, last), corner)
    ground_map = point.maps[last]
    inside = ~rasterised(ground_map, corner)
    lawn = LawnGround(ZonePoints(ground_map.row0, ground_map.col0, inside), (), 4.0, 1.1)
    assert not touching(outlines_of(season, replace(point, ground=lawn), last), corner)
    assert outlines_of(season, replace(point, ground=lawn), last)


def rasterised(ground_map: GroundMap, ring: tuple) -> np.ndarray:
    x, y = np.meshgrid(ground_map.x_m, ground_map.y_m)
    return shapely.contains_xy(shapely.Polygon(ring), x, y)


def touching(outlines: list[np.ndarray], ring: tuple) -> bool:
    """Tell whether an outline encloses some of the middle of a ring."""
    middle = shapely.Polygon(ring).buffer(-0.1)
    return any(shapely.Polygon(one).buffer(0).intersection(middle).area > 0.02 for one in outlines)


@pytest.mark.parametrize("name", NASTY)
def test_any_name_survives_harmlessly(season: Season, name: str) -> None:
    odd = renamed(season, zone=name)
    text = render_report(odd, photos=FolderPhotos(season.lawn.folder / "none"))
    words = Words(text)
    assert words.tags.count("script") == 1 and "\x1b" not in text
    assert all(address.startswith("data:") for address in words.addresses)
    assert "49" not in text.split("Zone by zone")[1][:400] if "7 * 7" in name else True
    shown = " ".join("".join(sign if sign.isprintable() else " " for sign in name).split())
    assert html.escape(shown, quote=False)[:40] in text.replace("&#34;", '"').replace("&#39;", "'")


def test_us_units_throughout(tmp_path: Path) -> None:
    season = made_season(tmp_path, units="us", photos=False)
    words = " ".join(Words(render_report(season, photos=FolderPhotos(tmp_path))).lines)
    assert "June 20" in words and "20 June," not in words.replace("The first mow is likely on 20 June,", "")
    assert "sq ft" in words and " m²" not in words
    assert "Mow at 1/2 in" in words or "Mow at 7/8 in" in words


def test_named_patches_are_told(season: Season) -> None:
    point = replace(season.points[0], zones_are_patches=True)
    patched = replace(season, points=(point,))
    patched.__dict__["relevel"] = None
    assert "divided into named patches" in render_report(patched, photos=FolderPhotos("nowhere"))


def test_the_relevel_plan_is_shown_with_its_cautions(season: Season) -> None:
    point = season.points[0]
    place = PointMaps(
        "main", point.maps * 2, tuple(map(float, range(0, 32, 4))), point.threshold, (0.5, -1.2, 1.6)
    )
    grown = [replace(m, values=np.where(m.values > 1, 200, m.values).astype(np.uint8)) for m in point.maps]
    holed = []
    for ground_map in grown:
        inside = np.hypot(ground_map.x_m - 1.6, (ground_map.y_m - 1.6)[:, None]) < 0.35
        values = np.where(inside & (ground_map.values > 1), 77, ground_map.values).astype(np.uint8)
        holed.append(replace(ground_map, values=values))
    (found,) = search_seasons([[replace(place, maps=(*point.maps, *holed))]], season.lawn)
    plan = plan_from_searches(found, season.lawn)
    assert len(plan.spots) == 1, "the drawn hole is the one spot"
    planned = replace(season)
    planned.__dict__["relevel"] = plan
    words = Words(render_report(planned, photos=FolderPhotos("nowhere"))).lines
    text = " ".join(words)
    assert "The next leveling" in text and "spot 1" in text
    assert "Dry sand dust harms the lungs" in text and "call 811" in text
    assert any(line.startswith("[picture: Map of the ground in view with each spot") for line in words)


def test_a_table_that_a_season_does_not_have_is_not_left_from_another_run(season, tmp_path):
    """As `report --as-of` an earlier day, on which there was no plan yet."""
    for name in ("spots.csv", "mine.csv"):
        (tmp_path / name).write_text("of another run")
    assert season.relevel is None
    write_tables(season, folder=tmp_path)
    assert not (tmp_path / "spots.csv").exists()
    assert (tmp_path / "mine.csv").exists()
