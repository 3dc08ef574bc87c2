"""What the page answers to a note, as templates with named fields."""

KEPT = {
    "diary": "Noted in the diary.",
    "reading": "The reading was kept.",
    "leaf": "Leaf height {height} {unit} kept.",
    "depth": "Depth of spot {number} kept.",
    "probe": "The answers were kept.",
    "on": "Noted in the diary.",
    "off": "The note was removed from the diary.",
    "look": "What you saw was kept.",
    "look off": "What you saw was taken back.",
}
KNOWN = "This note was kept before."
BACK = "Taken back."
NOT_BACK = "It can no longer be taken back here. Remove it where it stands."
NO_LAWN = "there is no lawn yet"
NO_NOTE = "this is no note that the page knows"
RELOAD = "Reload the page"
NO_HEIGHT = "{value} {unit} cannot be a height below a string: {most} {unit} is the most"
