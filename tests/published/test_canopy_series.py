"""The forecast against published canopy cover of real plots: potato, which truly closes, and maize, which levels off.

Percent cover from drone photos. Potato: UW Potato Breeding Program, data sets dt_potato (2020) and its 2022 sister,
data-raw/ of github AparicioJohan/flexFitR at 830722d. Maize: Cooper et al. 2024, St Paul MN, github
coryhirschlab/maize_UAV_canopy_cover_phenomics_genomics at 935daeb. Crops and not turf: they test shape and intervals.
Days count from the last photo before emergence (potato) or the first (maize).
"""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.bank.bank import draw_bank
from swardmark.forecast.weigh import fit_zones

POTATO_2020 = (
    (29, 36, 42, 56, 76, 92, 100),
    (
        (0.0, 0.7, 15.1, 75.4, 99.8, 99.8, 99.8),
        (0.0, 4.6, 27.6, 82.2, 100.0, 100.0, 100.0),
        (0.0, 4.6, 25.3, 76.3, 100.0, 100.0, 100.0),
        (0.0, 3.3, 28.2, 70.2, 100.0, 100.0, 100.0),
        (0.0, 3.0, 26.9, 81.4, 100.0, 100.0, 100.0),
        (0.0, 0.3, 1.7, 34.0, 97.2, 97.2, 97.2),
    ),
)
POTATO_2022 = (
    (28, 42, 50, 62, 77, 84, 96),
    (
        (0.0, 29.3, 65.8, 92.2, 99.8, 100.0, 100.0),
        (0.0, 20.0, 45.4, 93.0, 100.0, 100.0, 98.3),
        (0.0, 17.9, 54.1, 90.1, 99.9, 99.7, 99.6),
        (0.0, 23.4, 58.8, 85.6, 99.9, 100.0, 98.1),
        (0.0, 12.9, 42.1, 78.6, 99.8, 99.9, 99.8),
        (0.0, 7.8, 36.8, 69.3, 99.6, 99.8, 97.4),
    ),
)
MAIZE_2019 = (
    (0, 3, 7, 13, 15, 30, 36, 44, 57),
    (
        (8.0, 11.2, 11.2, 23.4, 34.1, 63.9, 55.5, 73.2, 72.3),
        (4.5, 6.4, 7.1, 16.8, 27.6, 58.6, 61.3, 71.4, 75.0),
        (5.2, 6.6, 7.0, 15.3, 23.1, 58.3, 58.0, 73.2, 71.4),
        (6.1, 6.9, 9.5, 20.8, 29.8, 43.0, 53.9, 65.5, 62.7),
        (3.1, 2.6, 3.9, 9.3, 14.6, 40.3, 45.0, 52.4, 64.1),
        (4.6, 5.1, 4.6, 10.9, 12.0, 31.5, 35.3, 53.6, 54.9),
    ),
)
MAIZE_2021 = (
    (0, 6, 14, 22, 27, 37, 42, 45, 52, 66),
    (
        (3.0, 5.6, 27.3, 30.5, 52.5, 62.8, 61.7, 68.5, 62.4, 65.6),
        (4.2, 7.8, 31.5, 38.3, 53.9, 68.3, 73.9, 77.8, 68.6, 73.3),
        (1.7, 5.2, 18.6, 32.0, 43.8, 65.2, 66.6, 71.7, 70.2, 73.2),
        (1.1, 2.2, 12.3, 22.3, 34.5, 48.9, 57.7, 68.4, 65.2, 71.9),
        (1.1, 3.3, 20.3, 16.3, 39.0, 55.5, 64.2, 66.8, 56.2, 74.9),
        (1.6, 2.1, 16.1, 30.2, 44.7, 70.3, 73.3, 75.2, 70.7, 77.7),
    ),
)
SD_PCT = 3.5


def share_inside(series, *, farthest: float) -> tuple[float, int]:
    """Return the share of later photos inside the 95 % interval, the error of a photo allowed for, and how many."""
    days, plots = series
    day, inside = np.array(days, float) - days[0], []
    for n in range(3, len(day)):
        fits = fit_zones(
            [day[:n]] * len(plots), [np.array(c[:n]) for c in plots], bank=draw_bank("tall fescue")
        )
        for fit, covers in zip(fits, plots, strict=True):
            ahead = [i for i in range(n, len(day)) if day[i] - day[n - 1] <= farthest]
            band = fit.cover(day[ahead]) if ahead else None
            for i, low, high in zip(ahead, band.low95, band.high95, strict=True) if band else ():
                inside.append(low - SD_PCT <= covers[i] <= high + SD_PCT)
    return float(np.mean(inside)), len(inside)


SERIES = {
    "potato 2020": POTATO_2020,
    "potato 2022": POTATO_2022,
    "maize 2019": MAIZE_2019,
    "maize 2021": MAIZE_2021,
}


@pytest.mark.parametrize("name", SERIES)
@pytest.mark.parametrize("farthest", [21.0, 60.0])
def test_later_covers_lie_inside_the_interval(name, farthest):
    share, cases = share_inside(SERIES[name], farthest=farthest)
    assert cases >= 20
    assert share >= 0.85
