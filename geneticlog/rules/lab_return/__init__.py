"""What a sheet from a lab says."""
