"""Custody, plates, ethanol and blind duplicates."""
