"""One lake in numbers."""
