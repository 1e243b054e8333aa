"""Follows genetic samples of largemouth bass from the fish on the boat to the lake report."""

__version__ = "0.1.0"
