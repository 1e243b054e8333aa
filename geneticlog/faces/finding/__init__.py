"""Findings in words."""
