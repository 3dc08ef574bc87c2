"""The sheet that is carried out to the lawn on the day of the sand: how many loads of sand go into each square.

One page for each map of low ground: the lawn in squares with the wheelbarrow loads for each (buckets where the lawn is
small), the low spots with their depth and passes, where to tip the pile, and the cautions of the day. It is read with
sandy hands in the sun: large, black on white, and whole without the screen.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.cautions import DRAINAGE_CAUTION, DUST_CAUTION, LIDS_CAUTION
from swardmark.common.errors import UsageError
from swardmark.common.files import write_whole
from swardmark.common.phrases import date_words, plural
from swardmark.common.units import FOOT_M, LITRE_M3, Units, format_area, format_depth, format_mass
from swardmark.drawing.level_map import LOAD_STEP_M, draw_loads, loads
from swardmark.drawing.palette import BARE_DARK, INK, QUIET, drawing_style, plain_label
from swardmark.level.cutfill import CutFill
from swardmark.level.telling import place_text
from swardmark.relevel.order_words import about_volume, lift_caution
from swardmark.relevel.planning import spot_pass_mm
from swardmark.relevel.sand import BULKING, WET_KG_M3, load_share, passes_for
from swardmark.sheets import sentences as say
from swardmark.sheets.paper import MM_PER_INCH, blank_page, paper_size

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from swardmark.lawn.toml import Lawn
    from swardmark.level.review import LevelReview

FEW_LOADS = 2.0
"""With less than so many barrow loads in every square, buckets are counted."""
MARGIN_MM = 14.0
PILE_ROOM_M = 1.6
MOST_ROWS = 14


@dataclass(frozen=True)
class Carrier:
    """What sand is carried in: its name in the tables of sentences, and what it holds of damp sand, in litres."""

    name: str
    litres: float


def write_carry_sheet(review: LevelReview, *, folder: Path, paper: str = "a4") -> Path:
    """Write carry.pdf, a page for each map with low ground, and return its path.

    Parameters
    ----------
    review : LevelReview
        The measured ground.
    folder : Path
        The lawn's out folder.
    paper : {"a4", "letter"}
        Paper size.

    Raises
    ------
    UsageError
        The paper is unknown, or no low ground was measured.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    size = paper_size(paper)
    maps = [one for one in review.current if one.low]
    if not maps and any(one.low for one in review.maps):
        raise UsageError(say.CARRY_OLD, where="--carry", remedy=say.CARRY_OLD_REMEDY)
    if not maps:
        raise UsageError(say.CARRY_NOTHING, where="--carry", remedy=say.CARRY_NOTHING_REMEDY)
    out = io.BytesIO()
    about = {"Title": "swardmark carry sheet", "CreationDate": None}
    with drawing_style(), PdfPages(out, metadata=about) as pages:
        for one in maps:
            figure, axes = blank_page(size)
            _draw_page(axes, one, review.lawn)
            pages.savefig(figure)
    return write_whole(Path(folder) / "carry.pdf", out.getvalue())


def carriers(lawn: Lawn) -> tuple[Carrier, Carrier]:
    """Return the wheelbarrow, as full as one person wheels it wet, and the bucket of a lawn."""
    settings = lawn.sand
    barrow = load_share(settings.barrow_litres * LITRE_M3) * settings.barrow_litres
    return Carrier("barrow", barrow), Carrier("bucket", settings.bucket_litres)


def carrier_of(one: CutFill, lawn: Lawn) -> Carrier:
    """Return what the squares of a map are counted in: wheelbarrow loads where one takes two or more, else buckets."""
    barrow, bucket = carriers(lawn)
    counts, _, _ = loads(one, step_m=LOAD_STEP_M[lawn.units], bucket_litres=barrow.litres, bulking=BULKING)
    return barrow if counts.max() >= FEW_LOADS else bucket


def pile_place(one: CutFill) -> tuple[float, float]:
    """Return where the walks from a pile beside the lawn are shortest: beyond the rim next to the sand's middle."""
    raster = one.raster
    x, y = np.meshgrid(raster.x_m, raster.y_m)
    total = float(one.fill_mm.sum())
    middle = float((x * one.fill_mm).sum()) / total, float((y * one.fill_mm).sum()) / total
    left, right, near, far = (
        float(at) for at in (raster.x_m[0], raster.x_m[-1], raster.y_m[0], raster.y_m[-1])
    )
    rims = [
        (left - 0.6, middle[1]),
        (right + 0.6, middle[1]),
        (middle[0], near - 0.6),
        (middle[0], far + 0.6),
    ]
    return min(rims, key=lambda at: math.dist(at, middle))


def _draw_page(axes: Axes, one: CutFill, lawn: Lawn) -> None:
    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    units, carrier = lawn.units, carrier_of(one, lawn)
    names = say.CARRY_NAMES[carrier.name]
    axes.text(MARGIN_MM, height - 15, say.CARRY_TITLE, size=22, weight="bold", va="center")
    head = say.CARRY_HEAD.format(
        lawn=plain_label(lawn.name), date=date_words(one.date, lawn.date_form), point=one.point
    )
    axes.text(MARGIN_MM, height - 24, head, size=10, va="center", color=QUIET)
    step = f"{LOAD_STEP_M[units] / FOOT_M:.0f} ft" if units == "us" else f"{LOAD_STEP_M[units]:g} m"
    barrow, bucket = (_counted(one.fill.litres * BULKING, each) for each in carriers(lawn))
    told = say.CARRY_TOTAL.format(
        barrows=barrow, buckets=bucket, one=names[0], many=names[1], holds=_volume(carrier.litres, units),
        mass=format_mass(carrier.litres * LITRE_M3 * WET_KG_M3, units=units), step=step,
        place=_volume(one.fill.litres, units), low=_volume(one.fill.low_litres, units),
        high=_volume(one.fill.high_litres, units), loose=_volume(one.fill.litres * BULKING, units),
    )  # fmt: skip
    y = _paragraph(axes, told, height - 31, size=10.5, wide=92)
    rows = min(len(one.low), MOST_ROWS)
    below = 56.0 + 6.2 * rows
    _draw_map(axes, one, carrier, units, top=y - 1, bottom=below + 6, width=width)
    _draw_rows(axes, one, lawn, top=below)
    cautions = " ".join((DUST_CAUTION, lift_caution(lawn.sand.bucket_litres, units=units), LIDS_CAUTION,
                         DRAINAGE_CAUTION, say.CARRY_TIPS))  # fmt: skip
    axes.text(MARGIN_MM, 40, say.CARRY_CARE, size=9.5, va="top", weight="bold", color=BARE_DARK)
    _paragraph(axes, cautions, 35, size=8, wide=124)


def _draw_map(
    axes: Axes, one: CutFill, carrier: Carrier, units: Units, *, top: float, bottom: float, width: float
) -> None:
    """Draw the lawn in squares with the loads for each, the pile, and the lengths along its sides."""
    page_w, page_h = axes.get_xlim()[1], axes.get_ylim()[1]
    figure = axes.figure
    room = (MARGIN_MM + 8, bottom + 10, width - 2 * MARGIN_MM - 10, top - bottom - 12)
    own = figure.add_axes((room[0] / page_w, room[1] / page_h, room[2] / page_w, room[3] / page_h))
    draw_loads(own, one, bucket_litres=carrier.litres, bulking=BULKING, units=units)
    for text in own.texts:
        text.set_text(text.get_text().replace(" 1/2", "½").replace("1/2", "½"))
    x, y = pile_place(one)
    own.plot([x], [y], "^", markersize=13, color=BARE_DARK, clip_on=False)
    own.annotate(
        say.CARRY_PILE, (x, y), (0, 10), textcoords="offset points", ha="center", fontsize=8, color=BARE_DARK
    )
    left, right, near, far = (float(v) for v in (*own.get_xlim(), *own.get_ylim()))
    side = PILE_ROOM_M if x < left or x > right else 0.0
    own.set(
        xlim=(min(left, x - side), max(right, x + side)),
        ylim=(min(near, y - 0.4), max(far, y + 1.0)),
    )
    for spot in one.low:
        own.annotate(
            spot.letter, (spot.outline_m[0][0], spot.outline_m[0][1]), fontsize=7.5, color=INK, ha="center",
            va="center", bbox={"boxstyle": "circle,pad=0.2", "facecolor": "white", "edgecolor": INK, "linewidth": 0.7},
        )  # fmt: skip
    unit = FOOT_M if units == "us" else 1.0
    own.xaxis.set_major_formatter(lambda value, _: f"{value / unit:g}")
    own.yaxis.set_major_formatter(lambda value, _: f"{value / unit:g}")
    step = LOAD_STEP_M[units]
    own.set_xticks([step * n for n in range(math.ceil(left / step), math.floor(right / step) + 1)])
    own.set_yticks([step * n for n in range(math.ceil(near / step), math.floor(far / step) + 1)])
    own.tick_params(labelsize=8, length=2)
    own.set_xlabel(say.CARRY_X.format(unit="ft" if units == "us" else "m"), fontsize=8)
    own.set_ylabel(say.CARRY_Y.format(unit="ft" if units == "us" else "m"), fontsize=8)


def _draw_rows(axes: Axes, one: CutFill, lawn: Lawn, *, top: float) -> None:
    """Write a line for each low spot: letter, place, area, depth, sand and passes."""
    units = lawn.units
    at = (MARGIN_MM, 32, 84, 112, 150, 176)
    for x, head in zip(at, say.CARRY_COLUMNS, strict=True):
        axes.text(x, top, head, size=8, color=QUIET, va="center")
    largest = sorted(one.low, key=lambda spot: -spot.litres)
    listed, others = largest[:MOST_ROWS], largest[MOST_ROWS:]
    for n, spot in enumerate((spot for spot in one.low if spot in listed), start=1):
        y = top - 6.2 * n
        passes = passes_for(spot.deepest_mm, pass_depth_mm=spot_pass_mm(lawn))
        cells = (
            spot.letter, place_text(spot.x_m, spot.y_m, units), format_area(spot.area_m2, units=units),
            say.CARRY_DEPTH.format(mean=format_depth(spot.mean_mm, units=units),
                                   deepest=format_depth(spot.deepest_mm, units=units)),
            _volume(spot.litres * BULKING, units),
            say.CARRY_PASSES[0 if passes == 1 else 1].format(count=passes),
        )  # fmt: skip
        for x, text in zip(at, cells, strict=True):
            axes.text(x, y, text, size=9, va="center", weight="bold" if x == at[0] else "normal")
        axes.plot([MARGIN_MM, axes.get_xlim()[1] - MARGIN_MM], [y - 3.1] * 2, color=QUIET, lw=0.3)
    if others:
        loose = _volume(sum(spot.litres for spot in others) * BULKING, units)
        more = plural(len(others), *say.CARRY_MORE).format(count=len(others), loose=loose)
        axes.text(MARGIN_MM, top - 6.2 * (len(listed) + 1) - 1, more, size=8, va="center", color=QUIET)


def _paragraph(axes: Axes, text: str, y: float, *, size: float, wide: int) -> float:
    """Write wrapped text and return where it ends."""
    told = fill(text, wide)
    axes.text(MARGIN_MM, y, told, size=size, va="top", linespacing=1.35)
    return y - (told.count("\n") + 1) * size * 1.35 * MM_PER_INCH / 72


def _volume(litres: float, units: Units) -> str:
    return about_volume(litres * LITRE_M3, units=units)


def _counted(litres: float, carrier: Carrier) -> str:
    count = max(1, math.ceil(litres / carrier.litres - 0.05))
    return f"{count} {say.CARRY_NAMES[carrier.name][count != 1]}"
