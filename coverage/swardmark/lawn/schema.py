"""What all tables of lawn.toml are made of: checked names, outlines in meters, and the table itself."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_validator

from swardmark.common.files import UNSHOWABLE


def _can_be_shown(name: str) -> str:
    if UNSHOWABLE.search(name):
        raise ValueError("holds characters that cannot be shown, such as a line break")
    return name


def _checked_outline(outline: Corners) -> Corners:
    from shapely import Polygon
    from shapely.validation import explain_validity

    if len(outline) > 1 and outline[0] == outline[-1]:
        outline = outline[:-1]
    if len(outline) < 3:
        raise ValueError(f"an outline needs at least three corners, this one has {len(outline)}")
    if any(not abs(value) < 1000 for corner in outline for value in corner):
        raise ValueError("corners are meters from the square and lie within 1000 m")
    shape = Polygon(outline)
    if not shape.is_valid:
        raise ValueError(f"the outline crosses itself ({explain_validity(shape)}): list its corners in order")
    if shape.area < 0.01:
        raise ValueError(
            f"the outline encloses {shape.area * 1e4:.0f} cm2; the least that can be measured is 100"
        )
    return outline


Corners = tuple[tuple[float, float], ...]
Outline = Annotated[Corners, AfterValidator(_checked_outline)]
Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_can_be_shown)]


class Table(BaseModel):
    """A table of lawn.toml: only known settings, none of them yes or no."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    @field_validator("*", mode="before")
    @classmethod
    def _no_setting_is_yes_or_no(cls, value: Any) -> Any:
        if isinstance(value, bool):
            raise ValueError(f"no setting is {str(value).lower()}")
        return value
