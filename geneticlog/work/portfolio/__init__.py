"""All lakes at once."""
