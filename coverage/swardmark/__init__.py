"""swardmark measures from photos how a lawn grows back after it was leveled with sand.

>>> import swardmark
>>> season = swardmark.season_of(swardmark.measure_covers("sample_images/tern_cottage"))  # doctest: +SKIP
>>> season.outlook.first_mow.sentence  # doctest: +SKIP
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from swardmark._version import __version__ as __version__

if TYPE_CHECKING:
    from swardmark.canopy.cover import Cover
    from swardmark.canopy.straight import StraightDownCover, cover_straight_down
    from swardmark.common.errors import PhotoRefused, SwardmarkError
    from swardmark.lawn.readings import Reading
    from swardmark.lawn.toml import Lawn, SandSettings, read_lawn
    from swardmark.measure.check import check_photo
    from swardmark.photo.decode import read_photo
    from swardmark.practice.lawn import draw_practice_lawn
    from swardmark.relevel.budget import Budget
    from swardmark.relevel.sand import sand_order
    from swardmark.report.html import write_report
    from swardmark.season import Season, relevel_plan_of, season_of
    from swardmark.trial.rows import Trial
    from swardmark.trial.trial import trial_of


__all__ = [
    "Budget",
    "Cover",
    "Lawn",
    "LawnCovers",
    "PhotoRefused",
    "Reading",
    "SandSettings",
    "Season",
    "StraightDownCover",
    "SwardmarkError",
    "Trial",
    "check_photo",
    "cover_straight_down",
    "draw_practice_lawn",
    "measure_covers",
    "read_lawn",
    "read_photo",
    "relevel_plan_of",
    "sand_order",
    "season_of",
    "trial_of",
    "write_report",
]

_HOMES = {
    "Budget": "relevel.budget",
    "Cover": "canopy.cover",
    "StraightDownCover": "canopy.straight",
    "Lawn": "lawn.toml",
    "PhotoRefused": "common.errors",
    "Reading": "lawn.readings",
    "SandSettings": "lawn.toml",
    "Season": "season",
    "SwardmarkError": "common.errors",
    "Trial": "trial.rows",
    "trial_of": "trial.trial",
    "cover_straight_down": "canopy.straight",
    "check_photo": "measure.check",
    "draw_practice_lawn": "practice.lawn",
    "LawnCovers": "measure.covers",
    "measure_covers": "measure.covers",
    "season_of": "season",
    "read_lawn": "lawn.toml",
    "read_photo": "photo.decode",
    "relevel_plan_of": "season",
    "sand_order": "relevel.sand",
    "write_report": "report.html",
}


def __getattr__(name: str) -> Any:
    """Load a public name from its home when it is first asked for, so that `import swardmark` stays quick."""
    if name in _HOMES:
        return getattr(import_module(f"swardmark.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'swardmark' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
