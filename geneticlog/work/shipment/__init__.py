"""Pack, send and follow vials."""
