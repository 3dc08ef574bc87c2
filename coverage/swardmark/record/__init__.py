"""What is kept: the SQLite record, the shelf of maps, the facts of a photo."""
