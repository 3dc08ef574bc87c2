"""The page's door: who is let in, over which connection, and for how long anyone may keep it busy."""
