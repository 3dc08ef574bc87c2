"""What the door says to who is not let in, and in the terminal, as templates with named fields."""

PAGE_IS_AT = "The page is at {address}"
LINK_IS_YOURS = "The link works once, in your own browser; the next one appears here when it was used."
STOP_WITH = "Stop it with Ctrl-C."
SCAN_FIRST = "On your home network, scan this with your phone or open the link:"
SCAN_NEXT = "A device connected. The link for the next one:"
LINK_ONCE = "It works once. Anyone who has it can see and change this lawn, so show it to no one else."
OWN_CERTIFICATE = (
    "The browser will warn once that nobody vouches for this page, because the certificate was made on this machine. "
    "Compare its SHA-256 fingerprint before you go on: {fingerprint}"
)
NOT_ENCRYPTED = (
    "The connection is not encrypted (--plain): use it on a network that you share with no stranger."
)
REMEMBERED = (
    "Devices let in before may come back until {day}. To turn them away: swardmark page {folder} --forget"
)
FORGOTTEN = "No device that was let in before may come back."
OPEN_THE_LINK = "Open the link that the terminal shows, or scan its code."
OPEN_IN_BROWSER = "Open this link in a browser; a preview does not use it up."
ONE_HOST = "One host, and at most one origin (RFC 9112, section 3.2)."
OTHER_NAME = "This page does not answer to that name."
NO_ORIGIN = "A web socket without an origin."
FROM_ELSEWHERE = "This request comes from another page."
TOO_LARGE = "More than {megabytes} MB."
WRONG_LINKS = "Too many wrong links from here. Wait five minutes."
LINK_USED = "This link has been used or is wrong. The terminal shows the next one."
