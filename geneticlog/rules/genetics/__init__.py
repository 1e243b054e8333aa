"""Ancestry classes, generations and loci."""
