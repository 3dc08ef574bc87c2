"""The first mow after leveling: the cover part by part, the height of the leaf, and the keeper's own checks.

No published threshold of cover for the first mow over sand exists; 70 % on 60 % of the ground is the tool's own rule,
and a footnote says so. Where the leaf is read, its height decides (third.py): a leaf above 1.5 times the height of cut
is overdue whatever the cover.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from swardmark.common.cautions import BLADE_CAUTION, FIRST_MOW_CAUTION
from swardmark.common.phrases import date_words, percent
from swardmark.common.units import format_area, format_cut, format_depth
from swardmark.forecast.outlook import STALE_DAYS
from swardmark.forecast.rows import Period, Ready, ZoneOutlook, ZoneSeries
from swardmark.lawn.grasses import grass_row
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.mowing import sentences as say
from swardmark.mowing.checks import keepers_looks, leaf_height
from swardmark.mowing.parts import lawn_parts, ready_share, whole_interval
from swardmark.mowing.rows import Check, FirstMow, Part
from swardmark.mowing.third import TIDY_TRIGGER, highest_leaf, is_overdue, lowest_cut
from swardmark.mowing.wayup import mower_of

CAUTION = f"{FIRST_MOW_CAUTION} {BLADE_CAUTION}"
LIKELY = 0.75
"""Below this chance nothing is called likely."""
MOST_NAMES = 3
FEW_LOOKS = 2
"""More open looks than this are not named one by one in the sentence; the list of checks names them."""


def first_mow(
    whole: ZoneOutlook,
    *,
    lawn: Lawn,
    zero: dt.date | None,
    as_of: dt.date,
    ahead: Ready,
    zones: Sequence[ZoneOutlook] = (),
    series: Sequence[ZoneSeries] = (),
    readings: Sequence[Reading] = (),
    diary: Sequence[DiaryEntry] = (),
) -> FirstMow:
    """Judge whether the lawn may be mown, and when.

    Parameters
    ----------
    whole : ZoneOutlook
        The lawn's total.
    lawn : Lawn
        Heights of cut and settings.
    zero, as_of : date
        The leveling day and the day of the verdict.
    ahead : Ready
        When enough of the ground has the cover.
    zones : sequence of ZoneOutlook
        Its parts; the whole counts as the one part where none are given.
    series : sequence of ZoneSeries
        What was measured, for the intervals.
    readings, diary : sequence
        What the keeper wrote.
    """
    since = zero or as_of
    gate = lawn.outlook.first_mow_cover_pct
    parts = lawn_parts(zones or (whole,), series, gate_pct=gate, as_of=as_of)
    leaf = leaf_height(readings, since=since, as_of=as_of)
    covered = bool(parts) and ready_share(parts) * 100 >= lawn.outlook.ready_ground_pct - 1e-6
    when, chance = (
        (Period(as_of, as_of, as_of), 1.0) if covered else (_to_come(ahead, as_of), ahead.by_latest)
    )
    height = _height_check(lawn, leaf)
    looks = keepers_looks(lawn, zero=zero, as_of=as_of, readings=readings)
    checks = (_cover_check(parts, whole, lawn, covered=covered), height, *looks)
    overdue = _is_overdue(lawn, leaf)
    has_passed = not covered and ahead.period.latest is not None and ahead.period.latest <= as_of
    old_photo = None
    if covered or has_passed:
        old_photo = _too_old(whole, zero, as_of, least_days=STALE_DAYS if covered else 0)
    ready = _may_mow(checks, covered=covered and old_photo is None, overdue=overdue)
    mowed = min((e.date for e in diary if e.what == "mowed" and since < e.date <= as_of), default=None)
    verdict = _Verdict(whole, lawn, parts, checks, when, chance, leaf)
    return FirstMow(
        ready=ready,
        sentence=verdict.sentence(
            mowed=mowed,
            covered=covered,
            overdue=overdue,
            ready=ready,
            old_photo=old_photo,
        ),
        mow_on=when.on,
        mow_earliest=when.earliest,
        mow_latest=when.latest,
        days_to_go=(when.on - as_of).days if when.on is not None else None,
        chance=chance,
        checks=checks,
        missing=_missing(checks),
        caution=CAUTION,
        mowed_on=mowed,
        parts=parts,
        overdue=overdue,
        set_mower_mm=first_cut(lawn, leaf),
        footnote=say.FOOTNOTE.format(gate=gate, ground=lawn.outlook.ready_ground_pct),
        old_photo=old_photo,
    )


def first_cut(lawn: Lawn, leaf_mm: float | None) -> float | None:
    """Return the height of cut for the first mow [mm]: the target, or what the leaf and the grass allow above it."""
    target = lawn.mowing.target_height_mm
    if target is None:
        return None
    least = max(target, grass_row(lawn.grass).lowest_mm.value, lowest_cut(leaf_mm or 0.0))
    return mower_of(lawn).at_least(least)


def part_names(parts: Sequence[Part]) -> str:
    """Name parts in a sentence: `“old dip” and “under the tree”`; by their photo points where there are several."""
    several = len({part.point for part in parts}) > 1
    names = [
        (say.PART_OF_POINT if several else say.PART).format(part=part.name, point=part.point)
        for part in parts
    ]
    if len(names) > MOST_NAMES:
        names = [*names[: MOST_NAMES - 1], say.MORE_PARTS.format(number=len(names) - MOST_NAMES + 1)]
    return _listed(names)


class _Verdict:
    """What the sentence is made of."""

    def __init__(
        self,
        whole: ZoneOutlook,
        lawn: Lawn,
        parts: Sequence[Part],
        checks: Sequence[Check],
        when: Period,
        chance: float,
        leaf_mm: float | None,
    ) -> None:
        self.whole, self.lawn, self.parts, self.checks = whole, lawn, parts, checks
        self.when, self.chance, self.leaf_mm = when, chance, leaf_mm
        self.area = say.AREA.format(area=format_area(whole.area_m2, units=lawn.units))
        if lawn.ground_m2:
            share = min(100.0, 100 * whole.area_m2 / lawn.ground_m2)
            self.area = say.AREA_OF_LAWN.format(
                area=format_area(whole.area_m2, units=lawn.units), share=share
            )
        self.cover = say.COVER.format(pct=whole.cover_pct, area=self.area)

    def sentence(
        self,
        *,
        mowed: dt.date | None,
        covered: bool,
        overdue: bool,
        ready: bool,
        old_photo: dt.date | None,
    ) -> str:
        """Return the headline: what to do."""
        measured = bool(np.isfinite(self.whole.cover_pct))
        if mowed is not None:
            now = say.MOWED_NOW.format(cover=self.cover) if measured else ""
            return say.MOWED.format(day=date_words(mowed, self.lawn.date_form), now=now)
        if overdue:
            return self._overdue(covered=covered)
        if not self.parts:
            return say.NOT_MEASURED.format(why=f"{self.whole.why[:1].lower()}{self.whole.why[1:]}")
        if covered and old_photo is not None:
            day = date_words(old_photo, self.lawn.date_form)
            return say.COVERED_LONG_AGO.format(day=day, pct=self.whole.cover_pct, area=self.area)
        if covered:
            return self._covered(ready=ready)
        if self.whole.status == "too early to say":
            return say.TOO_EARLY.format(cover=self._range(), why=self.whole.why)
        if old_photo is not None:
            return say.NEW_PHOTO.format(day=date_words(old_photo, self.lawn.date_form))
        return self._dated()

    def _overdue(self, *, covered: bool) -> str:
        assert self.leaf_mm is not None
        leaf, cut = self._leaf_and_cut()
        soft = self._soft()
        if soft:
            return say.OVERDUE_SOFT.format(leaf=leaf, cut=cut, soft=soft)
        bare = ""
        if self.parts and not covered:
            share = 100 * ready_share(self.parts)
            bare = say.OVERDUE_BARE.format(share=share) if share >= 1 else say.OVERDUE_ALL_BARE
        return say.OVERDUE.format(leaf=leaf, cut=cut, round=self._round() if covered else "") + bare

    def _covered(self, *, ready: bool) -> str:
        soft, height = self._soft(), self.checks[1]
        if height.state == "not met":
            return self._wait_for_leaf()
        if soft:
            return say.MOW_WHEN_FIRM.format(soft=soft, round=self._round())
        if not ready:
            named = [say.LOOKS[check.look] for check in self._open_looks()]
            looks = say.MANY_LOOKS if len(named) > FEW_LOOKS else _listed(named)
            return say.MOW_ONCE.format(looks=looks, round=self._round(), cover=self.cover)
        if self.leaf_mm is None:
            return say.MOW_NOW_MEASURE.format(round=self._round())
        return say.MOW_NOW.format(cut=self._leaf_and_cut()[1], round=self._round())

    def _wait_for_leaf(self) -> str:
        target, leaf, units = self.lawn.mowing.target_height_mm, self.leaf_mm, self.lawn.units
        assert target is not None and leaf is not None
        times = self.lawn.outlook.mow_at_times_target
        tidy = target * TIDY_TRIGGER
        return say.WAIT_FOR_LEAF.format(
            leaf=format_depth(leaf, units=units),
            target=format_depth(target, units=units),
            due=format_depth(target * times, units=units),
            tidy=say.TIDY.format(tidy=format_depth(tidy, units=units)) if times > TIDY_TRIGGER and leaf >= tidy else "",
            cover=self.cover,
        )  # fmt: skip

    def _dated(self) -> str:
        when, form = self.when, self.lawn.date_form
        if when.on is None or when.earliest is None or when.latest is None:
            return say.NO_DATE.format(cover=self.cover, odds=percent(self.chance))
        last = date_words(when.latest, form)
        one_day = when.earliest == when.latest
        window = (say.ON_OR_BY if one_day else say.BETWEEN).format(
            first=date_words(when.earliest, form), last=last
        )
        may = say.IS_LIKELY if self.chance >= LIKELY else say.MAY
        return say.WAIT.format(cover=self.cover, may=may, window=window, odds=percent(self.chance), by=last)

    def _round(self) -> str:
        parts = [part for part in self.parts if not part.ready]
        share = 100 * sum(part.share for part in parts)
        return say.STEER.format(parts=part_names(parts), share=max(share, 1.0)) if parts else ""

    def _range(self) -> str:
        low, high = whole_interval(self.parts)
        there = say.COVER_THERE if low >= self.lawn.outlook.first_mow_cover_pct else ""
        return say.COVER_RANGE.format(low=low, high=high, area=self.area, there=there)

    def _leaf_and_cut(self) -> tuple[str, str]:
        cut = first_cut(self.lawn, self.leaf_mm)
        assert cut is not None and self.leaf_mm is not None
        return format_cut(self.leaf_mm, cut, units=self.lawn.units)

    def _soft(self) -> str:
        return next((c.detail for c in self.checks[2:] if c.state == "not met"), "")

    def _open_looks(self) -> list[Check]:
        return [c for c in self.checks[2:] if c.state != "met"]


def _is_overdue(lawn: Lawn, leaf_mm: float | None) -> bool:
    target = lawn.mowing.target_height_mm
    return target is not None and leaf_mm is not None and is_overdue(leaf_mm, target)


def _to_come(ahead: Ready, as_of: dt.date) -> Period:
    """Return the window as far as it is still to come."""
    days = (ahead.period.on, ahead.period.earliest, ahead.period.latest)
    tomorrow = as_of + dt.timedelta(days=1)
    return Period(*(None if day is None else max(day, tomorrow) for day in days))


def _too_old(whole: ZoneOutlook, zero: dt.date | None, as_of: dt.date, *, least_days: int) -> dt.date | None:
    """Return the day of the newest photo where it is too old to say how the lawn stands; None otherwise."""
    if zero is None or not whole.day:
        return None
    last = zero + dt.timedelta(days=float(whole.day[-1]))
    return last if (as_of - last).days > least_days else None


def _may_mow(checks: Sequence[Check], *, covered: bool, overdue: bool) -> bool:
    _, height, *looks = checks
    if overdue:
        return all(check.state != "not met" for check in looks)
    return covered and height.state != "not met" and all(check.state == "met" for check in looks)


def _cover_check(parts: Sequence[Part], whole: ZoneOutlook, lawn: Lawn, *, covered: bool) -> Check:
    gate = lawn.outlook.first_mow_cover_pct
    if not parts:
        return Check("cover", "unknown", say.COVER_NOT_MEASURED.format(gate=gate))
    detail = say.COVER_OF.format(pct=whole.cover_pct, gate=gate)
    if len(parts) > 1:
        detail += say.COVER_PARTS.format(share=100 * ready_share(parts))
    return Check("cover", "met" if covered else "not met", detail)


def _height_check(lawn: Lawn, leaf_mm: float | None) -> Check:
    """Compare the newest leaf heights with the one-third rule."""
    name, target, times = "leaf height", lawn.mowing.target_height_mm, lawn.outlook.mow_at_times_target
    if target is None:
        return Check(name, "unknown", say.NO_TARGET)
    due, aim, limit, tidy = (
        format_depth(mm, units=lawn.units)
        for mm in (target * times, target, highest_leaf(target), target * TIDY_TRIGGER)
    )
    if leaf_mm is None:
        return Check(name, "unknown", say.NO_HEIGHT.format(due=due, target=aim))
    leaf = format_depth(leaf_mm, units=lawn.units)
    if is_overdue(leaf_mm, target):
        return Check(name, "met", say.HEIGHT_OVERDUE.format(leaf=leaf, limit=limit))
    detail = say.HEIGHT.format(leaf=leaf, due=due, times=times)
    if leaf_mm >= target * times:
        return Check(name, "met", detail)
    enough = times > TIDY_TRIGGER and leaf_mm >= target * TIDY_TRIGGER
    return Check(name, "not met", detail + (say.HEIGHT_TIDY.format(tidy=tidy) if enough else ""))


def _missing(checks: Sequence[Check]) -> tuple[str, ...]:
    """Return what is not met, one line each; what the keeper has yet to look at is one line together."""
    cover, height, *own = checks
    looks = ", ".join(check.name for check in own if check.state == "unknown")
    lines = [f"{check.name}: {check.detail}" for check in (cover, height) if check.state != "met"]
    lines += [f"{check.name}: {check.detail}" for check in own if check.state == "not met"]
    if looks:
        lines.append(say.OWN_LOOK.format(looks=looks))
    return tuple(lines)


def _listed(names: Sequence[str]) -> str:
    """Join names in a sentence: `a`, `a and b`, `a, b and c`."""
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)
