"""What each column holds and whose alleles it counts."""
