"""Paper: pages set by typst from our templates."""
