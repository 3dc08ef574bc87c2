"""The grasses: what each one stands, how it grows and spreads, and when it may be leveled. One row a grass.

Every cell carries its source, or says "from memory". A range printed by several extension services is shown from the
lowest to the highest of them; local advice goes before any of them. Lengths are millimeters, temperatures degrees
Celsius, months those of the northern hemisphere.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

Grass = Literal[
    "bermudagrass", "zoysiagrass", "st augustinegrass", "centipedegrass", "seashore paspalum", "buffalograss",
    "tall fescue", "kentucky bluegrass", "perennial ryegrass", "fine fescue", "creeping bentgrass",
    "other warm-season", "other cool-season",
]  # fmt: skip
Spread = Literal["rhizomes and stolons", "stolons", "rhizomes", "bunches"]

T = TypeVar("T")

IN = 25.4
MEMORY = "from memory"
JUDGED = "our judgment"
UF = "UF/IFAS LH028, as quoted by the Tampa Bay Times"
UF_CLAY = "UF/IFAS Clay County, Mowing tips, 2018"
KSTATE = "K-State, as quoted by the Topeka Capital-Journal, 2014"
PENN = "Pennsylvania Master Gardeners, The Morning Call, 2018"
UMN = "University of Minnesota Extension, Selecting cool-season grasses"
TENNESSEE = "J. Sorochan, University of Tennessee, Suggested mowing heights"
WALTZ = "C. Waltz, University of Georgia, WSB Radio"
WALTZ_MOWING = "C. Waltz, University of Georgia, Mowing height calculating, walterreeves.com"
COMPANY = "company figures (weak): no heavy topdressing on St. Augustinegrass or centipedegrass, disease"
NCSU = "NC State turf council, soil temperatures at 4 in, kentcoopextension 2007"
GILL = "D. Gill, LSU AgCenter, When is the best time to fill, 2017"
UNRUH = "Unruh, Gaussoin & Wiest 1996, Crop Sci. 36(4):997-999: 0 to 13 C over eight cultivars"
NTEP = "NTEP bg07 table 6C: logistic rates of 0.096 to 0.120 a day"
TRAPPE = "Trappe et al. 2011: bermudagrass before zoysiagrass, with overlap; Meyer and Zenith slowest"
RHIZOMES = f"{MEMORY}: scalping is for grasses with rhizomes, in active growth"


@dataclass(frozen=True)
class Cell(Generic[T]):
    """One value of the table and where it comes from."""

    value: T
    source: str


Months = Cell[tuple[int, ...]]


@dataclass(frozen=True)
class GrassRow:
    """What is known of one grass.

    Attributes
    ----------
    home_mm : Cell
        Usual heights of cut on home lawns, low and high [mm].
    lowest_mm : Cell
        Height below which no schedule cuts [mm].
    may_scalp : Cell
        Whether it may be cut below its usual range before the sand.
    pass_mm, spot_mm : Cell
        Sand that short turf stands in one pass, and that a single spot stands in one pass [mm].
    best_months, outer_months : Cell
        Months in which leveling is advised, and those outside which it is refused.
    soil_c : Cell
        Soil temperature for leveling, low and high [C].
    growth_mm : Cell
        Growth of the leaf in season [mm a day].
    base_c, best_c, stop_c : Cell
        Temperature below which it does not grow; the range of best growth; where growth ends (cold, heat) [C].
    spread : Cell
        How it fills a gap.
    half_way_days, half_way_log_sd : Cell
        Days from the sand to half cover: the median and the log standard deviation of what is expected.
    gap_scale_pct : Cell
        Scale of what stays open in the end, points of cover (a gamma distribution of shape 1.3).
    """

    is_warm: bool
    home_mm: Cell[tuple[float, float]]
    lowest_mm: Cell[float]
    may_scalp: Cell[bool]
    pass_mm: Cell[float]
    spot_mm: Cell[float]
    best_months: Cell[tuple[int, ...]]
    outer_months: Cell[tuple[int, ...]]
    soil_c: Cell[tuple[float, float]]
    growth_mm: Cell[float]
    base_c: Cell[float]
    best_c: Cell[tuple[float, float]]
    stop_c: Cell[tuple[float, float]]
    spread: Cell[Spread]
    half_way_days: Cell[float]
    half_way_log_sd: Cell[float]
    gap_scale_pct: Cell[float]

    @property
    def needs_seed(self) -> bool:
        """Whether gaps stay open without new seed."""
        return self.spread.value == "bunches"


USUAL_PASS_MM, USUAL_SPOT_MM, MOST_FILL_MM = 0.25 * IN, 0.5 * IN, 2.0 * IN
"""A pass of 1/4 in (C. Waltz, University of Georgia: 1/8 to 1/4 in); 1/2 in in a spot is our judgment between that and
2 in, the most fill that living turf stands (D. Gill, LSU AgCenter)."""
PASS_SLACK_MM = 0.5
"""A rake spreads sand no more evenly than this, so that 1/4 in and 6.5 mm are the same pass."""


def _row(
    is_warm: bool,
    home: Cell[tuple[float, float]],
    lowest: Cell[float],
    scalp: Cell[bool],
    growth: Cell[float],
    spread: Cell[Spread],
    half_way: Cell[float],
    *,
    pass_in: Cell[float] | None = None,
    gap: Cell[float] | None = None,
) -> GrassRow:
    """Return a row; heights are given in inches, and what all grasses of a season share is filled in."""
    sand = pass_in or Cell(0.25, MEMORY)
    if is_warm:
        best_months: Months = Cell((5, 6, 7, 8), MEMORY)
        outer_months: Months = Cell((4, 5, 6, 7, 8, 9), f"{GILL}: April to September in Louisiana")
        soil, base = Cell((18.0, 35.0), MEMORY), Cell(10.0, f"default within {UNRUH}")
        best, stop = Cell((26.7, 32.2), NCSU), Cell((10.0, 43.0), f"{NCSU} (cold); {MEMORY} (heat)")
    else:
        best_months, outer_months = Cell((4, 5, 9, 10), MEMORY), Cell((3, 4, 5, 9, 10), MEMORY)
        soil, base = Cell((10.0, 18.0), MEMORY), Cell(0.0, f"default, {MEMORY}")
        best, stop = Cell((15.6, 23.9), NCSU), Cell((4.4, 32.2), NCSU)
    return GrassRow(
        is_warm=is_warm,
        home_mm=Cell((home.value[0] * IN, home.value[1] * IN), home.source),
        lowest_mm=Cell(lowest.value * IN, lowest.source),
        may_scalp=scalp,
        pass_mm=Cell(sand.value * IN, sand.source),
        spot_mm=Cell(2 * sand.value * IN, f"{JUDGED}: two passes' depth in a spot"),
        best_months=best_months,
        outer_months=outer_months,
        soil_c=soil,
        growth_mm=growth,
        base_c=base,
        best_c=best,
        stop_c=stop,
        spread=spread,
        half_way_days=half_way,
        half_way_log_sd=Cell(
            0.53 if is_warm else 0.6, f"{JUDGED}: a factor of 1.7 either way is quite usual"
        ),
        gap_scale_pct=gap or Cell(2.2, JUDGED),
    )


BOTH: Spread = "rhizomes and stolons"
GRASSES: dict[str, GrassRow] = {
    "bermudagrass": _row(
        True, Cell((0.5, 2.0), f"{UF} (0.5 to 1.5 in); {KSTATE} (1 to 2 in)"), Cell(0.5, TENNESSEE),
        Cell(True, RHIZOMES),
        Cell(2.5, f"{WALTZ_MOWING}: up to 0.33 in in two days when fed; {MEMORY}: 1 to 4 mm a day"), Cell(BOTH, MEMORY),
        Cell(9.0, f"{NTEP}; common practice in hot weather"), pass_in=Cell(0.25, WALTZ),
    ),
    "zoysiagrass": _row(
        True, Cell((1.0, 3.0), f"{UF} (1 to 3 in); {UF_CLAY} (2 to 2.5); {KSTATE} (1 to 2)"), Cell(0.375, TENNESSEE),
        Cell(True, RHIZOMES), Cell(1.0, MEMORY), Cell(BOTH, MEMORY),
        Cell(10.5, f"{TRAPPE}; the fine types are slower still ({MEMORY})"), pass_in=Cell(0.25, WALTZ),
    ),
    "st augustinegrass": _row(
        True, Cell((2.5, 4.0), f"{UF}; {UF_CLAY} (3.5 to 4 in, dwarf types 2.5 to 3 in)"), Cell(2.0, TENNESSEE),
        Cell(False, RHIZOMES), Cell(2.0, MEMORY), Cell("stolons", MEMORY),
        Cell(12.0, f"{JUDGED}: coarse stolons, no rhizomes"), pass_in=Cell(0.125, COMPANY),
    ),
    "centipedegrass": _row(
        True, Cell((1.5, 2.0), f"{UF}; {UF_CLAY}"), Cell(1.0, TENNESSEE), Cell(False, RHIZOMES), Cell(0.7, MEMORY),
        Cell("stolons", MEMORY), Cell(14.0, f"{JUDGED}: the slowest spreader of the warm-season lawns"),
        pass_in=Cell(0.125, COMPANY),
    ),
    "seashore paspalum": _row(
        True, Cell((0.5, 2.0), MEMORY), Cell(0.4, MEMORY), Cell(True, RHIZOMES), Cell(2.5, MEMORY), Cell(BOTH, MEMORY),
        Cell(9.5, f"{JUDGED}: close to bermudagrass"),
    ),
    "buffalograss": _row(
        True, Cell((2.0, 4.0), MEMORY), Cell(1.5, MEMORY), Cell(False, RHIZOMES), Cell(1.0, MEMORY),
        Cell("stolons", MEMORY), Cell(12.0, f"{JUDGED}: open turf, slow to thicken"),
    ),
    "other warm-season": _row(
        True, Cell((1.0, 3.0), MEMORY), Cell(1.0, MEMORY), Cell(False, f"{MEMORY}: not known to have rhizomes"),
        Cell(2.0, MEMORY), Cell("stolons", MEMORY), Cell(9.0, f"{JUDGED}, after common practice in hot weather"),
    ),
    "tall fescue": _row(
        False, Cell((2.5, 4.0), f"{KSTATE} (2.5 to 3.5 in); {PENN} (3 to 4 in)"), Cell(1.0, TENNESSEE),
        Cell(False, RHIZOMES), Cell(2.0, f"{MEMORY}: in spring"), Cell("bunches", MEMORY),
        Cell(16.0, f"{JUDGED}: a bunch grass"), gap=Cell(5.0, f"{JUDGED}: gaps hardly fill without seed"),
    ),
    "kentucky bluegrass": _row(
        False, Cell((2.0, 3.5), f"{KSTATE} and {UMN} (2 to 3 in); {PENN} (2.5 to 3.5 in)"), Cell(0.75, TENNESSEE),
        Cell(False, f"{MEMORY}: it has rhizomes, and yet scalping hurts it in heat"), Cell(2.0, MEMORY),
        Cell("rhizomes", MEMORY), Cell(14.0, f"{JUDGED}: spreads by rhizomes, in cooler weather"),
    ),
    "perennial ryegrass": _row(
        False, Cell((1.5, 3.0), f"{MEMORY}: 1.5 to 2.5 in, or up to 3"), Cell(0.25, TENNESSEE), Cell(False, RHIZOMES),
        Cell(2.5, MEMORY), Cell("bunches", MEMORY), Cell(14.0, f"{JUDGED}: a bunch grass, quick to tiller"),
        gap=Cell(5.0, f"{JUDGED}: gaps hardly fill without seed"),
    ),
    "fine fescue": _row(
        False, Cell((3.0, 4.0), PENN), Cell(1.5, MEMORY), Cell(False, RHIZOMES), Cell(1.0, MEMORY),
        Cell("bunches", f"{MEMORY}: creeping types spread a little"), Cell(17.0, f"{JUDGED}: fine-leaved, slow"),
        gap=Cell(5.0, f"{JUDGED}: gaps hardly fill without seed"),
    ),
    "creeping bentgrass": _row(
        False, Cell((0.5, 1.0), MEMORY), Cell(0.25, MEMORY), Cell(False, f"{MEMORY}: stolons only"), Cell(1.5, MEMORY),
        Cell("stolons", MEMORY), Cell(12.0, f"{JUDGED}: club reports of greens after sand, 2 to 4 weeks"),
    ),
    "other cool-season": _row(
        False, Cell((2.0, 3.5), MEMORY), Cell(1.5, MEMORY), Cell(False, f"{MEMORY}: not known to have rhizomes"),
        Cell(2.0, MEMORY), Cell("bunches", f"{MEMORY}: taken for a bunch grass"),
        Cell(14.0, f"{JUDGED}, between the cool-season grasses above"),
    ),
}  # fmt: skip

WARM_SEASON = frozenset(name for name, row in GRASSES.items() if row.is_warm)
SHORT_GRASS_NAMES = {
    "bermuda": "bermudagrass", "zoysia": "zoysiagrass", "centipede": "centipedegrass", "paspalum": "seashore paspalum",
    "st augustine": "st augustinegrass", "saint augustine": "st augustinegrass", "buffalo": "buffalograss",
    "saint augustinegrass": "st augustinegrass", "seashore paspalumgrass": "seashore paspalum",
    "fescue": "tall fescue", "bluegrass": "kentucky bluegrass", "ryegrass": "perennial ryegrass",
    "fine fescues": "fine fescue", "bentgrass": "creeping bentgrass", "warm-season": "other warm-season",
    "cool-season": "other cool-season", "other warm": "other warm-season", "other cool": "other cool-season",
}  # fmt: skip


def grass_row(grass: str) -> GrassRow:
    """Return the row of a grass; one that is not in the table counts as another warm-season grass."""
    return GRASSES.get(grass, GRASSES["other warm-season"])


def frost_day(first_frost: str) -> tuple[int, int]:
    """Read a day of the year such as `10-25`: month and day.

    Raises
    ------
    ValueError
        It is no such day.
    """
    day = dt.datetime.strptime(f"2000-{first_frost}", "%Y-%m-%d")
    return day.month, day.day


def in_months(day: dt.date, months: tuple[int, ...], *, first_frost: str | None = None) -> bool:
    """Whether a day lies in months of the northern hemisphere; shifted by half a year in the southern one."""
    return ((day.month + 5) % 12 + 1 if is_southern(first_frost) else day.month) in months


def is_southern(first_frost: str | None) -> bool:
    """Whether the usual day of the first frost is one of the southern hemisphere: between February and July."""
    return first_frost is not None and 2 <= frost_day(first_frost)[0] <= 7


def next_frost(day: dt.date, first_frost: str) -> dt.date:
    """Return the first frost of the year on or after a day."""
    frost = _frost_in(day.year, first_frost)
    return frost if frost >= day else _frost_in(day.year + 1, first_frost)


def last_frost(day: dt.date, first_frost: str) -> dt.date:
    """Return the first frost of the year before a day."""
    frost = _frost_in(day.year, first_frost)
    return frost if frost < day else _frost_in(day.year - 1, first_frost)


def _frost_in(year: int, first_frost: str) -> dt.date:
    month, number = frost_day(first_frost)
    return dt.date(year, month, min(number, 28) if month == 2 else number)
