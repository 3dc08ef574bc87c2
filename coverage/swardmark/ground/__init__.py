"""From photo to meters: the reference square, the ground plane, one frame for all dates."""
