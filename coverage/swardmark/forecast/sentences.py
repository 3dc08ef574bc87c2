"""What the forecast says, as templates with named fields."""

# Why a zone has its status: one sentence each.
FULL = "{cover:.0f} % covered on day {day:.0f}; {full:.0f} % counts as full, give or take 3 points."
LOSING_GROUND = "{cover:.0f} % covered on day {day:.0f}, down from {best:.0f} %{weak}."
STALLED_FLAT = (
    "{cover:.0f} % covered on day {day:.0f}, {behind:.0f} points behind the usual pace, and not gaining "
    "({gain:+z.1f} points a day); the chance of {full:.0f} % by {due_on} is {odds}{weak}."
)
STALLED = (
    "{cover:.0f} % covered on day {day:.0f}, {behind:.0f} points behind the usual pace, {gain:+z.1f} points a day; "
    "even by {late_on} the chance of {full:.0f} % is {late_odds}{weak}."
)
SLOW = (
    "{cover:.0f} % covered on day {day:.0f}, {behind:.0f} points behind the usual pace, {gain:+z.1f} points a day; "
    "the chance of {full:.0f} % by {due_on} is {odds}{weak}."
)
FILLING_IN = (
    "{cover:.0f} % covered on day {day:.0f}, {gain:+z.1f} points a day; {full:.0f} % is expected around {full_on} "
    "(chance of it by {full_by}: {chance_by})."
)
FILLING_IN_UNDATED = (
    "{cover:.0f} % covered on day {day:.0f}, {gain:+z.1f} points a day; "
    "the chance of {full:.0f} % by {due_on} is {odds}."
)
# The two courses of a zone that stands still.
COURSES = (
    "In four weeks: about {stays:.0f} % if it stays as it is ({stays_share}), about {resumes:.0f} % if growth resumes "
    "({resumes_share})."
)
WEAK_SIGN = "; this early, that is only a weak sign"

# Why there is no forecast yet.
NO_PHOTO = "No photo since leveling; a forecast needs at least {least} over {days:.0f} days or more."
ONE_PHOTO = "Only one photo since leveling; a forecast needs at least {least} over {days:.0f} days or more."
FEW_PHOTOS = (
    "Only {photos} photos over {span:.0f} days since leveling; "
    "a forecast needs at least {least} over {days:.0f} days or more."
)
CLOSE_PHOTOS = (
    "{photos} photos over {span:.0f} days since leveling; "
    "a forecast needs at least {least} over {days:.0f} days or more."
)
DORMANT_ZONE = (
    "{cover:.0f} % green on day {day:.0f}, down from {best:.0f} %: the grass is going dormant in the cold, which is no "
    "damage. Measure again once it greens up."
)
PHOTOS_APART = (
    "The parts of the lawn were photographed more than a week apart; take them all within a few days for a forecast of "
    "the whole."
)
LITTLE_AREA = "Less than half of the lawn's area has enough photos for a forecast."

# What to check on the ground where a zone is not filling in: never a product, never a rate.
CHECK_STALLED = (
    "Push a ruler into the sand in five places: more than {deep} over the old surface smothers the grass. "
    "Check whether the sand is dry a finger deep, count the hours of sun, and look for chewed blades or turf that "
    "peels up like a rug.{water}"
)
CHECK_SLOW = (
    "Compare the hours of sun here with the rest of the lawn, check whether the sand is dry a finger deep, "
    "and measure how deep it lies.{water}"
)
CHECK_LOSING_GROUND = (
    "Look closely for dry, curled blades, spots or rings, chewed blades, wheel or dog tracks, and sand washed over "
    "the grass. If the cause is not plain, ask your local extension office.{water}"
)
CHECK_AS_IN = "Check the same things as in “{zone}”."
BURIED_DEPTH = "13 mm"
BURIED_DEPTH_US = "1/2 in"
NO_WATER = " The diary shows no watering or rain for {days} days."

# Notes about the lawn and its photos.
NO_LEVELING_DATE = (
    "lawn.toml gives no leveling date up to {day}, so days count from the first photo, {first}."
)
PAST_OWN_ONE = "The forecast starts from this lawn's season before."
PAST_OWN = "The forecast starts from this lawn's {own} past seasons."
PAST_OTHERS_ONE = "The forecast starts from a past season of another lawn (past.csv)."
PAST_OTHERS = "The forecast starts from {others} past seasons of other lawns (past.csv)."
PAST_BOTH = "The forecast starts from past seasons: {own} of this lawn, {others} of other lawns (past.csv)."
MOST_ZONES_BEHIND = (
    "{flagged} of {zones} zones are behind, so look first for one cause across the whole lawn (weather, water, depth "
    "of sand). {check}"
)
ZONES_OVERLAP = "Zones {one} and {other} overlap by {area}; in the whole lawn that ground counts once."
ZONES_OVERLAP_MORE = (
    "Zones {one} and {other} overlap by {area}; in the whole lawn that ground counts once (other pairs that "
    "overlap: {pairs})."
)
BEFORE_THE_SAND = "The photo of {day} seems to show the lawn before the sand went down, so it is left out."
BEFORE_THE_SAND_SEVERAL = (
    "The first {count} photos, up to {day}, seem to show the lawn before the sand went down, so they are left "
    "out."
)
DATE_TOO_EARLY = (
    "If so, the leveling date in lawn.toml is too early: the sand went down between {day} and {after}, likely about "
    "{likely}."
)
HELD_OUT = (
    "The photo of {day} is far from what was expected in {held} of {zones} zones, so it is held out until the next "
    "photo confirms it. Take another one now."
)
LEFT_OUT = (
    "{area} at the edge of the view stayed bare on every photo and is taken for a path or a bed. If it is lawn, draw "
    "the lawn's outline or a zone around it."
)
SEEN = "Seen: {share:.0f} % of the lawn's {area}."
SEEN_ONE_MORE = "Seen: {share:.0f} % of the lawn's {area}. One more photo point would show the rest."
SEEN_MORE = "Seen: {share:.0f} % of the lawn's {area}. About {more} more photo points would show the rest."
ZONE_OF_POINT = "{zone} ({point})"
SURPRISING = (
    "{zone}: cover on {day} is far from what was expected. "
    "Look at that part of the lawn, then photograph it again."
)
DOUBTFUL_PHOTO = (
    "The photo of {day} differs from what was expected all over the lawn. "
    "Take another one now, in even light."
)
FELL_AT_ONCE = (
    "Cover fell in every zone between the photos of {before} and {day}, which growth does not do. Take another one "
    "now, in even light."
)
FELL_AT_ONCE_ONE = (
    "Cover fell by {points:.0f} points between the photos of {before} and {day}. Take another one now, in even "
    "light."
)
GROWTH_ENDS = "Growth ends about {day}: what is bare then stays bare until spring."
GROWTH_HAS_ENDED = "It is too cold for growth now: what is bare stays bare until spring."
DORMANT = (
    "All zones lose green cover together in cold weather: that is the grass going dormant, not damage. Cover is worth "
    "measuring again once it greens up."
)
NO_END_KNOWN = (
    "The forecast does not know when growth ends this fall: give first_frost in lawn.toml, or daily temperatures in "
    "weather.csv."
)
OLD_PHOTO = "The newest photo is {days} days old. Take a new one."
DRY_DAYS = "Days since the last watering or rain in the diary: {days}."

# The time axis.
CALENDAR_DAYS = "calendar days"
CALENDAR_DAYS_WEATHER_SHORT = "calendar days (the weather file has gaps between leveling and now)"
SLOWED_TO_FROST = "{method}, slowing toward the usual first frost ({frost}) and resting until spring"
WARM_DAYS = (
    "{best:g} °C days: growing degree-days of the daily mean (base {base:g} °C, at most {cap:g} °C{heat}) / {span:g}; "
    "days to come: {future}; {source}"
)
HEAT_STOPS = ", falling from {cap:g} °C to next to nothing at {stop:g} °C"
FUTURE_OTHER_YEARS = "mean of the same days in other years"
FUTURE_LAST_DAYS = "the last three days, fading into the season's course through the last thirty"
