"""The lake report and the list of lakes."""
