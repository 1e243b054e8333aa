"""The geometry of label stocks."""
