"""What headings of a lab mean, in several languages, and the layout kept for a lab."""
