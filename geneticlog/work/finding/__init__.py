"""Findings and decisions."""
