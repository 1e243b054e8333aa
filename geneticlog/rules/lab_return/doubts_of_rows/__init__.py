"""Rules that see, row by row, what speaks against a value."""
