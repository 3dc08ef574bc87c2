"""Three invented lawns, drawn as numbers, whose list of the day is kept from three weeks before the sand to day 90."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Confirmed, Lawn, Leveling, Mowing
from swardmark.mowing.outlook import outlook
from swardmark.mowing.photo_days import next_photo_days
from swardmark.mowing.today import Known, known_on

LOOKS = ("dry", "firm", "tug_test_passed", "no_loose_ridges")


@dataclass(frozen=True)
class Drawn:
    """A lawn with its parts as (name, m2, half-way day, ceiling), and what its keeper wrote, by day since the sand."""

    lawn: Lawn
    parts: tuple[tuple[str, float, float, float], ...] = ()
    leaf: tuple[tuple[int, float], ...] = ()
    did: tuple[tuple[int, str, str], ...] = ()

    @property
    def zero(self) -> dt.date:
        return self.lawn.leveling[0].date

    def known(self, number: int) -> Known:
        """Return what is known on a day since the sand."""
        day = self.zero + dt.timedelta(days=number)
        readings = [Reading(date=self.on(n), height_mm=mm) for n, mm in self.leaf]
        diary = [DiaryEntry(date=self.on(n), what=what, amount=amount) for n, what, amount in self.did]
        photos = [on for on in self.photo_days() if on <= day]
        if not photos:
            return known_on(self.lawn, day, readings=readings, diary=diary)
        series = [self.series(part, photos) for part in self.parts]
        seen = {
            "readings": [r for r in readings if r.date <= day],
            "diary": [d for d in diary if d.date <= day],
        }
        ahead = outlook(series, lawn=self.lawn, as_of=day, **seen)
        return known_on(self.lawn, day, outlook=ahead, last_photo=photos[-1], **seen)

    def on(self, number: int) -> dt.date:
        return self.zero + dt.timedelta(days=number)

    def photo_days(self) -> tuple[dt.date, ...]:
        if not self.parts:
            return ()
        return tuple(d for d in next_photo_days(None, zero=self.zero, as_of=self.zero, count=22))

    def series(self, part: tuple[str, float, float, float], photos: list[dt.date]) -> ZoneSeries:
        name, area, half_way, ceiling = part
        days = np.array([(day - self.zero).days for day in photos], float)
        cover = ceiling / (1 + np.exp(-2.4 * (days / half_way - 1)))
        return ZoneSeries("main", name, area, tuple(photos), tuple(cover), tuple(cover - 5), tuple(cover + 5))


def _lawn(name: str, grass: str, day: dt.date, heights: tuple[float, float, float], **more: object) -> Lawn:
    usual, target, scalp = heights
    mowing = Mowing(usual_height_mm=usual, target_height_mm=target, scalp_height_mm=scalp)
    return Lawn(name=name, grass=grass, leveling=(Leveling(date=day, depth_mm=6),), mowing=mowing, **more)


JUNE, FALL, MAY = dt.date(2026, 6, 3), dt.date(2026, 9, 10), dt.date(2026, 5, 20)
LAWNS = {
    "warm": Drawn(
        _lawn("Plover Yard", "bermudagrass", JUNE, (40, 25, 15), first_frost="11-10",
              confirmed=Confirmed(**dict.fromkeys(LOOKS, JUNE + dt.timedelta(days=14)))),
        (("open middle", 17.0, 8.0, 98.0), ("old low spot", 1.5, 30.0, 45.0)),
        ((8, 24), (11, 31), (14, 38)),
        ((1, "watered", ""), (2, "watered", ""), (5, "rain", "5 mm"), *((n, "watered", "") for n in range(9, 60, 4)),
         (14, "mowed", "25 mm"), (20, "mowed", ""), (26, "mowed", ""), (32, "mowed", "40 mm")),
    ),
    "cool": Drawn(
        _lawn("Curlew Green", "tall fescue", FALL, (75, 65, 50), first_frost="11-20"),
        (("front", 12.0, 16.0, 93.0), ("by the oak", 4.0, 30.0, 70.0)),
        ((12, 62), (22, 84), (29, 98)),
        (*((n, "rain", "") for n in range(3, 90, 6)), (30, "mowed", "65 mm"), (37, "mowed", "")),
    ),
    "no_photos": Drawn(_lawn("Sandpiper Court", "zoysiagrass", MAY, (44.45, 25.4, 12.7), units="us")),
}  # fmt: skip
