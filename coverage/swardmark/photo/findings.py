"""What was looked at in a photo, and from where on it is "fair" (a note) or "unfit" (the number would mislead).

    blur                 share of the detail that a 9-pixel mean leaves, 0..1      > 0.46 fair, > 0.61 unfit
    sharpness            variance of the Laplacian, squared 8-bit levels           never: kept as history
    softer than before   sharpness over the median of the point's earlier photos   < 0.08 fair
    glare                share of the ground with a clipped channel, 0..1          > 0.06 fair, > 0.40 unfit
    exposure             median brightest channel on the ground, 0..255            < 85 fair, < 55 unfit
    deep shade           share of the ground too dark to tell leaf from sand       > 0.10 fair, > 0.50 unfit
    one color            share of the ground in even patches of one color, 0..1    > 0.01 fair, > 0.10 unfit
    hard shadow          share of the ground under 0.35 of the lit ground's light  > 0.40 fair
    noise                noise of the smoothest patches, 8-bit levels              > 7 fair
    scene                share of ground colors (leaf, straw, sand, soil), 0..1   < 0.50 fair, < 0.25 unfit
    smooth surfaces      share of blocks without any texture, 0..1                 > 0.55 fair, > 0.70 unfit
    dye or paint         median hue of the green, degrees                          > 125 fair

Scene and smooth surfaces are notes at most where the square was found. "Drawn lawns" below are the practice lawn's
photos; cover is off against the same photo unspoilt, at a threshold of 0.12 of the damped excess green.
"""

from __future__ import annotations

from dataclasses import dataclass

from swardmark.photo import sentences

GOOD, FAIR, UNFIT = "good", "fair", "unfit"
NEVER = float("inf")


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at.

    Attributes
    ----------
    name : str
        As in the module's table.
    level : str
        "good", "fair" (a note, the interval may widen) or "unfit" (the number would mislead).
    value : float
        In the unit of the module's table; NaN if it could not be told.
    sentence, retake : str
        What is wrong and how to retake the photo: one plain sentence each, with its full stop; empty when good.
    """

    name: str
    level: str
    value: float
    sentence: str = ""
    retake: str = ""

    @property
    def words(self) -> str:
        """What is wrong and how to retake the photo."""
        return f"{self.sentence} {self.retake}"


@dataclass(frozen=True)
class Rule:
    """Where a value turns fair and unfit, and the templates of what is wrong and how to retake the photo."""

    name: str
    fair: float
    unfit: float
    sentence: str
    retake: str
    low_is_bad: bool = False

    def judge(self, value: float, *, at_most: str = UNFIT) -> Finding:
        """Return the finding for a value; NaN is good, for nothing was seen wrong."""
        sign = -1 if self.low_is_bad else 1
        if not sign * value > sign * self.fair:
            return Finding(self.name, GOOD, float(value))
        level = UNFIT if sign * value > sign * self.unfit and at_most == UNFIT else FAIR
        return Finding(
            self.name, level, float(value), f"{self.sentence.format(value=value)}.", f"{self.retake}."
        )


BLUR = Rule("blur", 0.46, 0.61, *sentences.BLUR)
"""Drawn lawns of 1600 pixels: 0.17-0.27 as drawn; 0.42-0.52 (cover off by 1-4 points) at a Gaussian of 3 pixels; from
0.61 on marks are lost and cover is off by 5 points and more. A sharp portrait of a cat reads 0.37."""
SOFTER = Rule("softer than before", 0.08, -NEVER, *sentences.SOFTER, low_is_bad=True)
"""Drawn lawns: from bare sand under cloud to full turf in the sun the same camera reads 310-3600, so that a new season
begins at 0.09 of the last; within a season it stays at 0.3-1.6. A Gaussian of 2 pixels at 1600 leaves 0.05."""
GLARE = Rule("glare", 0.06, 0.40, *sentences.GLARE)
"""Drawn lawns: 0.002 at most as drawn; 0.03-0.17 one stop brighter (cover high by up to 4 points), 0.5 two stops
(by up to 15)."""
EXPOSURE = Rule("exposure", 85.0, 55.0, *sentences.EXPOSURE, low_is_bad=True)
"""Drawn lawns: 117-152 as drawn; one stop darker 96-106 (cover low by up to 5 points), two 70-78 (by up to 14), three
51-57 (by up to 27)."""
DEEP_SHADE = Rule("deep shade", 0.10, 0.50, *sentences.DEEP_SHADE)
"""What cannot be read is not in a zone's cover; from a half on, the rest no longer speaks for the zone (our own)."""
ONE_COLOR = Rule("one color", 0.01, 0.10, *sentences.ONE_COLOR)
"""What a decoder shows in place of lost data. Drawn lawns and real turf: under 0.001, also as JPEG of quality 20."""
MOST_ONE_COLOR = 0.03
"""The same limit where no square shows either, and the ground is laid by the background alone (our own)."""
HARD_SHADOW = Rule("hard shadow", 0.40, NEVER, *sentences.HARD_SHADOW)
"""Drawn lawns: 0.00-0.14 with the shadow of a tree in a corner, 0.61 with its crown over the square."""
NOISE = Rule("noise", 7.0, NEVER, *sentences.NOISE)
"""Drawn lawns: 0.4-1.6 as drawn; 6.7 (cover off by 6 points) at added noise of 8 levels, 9.8 (by 11 points) at 12.
Sharp real turf alone, seen straight down, reads 5.6 (skimage.data.grass), so that this is a note at most."""
SCENE = Rule("scene", 0.50, 0.25, *sentences.SCENE, low_is_bad=True)
"""Drawn lawns: 0.93-0.99; photographs of a portrait, a cup and a rocket: 0.36, 0.47, 0.14."""
SMOOTH = Rule("smooth surfaces", 0.55, 0.70, *sentences.SMOOTH)
"""Drawn lawns: 0.01 at most; a drawn living room: over 0.7; a real brick wall: 0.5."""
DYE = Rule("dye or paint", 125.0, NEVER, *sentences.DYE)
"""A single pigment spray lowered the cover that every method read (five trials in Oregon and New Jersey: Comparing
methods to quantify cover in turfgrass research). The hue of turf lies between 60 and 120 deg (Karcher and Richardson
2003, Crop Sci. 43:943-951); the five degrees beyond are our own. Drawn lawns: 80-90."""
PIXEL_RULES = (BLUR, SOFTER, GLARE, EXPOSURE, DEEP_SHADE, ONE_COLOR, HARD_SHADOW, NOISE, SCENE, SMOOTH, DYE)
