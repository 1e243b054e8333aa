"""What is known of each lake."""
