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
    "sending": "Bringing it back …",
    "lost": "The connection broke, or the file is larger than 80 MB; then unpack it by hand.",
}

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
DATE = "{day} {year}"
COVER_OF_PHOTO = "{cover:.0f} % covered"
PHOTO_LABEL = "Photo of {day}: {said}"
UNDATED = "no day"
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
NO_FILE = "There is no such file yet."
NO_PICTURE = "There is no such picture."
CURVES_LABEL = "Cover of {zones} over the days"
MEASURING = "Measuring"
WRITING_REPORT = "Writing the report"

# The terminal behind the page, and who is not let in.
PAGE_IS_AT = "The page is at {address}"
STOP_WITH = "Stop it with Ctrl-C."
SCAN_FIRST = "On your home network, scan this with your phone or open the link:"
SCAN_NEXT = "A device connected. The link for the next one:"
LINK_ONCE = "It works once. Anyone who has it can see and change this lawn, so show it to no one else."
OPEN_THE_LINK = "Open the link that the terminal shows, or scan its code."
ONE_HOST = "One host, and at most one origin (RFC 9112, section 3.2)."
OTHER_NAME = "This page does not answer to that name."
NO_ORIGIN = "A web socket without an origin."
FROM_ELSEWHERE = "This request comes from another page."
TOO_LARGE = "More than {megabytes} MB."
WRONG_LINKS = "Too many wrong links. Wait five minutes."
LINK_USED = "This link has been used or is wrong. The terminal shows the next one."
