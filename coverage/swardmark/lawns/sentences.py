"""What is said of many lawns, as templates with named fields."""

FAULT_OF_LAWN = "{folder}: an unforeseen fault ({kind}: {error})."

# What a lawn needs today.
ONE_NOT_FILLING_IN = "“{part}” is {status} at {cover:.0f} %: look at it."
MORE_NOT_FILLING_IN = "“{part}” is {status} at {cover:.0f} %, and {more} more: look at them."
PHOTO_OVERDUE = "Take a photo: the newest is from {last}, the next was due on {due}."
NO_PHOTO_YET = "Take the first photo: it was due on {due}."
NOTHING_DUE = "Nothing is due."
STALE = "The newest photo is from {last}."
OF_LAWN = "{need}: {name}{folder}. {sentence}{stale}"
IN_FOLDER = " in {folder}"

# Sand for many lawns.
NO_SAND = "No lawn has a low spot of measured depth, so no sand is planned."
NOTHING_FITS = "The budget reaches none of the measured spots."
ONE_DELIVERY = "Fill {spots} on {lawns} from one delivery, in this order:"
DELIVERIES = "Fill {spots} on {lawns} from {count} deliveries, about two months apart, in this order:"
DROP = "  {lawn}: {volume} for {spots}"
WAITING = "{spots} of measured depth must wait: the budget does not reach them."
UNPROBED = "{spots} on {lawns} are not measured yet; no sand is planned for them."
SPOTS = ("{count} spot", "{count} spots")
LAWNS = ("{count} lawn", "{count} lawns")
PRICES_DIFFER = (
    "The lawns name different prices of sand; the highest is used. Give the one you pay: --price-per-m3 or "
    "--price-per-yard."
)

# The report of many lawns.
MARK = "swardmark"
TITLE = "{count} lawns, {day}"
ROUND = "Who needs you first"
EACH = "Lawn by lawn"
SAND_ORDER = "Sand for all"
NOT_READ = "What could not be read"
NOT_READ_LINK = ("One lawn or photo could not be read", "{count} lawns or photos could not be read")
TODAY = "What to do"
COVER = "{cover:.0f} % covered"
COVER_OF = "of {area} in view"
NOT_READY = "To look at:"
CURVE_ALT = "{lawn}: {first:.0f} % on day {first_day:.0f}, {last:.0f} % on day {last_day:.0f}."
NEWEST_ALT = "The newest photo of {lawn}, {day}."
NO_PHOTO = "No photo yet."
DAY = "day {day:.0f}"
BACK = "All lawns"
FOOT = (
    "Each curve runs from the leveling to {last}, from 0 to 100 %: dots are photos, the line with its band is what is "
    "expected (80 %)."
)
