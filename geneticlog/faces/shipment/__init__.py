"""Shipments in words and on paper."""
