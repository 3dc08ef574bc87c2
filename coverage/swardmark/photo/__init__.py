"""What the camera gave: bytes to an upright photo, and whether it is fit to measure."""
