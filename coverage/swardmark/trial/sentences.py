"""What a trial says, as templates with named fields."""

# What is wrong with the plots of lawn.toml.
NO_PLOTS = "no zone has a treatment"
NO_PLOTS_REMEDY = "Give each plot's [[zone]] a treatment and a block, or lay the plots out with [plots]"
TWO_KINDS = "'{plot}' has two treatments or two blocks"
TWO_KINDS_REMEDY = (
    "Write the same treatment and block at every photo point, or give the plots different names"
)
NO_BLOCK = "'{plot}' has no block, but other plots have one"
NO_BLOCK_REMEDY = "Give it a block, or leave the blocks out everywhere"
NO_COVERS = "no plot was seen since leveling"
NO_COVERS_REMEDY = "Take a photo that shows the plots, or move the plots into the ground that the photos show"
XLSX_NEEDS = "an Excel workbook needs openpyxl, which is not installed"

# Notes.
NEVER_SEEN = (
    "Seen in no photo, and missing: {plots}. Ground inside the square, or out of view, is not measured."
)
NOT_SEEN_ON = "Not seen on every day, and missing there: {days}."
DAY_MISSING = "{plots} of {all} on {day}"
AND_MORE = "{names} and {more} more"
ADJUSTED = (
    "Where plots are missing, means are adjusted for blocks, so that treatments are compared on equal ground."
)
NO_BLOCKS = "No blocks are given: the analysis is that of a completely randomized design."
ONE_TREATMENT = "There is one treatment only, and nothing to compare it with."
NOT_CONNECTED = (
    "On {days} too few plots were seen to compare all treatments; the means of those days are plain means, "
    "without a test."
)
NO_ERROR = "On {days} the plots leave nothing to estimate an error from, and no treatment is tested."
UNLIKE_SPREAD = (
    "On {days} the means run from under 20 to over 80 %. Covers near 0 or 100 % vary less than those in between, so "
    "take the least significant difference of those days as a guide only."
)
TWO_POINTS_ONE = "1 plot was seen from more than one photo point; its covers are combined by their precision."
TWO_POINTS = (
    "{plots} plots were seen from more than one photo point; their covers are combined by their precision."
)
OTHER_ZONES = "Zones without a treatment are left out: {zones}."
TOO_EARLY = "It is too early for a forecast of {plots} of {all} plots; days to recover are from the others."

# Days to recover.
DAYS = "{day:.0f} ({earliest} to {latest})"
DAYS_OVER = "over {horizon:.0f}"
DAYS_OVER_FROM = "over {horizon:.0f} ({earliest} or later)"
DAY_NUMBER = "{day:.0f}"
UNKNOWN = "not known yet"

# The terminal.
HEAD = "{lawn}: {treatments} in {blocks}, {plots}, {days} since leveling."
HEAD_NO_BLOCKS = "{lawn}: {treatments}, {plots}, {days} since leveling."
COUNTS = {
    "treatments": ("1 treatment", "{count} treatments"),
    "blocks": ("1 block", "{count} blocks"),
    "plots": ("1 plot", "{count} plots"),
    "days": ("1 day of photos", "{count} days of photos"),
}
ON_DAY = "Cover on {date}, day {day}:"
HEADS = ("treatment", "plots", "cover %", "SE", "", "area % days", "", "days to 50 %", "days to 90 %")
TEST = "LSD (0.05) {lsd:.1f} points, CV {cv:.1f} %, F {f:.2f}, P {p}; error {df} df."
TEST_P = "{p:.3f}"
TEST_P_SMALL = "<0.001"
NO_TEST = "No test on this day."
AREA_TEST = "Area under the curve, day {first} to {last}: LSD (0.05) {lsd:.0f} % days, CV {cv:.1f} %, F {f:.2f}, P {p}."
SAME_LETTER = (
    "Means that share a letter do not differ significantly at 0.05 (protected LSD). SE is the standard error of a "
    "mean. Days are followed by their 95 % interval."
)

# The figure.
AXIS_COVER = "Cover (%)"
AXIS_DAYS = "Days since leveling"
LSD_BARS = "LSD 0.05"
FIGURE_NOTE = (
    "Bars on the lines: standard error of a mean. Letters: last day. Hollow LSD: no significant difference."
)
LINE_END = "{treatment}  {letters}"
