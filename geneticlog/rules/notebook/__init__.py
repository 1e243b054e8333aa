"""For notebooks: special sampling situations."""
