"""What each setting and column means, in a keeper's words; names, ranges and defaults come from the code itself.

A name that the code has and this file has not, or the other way round, fails the generator.
"""

from __future__ import annotations

SETTINGS: dict[str, dict[str, str]] = {
    "": {
        "name": "what reports call the lawn",
        "grass": "which grass grows there; it sets what recovery is expected (short names such as zoysia do)",
        "units": "what reports show; files stay metric",
        "square_side_m": "side of the reference square, outer black corner to outer black corner [m]",
        "lawn_outline_m": "the whole lawn's outline as `[[x, y], ...]` in meters from the square's corner 0",
        "area_m2": "the whole lawn's area, where no outline is drawn [m²]; for the sand of a whole topdressing",
    },
    "[[leveling]]": {
        "date": "the day on which the sand was spread",
        "depth_mm": "its mean depth [mm]",
        "note": "anything you want to remember",
    },
    "[[point]]": {
        "name": "a place from which you photograph; also the name of its folder in photos/",
        "square_side_m": "the side of the square used there, if it is another one [m]",
        "note": "anything you want to remember, such as where to stand",
    },
    "[[zone]]": {
        "name": "what you call this part of the lawn, or this plot",
        "outline_m": "its corners in order, as `[[x, y], ...]` in meters from the square's corner 0",
        "point": "the photo point from which it is seen",
    },
    "[measure]": {
        "point_spacing_mm": "distance between the points that are read on the ground [mm]",
        "max_view_deg": "ground seen flatter than this, in degrees from the vertical, is left out",
        "max_footprint_mm": "ground of which one pixel sees more than this is left out [mm]",
        "damping": "k of a damped excess green, (2G - R - B) / (R + G + B + k) on 8-bit values; 0 is the plain index",
        "threshold": "the index of a pixel that is half leaf, or auto",
    },
    "[outlook]": {
        "first_mow_cover_pct": "lawn cover from which the first mow is thought of [%]",
        "full_cover_pct": "cover that counts as full [%]",
        "mow_at_times_target": "mow when the leaf is so many times the target height",
        "base_temperature_c": "temperature below which the grass does not grow [°C]; used with weather.csv",
    },
    "[mowing]": {
        "usual_height_mm": "height of cut the lawn is usually kept at [mm]",
        "target_height_mm": "height of cut of the first mow [mm]",
        "scalp_height_mm": "height of cut right before the sand [mm]",
    },
    "[sand]": {
        "pass_depth_mm": "depth of one pass [mm]",
        "settling_pct": "how much more to order because sand settles [%]; no authority gives a figure",
        "passes_per_season": "the most passes over one spot in a season",
        "scoop_m3": "what a loader's scoop holds [m³] (half a cubic yard)",
        "bag_litres": "what a bag holds [l] (half a cubic foot)",
        "bucket_litres": "what a bucket holds [l] (5 US gallons)",
        "barrow_litres": "what a wheelbarrow holds [l] (6 cubic feet)",
        "payload_kg": "what your vehicle may carry [kg]",
        "price_per_m3": "price of a cubic meter of sand, in your currency",
        "delivery_price": "price of each delivery",
    },
    "[confirmed]": {
        "dry": "day on which you found the surface dry",
        "firm": "day on which you found the ground firm underfoot",
        "tug_test_passed": "day on which a tug did not lift the turf",
        "no_loose_ridges": "day on which no loose ridge of sand was left",
    },
}

READINGS: dict[str, str] = {
    "date": "day of the reading, as 2026-06-09",
    "point": "the photo point, where two points have zones of the same name",
    "zone": "where it was read; empty for the whole lawn",
    "height_mm": "leaf height [mm]",
    "height_in": "or leaf height in inches",
    "dip_mm": "depth of a low spot under a straightedge [mm]",
    "dip_in": "or that depth in inches",
    "firm": "yes or no: firm underfoot?",
    "note": "anything you want to remember",
    "spot": "number of the spot in spots.csv that a dip belongs to",
    "x_m": "or where the dip is: meters from the square's corner 0 along its near side",
    "y_m": "and meters away from you along its left side",
}

DIARY: dict[str, str] = {
    "date": "the day, as 2026-06-09",
    "what": "watered, fed, rain, mowed, edged, sanded or note",
    "amount": "how much, as you would say it",
    "note": "anything you want to remember",
}

WEATHER: dict[str, str] = {
    "date": "the day, as 2026-06-09",
    "tmin_c": "lowest air temperature [°C]",
    "tmax_c": "highest air temperature [°C]",
    "tmin_f": "or lowest [°F]",
    "tmax_f": "or highest [°F]",
    "tmin": "or lowest, in the unit of the column unit",
    "tmax": "or highest, in the unit of the column unit",
    "unit": "C or F, for tmin and tmax",
}

MARKS: dict[str, str] = {
    "corners_px": "corners of the square (near left, near right, far right, far left): `[[x, y], ...]`, upright pixels",
    "taken_at": "when the photo was taken, over what the file says",
}

SPOTS: dict[str, str] = {
    "spot": "its number on the picture, near to far",
    "point": "the photo point",
    "zone": "the zone its middle lies in",
    "x_m": "its middle: meters from the square's corner 0 along the near side",
    "y_m": "and meters away from you along the left side",
    "area_m2": "its area, square meters",
    "cover_pct": "cover inside it on the last dates, percent",
    "lag_days": "days behind the lawn; empty where it has not caught up",
    "depth_mm": "mean depth of the dips measured there, millimeters; empty if none was",
    "sand_litres": "sand to fill it, litres; at the least usual depth if none was measured",
    "passes": "passes it takes",
    "priority": "1 is worth most per litre of sand",
    "seasons_seen": "seasons in which it was a spot",
    "why": "why it is one, and what speaks against plain sand there",
}

CONSTANTS: dict[str, tuple[tuple[str, str], ...]] = {
    "ground-constants": (
        ("ground.trust.LEAST_SIDE_PX", "longest side of the square in the photo, at least [px]"),
        ("ground.trust.LEAST_DEPTH_PX", "its area over that side, at least [px]"),
        ("ground.trust.PITCH_DEG", "camera pitch below the horizontal, from and to [degrees]"),
        ("ground.trust.HEIGHT_M", "camera height, from and to [m]"),
        ("ground.trust.MOST_DISTORTION", "most distortion of the square, by where the focal length comes from"),
        ("ground.align.MOVED_M", "smaller moves of the square are not told from error [m]"),
        ("ground.relative.MOST_ERROR_CM", "largest standard error of a kept frame, 3 m ahead of the camera [cm]"),
    ),
    "canopy-constants": (
        ("canopy.index.DARKEST_READABLE", "brightest channel below this: too dark to read [8-bit]"),
        ("canopy.index.BRIGHTEST_READABLE", "darkest channel above this: clipped [8-bit]"),
        ("canopy.white.LARGEST_GAIN", "largest gain of the white balance"),
        ("canopy.threshold.USUAL_GROUND", "usual index of sand and soil"),
        ("canopy.threshold.USUAL_FULL", "index of full turf where no photo tells"),
        ("canopy.threshold.LEAST_FULL", "least index that is taken for full turf"),
        ("canopy.turf.GROUND_WAY", "a point looks like ground up to this part of the way to the densest cell"),
        ("canopy.turf.MOST_GROUND", "largest share of such points in a closed cell"),
        ("canopy.threshold.LIGHT_LEAN", "lean of mixed points toward the ground, over the light of leaves over ground"),
        ("canopy.threshold.BARE_DOUBT", "half-width of the range of bare ground's index"),
        ("canopy.threshold.FULL_DOUBT", "half-width of the range of full turf, share of the way from bare to full"),
        ("canopy.field.WARM_WEIGHT", "single straight-down photo: share of red above blue that is taken away"),
        ("canopy.field.GROUND_AT_MOST", "there, the largest index taken for ground"),
        ("canopy.field.LEAF_AT_LEAST", "the least taken for leaf"),
        ("canopy.field.WAY_TO_LEAF", "where between the two the threshold lies"),
        ("canopy.field.LOWEST", "the least threshold"),
        ("canopy.field.HIGHEST", "the largest"),
        ("canopy.field.DARKEST", "brightest channel below this: left out [8-bit]"),
        ("canopy.field.FIXED", "and the threshold used where leaf and ground are not both seen"),
    ),
    "cover-constants": (
        ("canopy.cover.SLANT_POWER", "power of the cosine in the slant step"),
        ("canopy.cover.SLANT_POWER_SD", "its standard deviation over lawns"),
        ("canopy.cover.CELL_M", "side of the cells in which the step is done [m]"),
        ("canopy.cover.PHOTO_SD_PCT", "least error of a photo, one standard deviation [points]"),
        ("canopy.cover.LEAF_SD", "doubt about the leaf in mixed pixels"),
        ("canopy.cover.POINTS_PER_SAMPLE", "neighboring points that count as one independent one"),
    ),
    "outlook-constants": (
        ("bank.bank.MEMBERS", "recoveries in the bank"),
        ("bank.priors.ERROR_SCALES_PCT", "scales of a photo's error that are tried [points]"),
        ("bank.priors.ERROR_FREEDOM", "degrees of freedom of Student's t"),
        ("bank.priors.WEIGHT_PER_DAY", "weight of a photo, per day of age"),
        ("bank.priors.TEMPER", "tempering, because photos of one zone err together"),
        ("bank.priors.LIGHT_SHARE", "share of a photo's error variance that all of its zones have in common"),
        ("bank.priors.BAD_PHOTO_SHARE", "share of photos that are bad in all zones"),
        ("bank.priors.BAD_PHOTO_SD_PCT", "and by how much, one standard deviation [points]"),
        ("bank.priors.LAWN_PACE_SHARE", "share of the variance of the pace that lies between lawns"),
        ("bank.priors.LAWN_FORM_SHARE", "share of zones that follow their lawn's form of growth"),
        ("bank.priors.SEASON_PER_T50", "season in which a cover must be reached, in half-way days of the grass"),
        ("bank.priors.ZONE_COUPLING", "rank correlation of the zones in the lawn's total"),
        ("forecast.status.LEAST_PHOTOS", "photos before any forecast"),
        ("forecast.status.LEAST_DAYS", "days between the first and the last of them"),
        ("forecast.status.FLAG_PHOTOS", "photos before a zone is flagged"),
        ("forecast.status.NOT_FILLING", "chance of full cover in time below which a zone is not filling in"),
        ("forecast.status.LEAST_POINTS", "points behind before a zone is flagged"),
    ),
    "spot-constants": (
        ("relevel.spots.CELL_M", "side of the cells that are followed over the dates [m]"),
        ("relevel.spots.LEAST_AREA_M2", "smaller places are not spots [m²]"),
        ("relevel.spots.LEAST_LAWN_COVER", "cover of the lawn below which no spot is named"),
        ("relevel.regions.JOIN_M", "pieces nearer to each other are one place [m]"),
        ("relevel.borders.CUT_OFF_M", "bare ground that meets the edge of the view over so much is left out [m]"),
        ("relevel.borders.CUT_OFF_SHARE", "or with this share of its rim"),
        ("relevel.borders.SOME_LEAF", "unless this share was leaf on a photo since the sand"),
        ("relevel.borders.ONCE_LAWN", "or this share on one from before it or of another season"),
        ("relevel.sand.DRY_KG_M3", "dry sand [kg/m³]"),
        ("relevel.sand.WET_KG_M3", "wet sand [kg/m³]"),
        ("relevel.sand.WARN_DEPTH_MM", "depth of a pass above which a warning is given [mm]"),
        ("relevel.sand.MOST_DEPTH_MM", "and above which it is refused [mm]"),
    ),
}  # fmt: skip
