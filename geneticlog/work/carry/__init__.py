"""Surveys between databases."""
