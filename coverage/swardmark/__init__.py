"""swardmark measures from photos how a lawn grows back after it was levelled with sand.

>>> import swardmark
>>> season = swardmark.measure_lawn("sample_images/tern_cottage")  # doctest: +SKIP
>>> season.outlook.first_mow.sentence  # doctest: +SKIP
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from swardmark.canopy.cover import Cover
    from swardmark.canopy.field import FieldCover, canopy_cover
    from swardmark.check import check_photo
    from swardmark.errors import PhotoRefused, SwardmarkError
    from swardmark.lawn.lawn import Lawn, read_lawn
    from swardmark.outlook.sand import sand_order
    from swardmark.photo.decode import read_photo
    from swardmark.practice.lawn import draw_practice_lawn
    from swardmark.report.html import write_report
    from swardmark.review import SeasonReview, measure_lawn, relevel_plan_of

__version__ = "0.1.0"

__all__ = [
    "Cover",
    "FieldCover",
    "Lawn",
    "PhotoRefused",
    "SeasonReview",
    "SwardmarkError",
    "canopy_cover",
    "check_photo",
    "draw_practice_lawn",
    "measure_lawn",
    "read_lawn",
    "read_photo",
    "relevel_plan_of",
    "sand_order",
    "write_report",
]

_HOMES = {
    "Cover": "canopy.cover",
    "FieldCover": "canopy.field",
    "Lawn": "lawn.lawn",
    "PhotoRefused": "errors",
    "SeasonReview": "review",
    "SwardmarkError": "errors",
    "canopy_cover": "canopy.field",
    "check_photo": "check",
    "draw_practice_lawn": "practice.lawn",
    "measure_lawn": "review",
    "read_lawn": "lawn.lawn",
    "read_photo": "photo.decode",
    "relevel_plan_of": "review",
    "sand_order": "outlook.sand",
    "write_report": "report.html",
}


def __getattr__(name: str) -> Any:
    """Load a public name from its home when it is first asked for, so that `import swardmark` stays quick."""
    if name in _HOMES:
        return getattr(import_module(f"swardmark.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'swardmark' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
