"""From photo to metres: the reference square, the ground plane, one frame for all dates."""
