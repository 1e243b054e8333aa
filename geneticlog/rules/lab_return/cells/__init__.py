"""What one cell says: a number with its unit and decimal mark, a word for no result, or something mangled."""
