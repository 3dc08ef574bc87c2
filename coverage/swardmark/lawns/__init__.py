"""Many lawns at once: which needs its keeper today, one table, one report, one sand order."""
