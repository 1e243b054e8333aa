"""The program, its options, tables and typesetting."""
