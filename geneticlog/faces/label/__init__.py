"""Label sheets and stocks."""
