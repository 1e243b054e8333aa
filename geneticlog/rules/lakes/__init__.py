"""What is known of a lake."""
