"""What the page says, as templates with named fields; its scripts in js/ hold only the labels of their own controls."""

# Places.
SECTIONS = {
    "photos": "Photos",
    "zones": "Zones",
    "outlook": "Outlook",
    "leveling": "Next leveling",
    "notes": "Notes",
    "take": "Share",
}
SECTIONS_LABEL = "Sections"
UNREADABLE = "This lawn cannot be read"
UNREADABLE_REMEDY = "Correct the file, then reload the page."
PROGRESS = "{what} {done} of {total}, {name}"
PROGRESS_BEGINS = "{what} …"

# Begin a lawn.
BEGIN = "Begin your lawn"
BEGIN_INTRO = "Four questions. You can change every answer later in the folder’s lawn.toml."
ASK_NAME = "What do you call it?"
ASK_GRASS = "Which grass?"
ASK_SIDE = "How long is a side of your square?"
ASK_SIDE_HINT = "From outer black corner to outer black corner, such as 1 m or 36 in."
SIDE_METRIC = "1 m"
SIDE_US = "36 in"
SIDE_WHERE = "the square’s side"
ASK_LEVELED = "When was the sand spread?"
ASK_LEVELED_HINT = "Days count from it. Leave it empty if it is still to come."
ASK_UNITS = "Show lengths and amounts in"
UNITS = {"metric": "meters and liters", "us": "feet and yards"}
BEGIN_BUTTON = "Begin"

# The lawn.
THE_LAWN = "The lawn"
LAWN = "{lawn}: {grass}, square of {side}."
LEVELED = "Leveled on {days}."
NOT_LEVELED = "No leveling day yet."
AND = " and "
FOLDER = "Its folder: {folder}"

# Photos and zones.
NOT_TAKEN_IN = "{photo} was not added: "
CLEAR_LIST = "Clear this list"
CORNERS_UNREADABLE = "These corners could not be read. Reload the page and try again."
CORNERS_KEPT = "Saved in marks.toml. The photo is being measured again."
ZONES_INTRO = (
    "Draw the parts of the lawn that you want to watch. Without zones, the ground around the square is measured as "
    "patches."
)
FROM_POINT = "From the photo point {point}"
SAVED_ELSEWHERE = "Someone saved other zones since you opened these. Nothing was overwritten."
ZONES_UNREADABLE = "These zones could not be read. Reload the page and draw them again."

FROM = {
    "camera": "from the camera",
    "file name": "from the file’s name",
    "keeper": "as you said",
    "unknown": "",
}
FIRST_PHOTO = "Start with a photo from your fixed spot."
DUE_TODAY = "The next photo was due on {day}: take it today."
DUE = "Next photo due on {day}."
SAME_PHOTO = "the same photo as {photo}."
DATE = "{day} {year}"
SQUARE_FOUND = "Square found by {how}."
REFUSED = "{what}. {remedy}."
ADDED = "added"
DAY_CHANGED = "its day was changed, as {photo}"
KNOWN = "already here, as {photo}"
NO_DATE = "This photo has no date."
SAY_THE_DAY = "Choose it again and enter the day it was taken"
NO_FILE = "There is no such file yet."
NO_PICTURE = "There is no such picture."
CURVES_LABEL = "Cover of {zones} over the days"
MEASURING = "Measuring"
WRITING_REPORT = "Writing the report"

# Outlook and next leveling.
NO_OUTLOOK = "Once photos are measured, this says when to mow."
BEFORE_FIRST_MOW = "Before the first mow"
CHECK = "{name}: {detail}"
ZONE_BY_ZONE = "Zone by zone"
ZONE_OF_POINT = "{point}: {zone}"
FULL = "Full: {full}"
BUDGET = "Budget for the season"
PRICE_YARD = "Sand, per cubic yard"
PRICE_M3 = "Sand, per cubic meter"
DELIVERY = "Each delivery"
WHOLE_SPOTS = "Never leave a spot half filled"
NO_SPOTS = "Spots appear here once the season’s photos are measured."
NOT_NUMBERS = "Budget and prices must be numbers."
SPOT = "Spot {number}"
SPOT_ABOUT = "{where}; depth: {depth}; sand: {sand}"
CAUTION = "{action}: {text}"

# Notes.
TICK = "Before the first mow, tick what you found on the ground"
CONFIRMATIONS = {
    "dry": "The surface is dry",
    "firm": "The ground is firm underfoot",
    "tug_test_passed": "A tug does not lift the turf",
    "no_loose_ridges": "No loose ridges of sand are left",
}
CONFIRMED_ON = "{check}: {day}"
UNDO = "Undo"
YES_TODAY = "Yes, today"
SAVED = "Saved."
READING = "A reading"
DAY = "Day"
ZONE = "Zone"
WHOLE_LAWN = "the whole lawn"
LEAF_HEIGHT = "Leaf height, {unit}"
DIP = "Depth under a straightedge, {unit}"
DIP_SPOT = "Spot number, for a depth"
FIRM = "Firm underfoot?"
FIRM_ANSWERS = {"": "did not check", "yes": "yes", "no": "no"}
NOTE = "Note"
SAVE_READING = "Save the reading"
READING_SAVED = "Saved in readings.csv."
DIARY = "The diary"
WHAT = "What"
AMOUNT = "How much"
AMOUNT_HINT = "In your own words: 10 mm, 20 minutes."
SAVE_ENTRY = "Save the entry"
ENTRY_SAVED = "Saved in diary.csv."

# Share.
REPORT_INTRO = "The report is one file that opens anywhere, even without the internet."
REPORT_BUTTON = "Write and download the report"
FILES = {
    "cover.csv": "Cover of every zone in every photo",
    "outlook.csv": "Outlook of every zone",
    "spots.csv": "Spots to level",
    "readings.csv": "Your readings",
    "diary.csv": "Your diary",
}
FILE = "{what} ({name})"
