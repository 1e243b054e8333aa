"""What a return said, in words."""
