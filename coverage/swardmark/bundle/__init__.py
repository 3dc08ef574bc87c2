"""Photos of one square laid on one ground: cameras, photos laid flat, ties between them, and their adjustment."""
