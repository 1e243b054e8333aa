"""The states of a result."""
