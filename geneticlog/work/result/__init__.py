"""Which result of a fish counts."""
