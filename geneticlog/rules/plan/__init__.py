"""What a plan can expect."""
