"""Photos to ground maps to covers."""
