"""Rules that see, over all rows, what speaks against a whole file."""
