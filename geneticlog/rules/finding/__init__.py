"""What does not reconcile, and who can settle it."""
