"""What is said about a photo's fitness, as templates with named fields: what is wrong, then how to retake the photo."""

BLUR = (
    "The photo is blurred: leaf and sand run together",
    "Hold the phone with both hands, wipe the lens, tap the lawn to focus, and take it again",
)
SOFTER = (
    "The photo is softer than earlier ones from this spot ({value:.0%} of their sharpness)",
    "Wipe the lens and tap the lawn to focus",
)
GLARE = (
    "Glare or overexposure washes out {value:.0%} of the ground",
    "Tap the brightest ground to set the exposure, put the sun behind you, or wait for thin cloud",
)
EXPOSURE = (
    "The photo is too dark: leaf and sand look alike",
    "Take it in daylight, and tap the ground, not the sky, to set the exposure",
)
ONE_COLOR = (
    "{value:.0%} of the ground shows one and the same color, as where the data of the picture are lost",
    "Copy the original from the camera again, or take the photo again",
)
DEEP_SHADE = (
    "Shade over {value:.0%} of the ground is too deep to tell leaf from sand",
    "Come back under even cloud, or when the shadow has moved on",
)
HARD_SHADOW = (
    "Hard shadow covers {value:.0%} of the ground",
    "Take it under even cloud, or closer to noon when shadows are short",
)
NOISE = (
    "The photo is grainy, as at dusk",
    "Take it in full daylight, at least an hour after sunrise or before sunset",
)
SCENE = (
    "This does not look like a lawn: only {value:.0%} of it has the colors of grass, sand or soil",
    "Photograph the lawn outdoors, with the square lying on it",
)
SMOOTH = (
    "This does not look like a lawn: {value:.0%} of it is smooth, like walls and floors",
    "Photograph the lawn outdoors, with the square lying on it",
)
DYE = (
    "The green looks dyed or painted, and a photo cannot tell color from leaves",
    "If dye, paint or pigment was used, wait until it has been mowed off; otherwise set the white balance to daylight",
)

# Notes from the file.
STRAY_BYTES = "a few stray bytes at the end of the file"
SEAM = "the color jumps along a line, as in a damaged file: copy the original from the camera again"
TWICE = "a part of the picture stands in the file twice, as in a damaged file: copy the original from the camera again"
ODD_TABLE = (
    "a table in the file contradicts itself, so colors may be wrong: copy the original from the camera again"
)
ODD_COLORS = (
    "no camera writes colors as this file does, so they may be wrong: copy the original from the camera again"
)
EXIF_DAMAGED = "the EXIF block is damaged and was not used"
ODD_ORIENTATION = "EXIF orientation {orientation} does not exist; read as upright"
ODD_DATE = "the camera's date {date} cannot be right and was not used"
