"""Estimates, intervals, contrasts and their sums."""
