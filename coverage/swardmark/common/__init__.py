"""Words of all floors: errors, files, units, text, color, and who works."""
