"""Print runs of vial codes."""
