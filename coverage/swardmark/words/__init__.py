"""A season in words and tables: each row is written once."""
