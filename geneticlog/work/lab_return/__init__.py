"""Read what a lab sent back."""
