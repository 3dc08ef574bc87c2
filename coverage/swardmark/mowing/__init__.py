"""The first mow, the way down before the sand and the way back up."""
