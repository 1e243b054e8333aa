"""What waits for the office."""
