"""What the page says, as templates with named fields; its scripts in js/ hold only the labels of their own controls."""

# Places.
PLACES = {
    "today": "Today",
    "photos": "Photos",
    "zones": "Zones",
    "next": "Next leveling",
    "settings": "Settings",
}
PLACES_LABEL = "Places"
SHARE = "Share"
COURSE = "How it goes"
NOTES = "Diary and readings"
NOTICE_WORDS = {"undo": "Undo", "close": "Close"}
UNREADABLE = "This lawn cannot be read"
UNREADABLE_REMEDY = "Correct the file, then reload the page."

# Begin a lawn.
BEGIN = "Begin your lawn"
BEGIN_INTRO = "Four questions. You can change every answer later under Settings."
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
OR_BRING_BACK = "Or bring a lawn back"
RESTORE_WORDS = {
    "choose": "Choose the file that Share made",
    "limit": "Up to 4 GB.",
    "sending": "Sent {part} of {all} MB",
    "unpacking": "Bringing it back …",
    "lost": "The connection broke. Choose the file again.",
    "large": "It has more than 4 GB: unpack it into an empty folder by hand.",
}

# Measuring that came to no end.
STOPPED = "measuring stopped halfway"
STOPPED_REMEDY = "What was measured is kept; reload the page to go on"
UPDATED = "swardmark was updated while this page is open, so nothing more is measured"
UPDATED_REMEDY = "Stop the page in its terminal with Ctrl-C and start it again; all that you entered is kept"
SILENT = "measuring said nothing for {minutes:.0f} minutes and was ended"
SILENT_REMEDY = "What was measured is kept; remove the photo that was added last, and reload the page"

# Photos.
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
COVER_OF_PHOTO = "{cover:.0f} % covered"
PHOTO_LABEL = "Photo of {day}: {said}"
UNDATED = "no day"
ONE_OF_A_DAY = "{day} ({number})"
SAID = {
    "waiting": "waiting",
    "measured": "measured",
    "refused": "not used",
    "left": "left out",
    "binned": "in the bin",
}
SQUARE_FOUND = "Square found by {how}."
REFUSED = "{what}. {remedy}."
ADDED = "added"
DAY_CHANGED = "its day was changed, as {photo}"
KNOWN = "already here, as {photo}"
NO_DATE = "This photo has no date."
SAY_THE_DAY = "Choose it again and enter the day it was taken"
WAITS = {
    "photos": ("1 photo", "{count} photos"),
    "notes": ("1 note", "{count} notes"),
    "and": " and ",
    "one": "{what} waits in this browser.",
    "many": "{what} wait in this browser.",
    "here": "Out of reach. It waits in this browser, and is sent when the page answers.",
    "back": "Taken back.",
    "not_back": "It cannot be taken back while the page is out of reach.",
    "soon": "Sent as soon as the page answers, at the latest when you next open it.",
    "unkept": "This browser cannot keep it. Leave the page open until it is sent.",
    "send": "Send now",
    "discard": "Throw away",
    "sure": "Throw away for good",
    "other": {
        "one": "{what} waits for {lawn}. Open {lawn} at this address to send it there.",
        "many": "{what} wait for {lawn}. Open {lawn} at this address to send them there.",
        "here": "Add to this lawn",
    },
}
UNREACHED = "The page cannot be reached"
UNREACHED_WAITS = (
    "Take your photo or write your note all the same: both wait here, and are sent when the page answers."
)
UNREACHED_WHY = "It opens by itself when it answers."
TAKE_TODAYS = "Take today’s photo"
CHOOSE_PHOTOS = "Choose photos"
PHOTO_POINT = "Photo point"
TRY_AGAIN = "Try again"
NO_FILE = "There is no such file yet."

# The list of lawns.
YOUR_LAWNS = "Your lawns"
LOOKING = "Looking at each of them."
IN_ORDER = "Who needs you most comes first."
NEEDS_FAILED = "What they need could not be found out. Load the page again."
NOT_READ = "cannot be read"
LAWN_DOES_NOT_OPEN = "This lawn's page does not start. See what the terminal says."

NO_PICTURE = "There is no such picture."
CURVES_LABEL = "Cover of {zones} over the days"
MEASURING = "Measuring"
WRITING_REPORT = "Writing the report"
