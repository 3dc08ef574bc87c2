"""What measuring says, as templates with named fields."""

ODD = {
    ("something lies there", True): "something lay here ({area:.1f} m2): its ground was not seen",
    (
        "something lies there",
        False,
    ): "something may lie here ({area:.1f} m2): clear it and take the photo again",
    ("reads low", True): "the grass read low all over, as under dew or glare",
    ("reads low", False): "the grass reads low all over, as under dew or glare: take another photo",
    ("reads high", True): "bare ground read leafy all over, as with clippings or wet sand",
}
"""Notes on odd ground, by kind and by whether a later photo took the change back."""
