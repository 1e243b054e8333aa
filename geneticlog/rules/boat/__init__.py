"""Lines a crew writes, and checks of a fish."""
