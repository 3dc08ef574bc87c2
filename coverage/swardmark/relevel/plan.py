"""The re-level plan as a value: what each spot takes, and everything that the next leveling is decided on.

It is made by relevel.py and read by advice.py, the report and the page.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from swardmark.common.units import LITRE_M3
from swardmark.lawn.toml import Lawn
from swardmark.relevel.budget import Budget, SpendingPlan
from swardmark.relevel.causes import LOW, UNPROBED, Cause, Finding
from swardmark.relevel.sand import MOST_DEPTH_MM, SandOrder
from swardmark.relevel.seasons import SeasonComparison, SeasonsOnADay
from swardmark.relevel.spots import Spot, SpotSearch


@dataclass(frozen=True)
class Dip:
    """A depth measured under a straightedge or string line, at a place of a photo point's ground or in a spot."""

    depth_mm: float
    x_m: float | None = None
    y_m: float | None = None
    spot: int | None = None
    point: str = ""


@dataclass(frozen=True)
class SpotPlan:
    """What one spot takes.

    Attributes
    ----------
    finding : Finding
        Its cause, and what is known of its depth.
    order : SandOrder
        Sand for the spot alone; none unless it is measured and low.
    least_litres, most_litres : float
        The same at the ends of the 95 % interval of its depth.
    passes : int
        Passes to fill it; 0 where sand is not the remedy or its depth is not known.
    priority : int or None
        1 is worth most per litre of sand; None where sand is not the remedy.
    season : int or None
        1 is the coming season; None where no season's budget reaches it, or no sand is to go there.
    passes_now : int
        Passes in the coming season.
    """

    spot: Spot
    finding: Finding
    order: SandOrder
    least_litres: float
    most_litres: float
    passes: int
    priority: int | None = None
    season: int | None = None
    passes_now: int = 0

    @property
    def litres(self) -> float:
        """Sand to order for this spot, in litres."""
        return self.order.volume_m3 / LITRE_M3

    @property
    def cause(self) -> Cause:
        """Why it is on the list: low, high or buried, level but bare, not yet probed."""
        return self.finding.cause

    @property
    def depth_mm(self) -> float | None:
        """Mean depth below the straightedge in millimeters; None where it was not measured."""
        return self.finding.depth_mm

    @property
    def needs_measuring(self) -> bool:
        """Whether nothing can be said of its sand before it is probed or its depth is read."""
        return self.cause == UNPROBED or (self.cause == LOW and self.depth_mm is None)

    @property
    def is_green(self) -> bool:
        """Whether it is known by heights alone: no photo shows it bare."""
        return math.isnan(self.spot.cover_pct)

    @property
    def is_too_deep(self) -> bool:
        """Whether the dip is deeper than sand may ever be laid over living turf."""
        return self.cause == LOW and self.depth_mm is not None and self.depth_mm > MOST_DEPTH_MM


@dataclass(frozen=True)
class RelevelPlan:
    """Everything about the next leveling.

    Attributes
    ----------
    spots : tuple of SpotPlan
        In the order of their numbers.
    searches : tuple of SpotSearch
        What was looked at, one for each photo point, with a note where nothing could be said.
    spots_order, now_order : SandOrder
        Sand for all spots, and for the coming season's passes.
    lawn_order, both_order : SandOrder or None
        One thin pass over the whole lawn, and that with all spots; None where the lawn's area is not known.
    spending : SpendingPlan
        The seasons, one after the other.
    budget : Budget
        What each season may take.
    comparison : SeasonComparison or None
        What became of the last season's spots.
    loose_dips : tuple of Dip
        Dips that lie in no spot.
    against : SeasonsOnADay or None
        The covers of this season and the last on one day, where there is a last one.
    outdated : tuple of (date, date)
        Days on which heights were measured that do not count, each with the sand that was laid on them since.
    is_second_sand : bool
        Whether the sand before lies in the same growing season, so that what is compared are two passes.
    measure_first : bool
        Whether a spot waits to be probed.
    """

    lawn: Lawn
    spots: tuple[SpotPlan, ...]
    searches: tuple[SpotSearch, ...]
    spots_order: SandOrder
    now_order: SandOrder
    lawn_order: SandOrder | None
    both_order: SandOrder | None
    spending: SpendingPlan
    budget: Budget
    comparison: SeasonComparison | None
    loose_dips: tuple[Dip, ...]
    against: SeasonsOnADay | None = None
    outdated: tuple[tuple[dt.date, dt.date], ...] = ()
    is_second_sand: bool = False

    @property
    def measure_first(self) -> bool:
        """Whether a spot waits to be probed."""
        return any(plan.needs_measuring for plan in self.spots)

    @property
    def chosen(self) -> tuple[SpotPlan, ...]:
        """Spots that get sand in the coming season."""
        return tuple(plan for plan in self.spots if plan.passes_now)

    @property
    def waiting(self) -> tuple[SpotPlan, ...]:
        """Spots that need sand and get none in the coming season."""
        return tuple(plan for plan in self.spots if plan.passes and not plan.passes_now)

    @property
    def unfinished(self) -> tuple[SpotPlan, ...]:
        """Spots that are begun in the coming season and go on after it."""
        return tuple(plan for plan in self.chosen if plan.passes_now < plan.passes)
