"""What the keeper says (lawn.toml, readings, diary, weather) and what is kept (the record)."""
