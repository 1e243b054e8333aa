"""The account of a file: each thing in it used, known to be harmless, held or asked about."""
