"""What the report, its figures and its pictures say, as templates with named fields; the target has its own table."""

# Head and verdict.
TITLE = "{lawn}: how the lawn grows back"
DAY_AFTER_LEVELING = "day {day} after leveling"
DAY_OF_PHOTOS = "day {day} of photos"
ONE_PHOTO = "1 photo"
PHOTOS = "{count} photos"
VERDICT = "Verdict"
FIRST_MOW = "First mow"
LAWN_FULL = "Lawn full"
GROUND = "of the {area} in view is covered"
GROUND_RANGE = "of the {area} in view is covered ({low:.0f} to {high:.0f} %)"
CHANGE = "{before:.0f} → {now:.0f} in {days:.0f} days"
NOT_READY = "Not ready:"
PART = "{part} {cover:.0f} %"
PART_WITH_STATUS = "{part} {cover:.0f} %, {status}"
MOWED = "{day}, by your diary"
READY = "ready: all checks are met"
AFTER_CHECKS = "once the checks are done"
AFTER_PHOTO = "once there is a new photo"
NO_DATE = "no date yet"
NOW = "now"
FULL_NOT_IN_SIGHT = "not in sight yet"
WINDOW_AND_CHANCE = "{day} ({window}, chance {chance})"
WHY_AND_CARE = "why, and take care"
WHY = "why"
TODAY = "To do on {day}: {phase}"
MOW_AS_ABOVE = "Pick up stones, then mow as said above."
DAYS_AHEAD = "The days ahead"

# What comes next.
NEXT_PHOTO = "Next photo:"
LATER_PHOTOS = "then {days}"
BEFORE_FIRST_MOW = "Before the first mow"
LOOK_HERE = "Check these places"
WAY_BACK = "Back to the usual height, never more than a third of the leaf at a time"
WAY_BACK_LABEL = "Mowings back to the usual height"
WAY_BACK_HEADS = ("Mowing", "Leaf before", "Cut at")
WAY_BACK_NOTE = "The days are estimated from leaf growth; go by the height of the leaf, not the date."
STEPS = "Before the next sand"
STEPS_LABEL = "Steps before the next sand"
STEPS_HEADS = ("Day", "What", "Take care")

# Pictures.
PICTURES = "Pictures"
PICTURES_FROM = "Pictures from {point}"
PHOTO_OF = "Photo of {day}"
STRAIGHT_DOWN = "The same ground seen straight down"
SLIDER_LABEL = "Date: move it by mouse, finger or arrow keys"
SHOW_OUTLINES = "Show the outlines."
OUTLINE_KEY = (
    "Line: ground that is less than half covered. What was taken for a path or a bed has no line. Where most "
    "of the ground is bare there are no lines."
)
DIP_KEY = " Blue line on the newest photo: low ground under green turf."
SLIDER_LEFT_OUT = "Dates not on the slider, to keep this file small: {count}."
ALL_PHOTOS = "Every date, large and small"
STRIP_LABEL = "All photos, oldest first"
PHOTO_LABEL = "{day}, day {number}: {cover} covered"
PHOTO_ALT = "Photo of {label}. {rings}"
VIEW_ALT = "The ground seen straight down on {label}. {rings}"
THUMB_ALT = "Small photo of {label}."
PHOTO_GONE = "{photo} is no longer in photos/. {alt}"
NO_RING = "No place is outlined."
ONE_RING = "One bare place is outlined."
RINGS = "{count} bare places are outlined."

STRAIGHT_DOWN_CAPTION = (
    "{cover:.0f} % covered ({low:.0f} to {high:.0f} %), {points:,} points read; bare ground outlined"
)
STRAIGHT_DOWN_UNREADABLE = "too dark to read"

# Curves.
CURVES = "Cover over time"
CURVES_KEY_SUMMARY = "How to read the curves"
CURVES_KEY = (
    "Dots: measured cover with its 95 % interval; a hollow dot is held out until the next photo confirms it. Line: the "
    "most likely course. Dark band: four courses out of five stay inside it (80 %). Light band: 95 %. Dotted vertical "
    "line: the day of this report. A fork: a zone that stands still may stay so or resume, each with its chance."
)
DIARY_KEY = "Diary: {signs}."
DIARY_SIGN = "{sign} {what}"
ALL_ZONES = "All zones together"
EACH_ZONE = "Each zone by itself"
ALL_ZONES_ALT = "All zones in one picture. {zones}"
SEASONS = "Season against season"
SEASONS_ALT = "Mean cover of each season over the days since its leveling."
HIDDEN_ZONES = "Zones only in the table below and in outlook.csv: {count}."
ZONE_TITLE = "{zone}: {status}"
ZONE_TITLE_POINT = "{zone} ({point}): {status}"
CURVE_ALT_NO_PHOTO = "{zone}: no photo yet."
CURVE_ALT_FIRST = "{zone}: {first:.0f} % on day {first_day:.0f}."
CURVE_ALT = "{zone}: {first:.0f} % on day {first_day:.0f}, {last:.0f} % on day {last_day:.0f}."
CURVE_ALT_FORECAST = "Forecast for day {day:.0f}: {low:.0f} to {high:.0f} %."
AXIS_COVER = "cover, percent"
AXIS_DAYS = "days since leveling"
TICK = "{date}\nday {day}"
LEVELED = "leveled {day}"
MOW_LINE = "first mow {gate:.0f} %"
COURSE = "{name} {share:.0f} %"

# Zones.
ZONE_BY_ZONE = "Zone by zone"
ZONES_SUMMARY = "Every zone in numbers"
ZONES_NOTE = (
    "Days in parentheses: the 80 % window. The chance by the last day of the window is given where it is below "
    "three in four. cover.csv and outlook.csv, beside this file, hold every measured value."
)

TRIAL_NOTE = "Treatments are compared, plot by plot, by swardmark trial."

# The next leveling.
NEXT_LEVELING = "The next leveling"
SPOTS_FROM_ABOVE = "The spots from above"
SPOTS_FROM_POINT = "Spots seen from {point}"
SPOTS_ALT = "Map of the ground in view with each spot outlined and numbered as in the table."
SPOTS = "Spots"
SPOTS_SUMMARY = "Every spot in numbers"
RELEVEL_MORE = "The sand, the season and what was left out"
KEY_CHOSEN = "Solid outline: sand in the coming season."
KEY_WAITING = "Dashed: no sand yet."
KEY_GREEN = "Blue: low ground under green turf."
KEY_LEFT_OUT = "Dotted: left out."
KEY_MENDED = "Dash and dot: mended since last season."
TAKE_CARE = "Take care"

# How sure.
HOW_SURE = "How sure, and why"
SURE_SUMMARY = "Intervals, light, zones and photos"
VIEW_ANGLE = "On average the camera saw the ground {view:.0f} degrees from the vertical."
VIEW_STEEP = "Photograph from higher up (a firm step, a porch) and closer in."
INTERVAL = "The 95 % interval of one measured cover is about {half:.0f} points either way."
THRESHOLD = (
    "A point counts as half leaf at an excess green of {value:.3f} (from: {source}; likely range {low:.3f} to "
    "{high:.3f})."
)
THRESHOLD_AT = (
    "At {point}, a point counts as half leaf at an excess green of {value:.3f} (from: {source}; likely range {low:.3f} "
    "to {high:.3f})."
)
PATCHES = (
    "No zones are drawn, so the ground in view was divided into named patches, near left to far right. Draw your own "
    "under [[zone]] in lawn.toml."
)
PATCHES_AT = (
    "No zones are drawn at {point}, so the ground in view was divided into named patches, near left to far right. Draw "
    "your own under [[zone]] in lawn.toml."
)
TIME_AXIS = "Time axis of the forecast: {method}."
WHERE_ZONES_LIE = "Where the zones lie"
ZONES_OF = "Zones of {point}"
GROUND_MAP_ALT = "Map of the ground in view on the newest date with the zones {zones}."
REFUSED = "Photos refused"
COPIES = "Copies left out"
COPY = "{copy} is the same photo as {first}."
PHOTO_BY_PHOTO = "Photo by photo"
HIDDEN_PHOTOS = "Photos only in cover.csv: {count}."
CAUTIONS = "Cautions"
GENERAL_CAUTIONS = (
    "A photo shows cover, not height or health: probe with a straightedge and look closely before you spend money.",
    "The forecast assumes that your lawn recovers as other lawns have; heat, cold, water and foot traffic change that.",
    "For products, rates and timing, follow the label and local rules. Ask before you dig near trees or buried lines.",
)
FILES = "Tables and calendar, inside this file:"
FOOTER = "Made by swardmark on this machine; nothing was sent anywhere. Colors: Okabe and Ito 2008."

# Maps.
MAP_RIGHT = "{unit} to the right of mark 0"
MAP_AWAY = "{unit} away from mark 0"
MAP_LEAF = "half covered or more"
MAP_BARE = "less"
MAP_UNREADABLE = "not readable"
MAP_SQUARE = "square"
MAP_LEFT_OUT = "left out"

# Level ground.
LEVEL_SECTION = "How level it is"
LEVEL_MORE = "What the heights rest on"
LEVEL_SUMMARY = "Every low and high spot in numbers"
LEVEL_MAP = "Heights, and the spots to fill and to cut"
LEVEL_MAP_OF = "Heights seen from {point}"
LEVEL_MAP_NOTE = "Contours every {step} above and below the fall of the ground; letters as in the table."
LEVEL_MAP_ALT = "Map of measured heights with {low} low and {high} high spots, lettered as in the table."
LOAD_MAP = "What to carry where"
LOAD_MAP_NOTE = (
    "Buckets of {bucket} for each square of {step}, damp sand counted a quarter looser than in place. "
    "Start with the low spots that need most."
)
LOAD_MAP_ALT = "Map of the lawn in squares with the number of buckets of sand for each."
LEVEL_SPOTS = "Low and high spots"
LEVEL_HEADS = ("Spot", "Where", "Area", "Deepest", "Mean", "Volume", "95 % range")
LEVEL_LOW, LEVEL_HIGH = "low {letter}", "high {letter}"
LEVEL_FILL, LEVEL_CUT, LEVEL_RANGE = "fill {litres}", "take off {litres}", "{low} to {high}"
LEVEL_KEY_LOW, LEVEL_KEY_HIGH = "low", "high"
LEVEL_KEY_FILL, LEVEL_KEY_CUT = "fill", "cut"

# The map of measured sand.
RELIEF_SECTION = "Is the sand level?"
RELIEF_MAP = "Heights of the ground on {day}"
RELIEF_MAP_OF = "{title}, {point}"
RELIEF_MAP_ALT = "Map of measured heights with contours; low spots numbered: {dips}"
RELIEF_MAP_NOTE = (
    "Blue lies low, sand-colored lies high, in {unit}; numbered: the gap under the straightedge."
)
HEIGHT_UNIT = {"metric": "millimeters", "us": "inches"}
RELIEF_PLACES_NOTE = "Leaf hides the ground: numbered places look low, without a depth. Probe them."

COVER_DEPTH_SLOW = (
    "So much sand in one pass held the grass back {points:.0f} points here: next season fill such places in passes of "
    "{depth} or less, and keep leaf tips visible."
)
COVER_DEPTH_FINE = "The grass came through it as fast as elsewhere: sand of that depth was not too deep here."
COVER_BY_DEPTH = (
    "Cover and level: the spot with over {depth} of sand stands at {deep:.0f} % cover, the rest at {rest:.0f} %.",
    "Cover and level: the {count} spots with over {depth} of sand stand at {deep:.0f} % cover, the rest at "
    "{rest:.0f} %.",
)
