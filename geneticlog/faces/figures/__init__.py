"""Figures as SVG and PNG."""
