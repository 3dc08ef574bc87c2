"""Heights of fresh sand from a few hand-held photos of the marked square, and of pegs in a lawn of any height."""
