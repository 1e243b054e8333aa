"""The data door: tidy tables of a database for notebooks, read only."""
