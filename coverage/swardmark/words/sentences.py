"""What report, terminal, page and calendar say of a season, as templates with named fields."""

# Values.
UNKNOWN = "not known yet"
NOT_IN_SIGHT = "not in sight"
NOW = "now"
PERCENT = "{value:.0f} %"
GAIN = "{gain:+z.1f} points a day"
DAYS_FROM_TO = "{first} to {last}"
DAY_WITH_WINDOW = "{day} ({window})"
DAY_WITH_CHANCE = "{day} ({window}, chance {chance})"
SPOT = "spot {number}"
MEASURE_IT = "measure it"
GREEN = "green"
VIEW = "{degrees:.0f}°"
INTERVAL = "{low:.0f} to {high:.0f} %"
SQUARE_WITH_MISFIT = "{square}, misfit {error:.1f} px"
NOT_IN_VIEW = "not in view"

# When a spot gets its sand.
COMING_SEASON = "coming season"
COMING_SEASON_ALL = "coming season, {passes} passes"
COMING_SEASON_PART = "coming season, {now} of {passes} passes"
LATER_SEASON = "later"
NO_SAND = "no sand"
BEYOND_A_SEASON = "too much for one season"

# Heads of tables.
ZONE_HEADS = (
    "Zone", "Status", "Cover", "Gained", "Cover for the first mow", "Full", "Full by day 28", "Area", "Why",
)  # fmt: skip
SPOT_HEADS = ("Number", "Where", "Area", "Cover", "Depth", "Sand", "Passes", "Priority", "Why")
PHOTO_HEADS = ("Photo", "Taken", "Date from", "View from the vertical", "Readable", "Square", "Notes")
OUTLOOK_HEADS = (
    "zone", "status", "cover", "course", "points a day", "cover to mow", "full", "full by day 28",
)  # fmt: skip
COVER_HEADS = ("zone", "cover", "course", "95 % interval", "newest", "view", "area")
PLAN_HEADS = ("spot", "where", "area", "cover", "depth", "sand", "priority", "when")

# The terminal.
WITHOUT_FLAGGED = "without the flagged zones"
ABOUT_ZONE = "{zone}: {why} {look_for}"
STACKED_CELL = "{head}: {cell}"
STILL_MISSING = "Before the first mow you still need:"
LISTED = "- {line}"
NEXT_PHOTO = "Next photo: {day}."
NO_ZONES_DRAWN = "No zones are drawn, so the ground in view was divided into named patches."
MAP_IS_IN_THE_REPORT = "The report has a map with these numbers: swardmark report {folder}"
CAUTION = "{action}: {text}"

# The calendar.
MOW_TITLE = "First mow window"
ALARM = "Today on the lawn"
MOW_CHECKS = "Before you mow:"
EVENT_TITLE = "{title} ({lawn})"

# Counted by eye.
COUNTED = (
    "{photo}, {zone}: counted by eye {cover:.0f} % ({low:.0f} to {high:.0f}), "
    "measured {tool:.0f} % ({points} points)."
)
COUNTED_APART = "They differ by more than chance."
COUNTED_CANNOT_TELL = "{blank} points could not be judged."
COUNTED_EYE_ERROR = "Points shown twice: the eye errs in {error:.0f} %, and the count allows for it."
COUNTED_STRAIGHT_DOWN = (
    "{photo}, {zone}: counted by eye on a photo taken straight down {cover:.0f} % ({low:.0f} to {high:.0f}), measured "
    "at a slant {tool:.0f} % ({points} points)."
)
FITTED_TO_COUNTS = (
    "The photos alone differed from the counts by more than chance, so all covers were fitted to {points} points "
    "counted by eye."
)
FITTED_TO_COUNTS_AT = (
    "At {point} the photos alone differed from the counts by more than chance, so its covers were fitted to {points} "
    "points counted by eye."
)
AGREES_WITH_COUNTS = (
    "The photos agree with {points} points counted by eye; covers and intervals rest on both."
)
AGREES_WITH_COUNTS_AT = (
    "At {point} the photos agree with {points} points counted by eye; covers and intervals rest on both."
)
SLANT_FITTED = (
    "How much upright blades hide at a slant was fitted to {points} points counted on photos taken straight down; all "
    "covers follow it."
)
SLANT_FITTED_AT = (
    "At {point} how much upright blades hide at a slant was fitted to {points} points counted on photos taken straight "
    "down; its covers follow it."
)

# Odd ground.
ONE_MORE_NOTED = "One earlier photo is noted in cover.csv."
MORE_NOTED = "{count} earlier photos are noted in cover.csv."
