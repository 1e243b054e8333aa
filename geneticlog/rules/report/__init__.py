"""What a report rests on."""
