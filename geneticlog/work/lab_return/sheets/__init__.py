"""From the sheets of a file to one table with a row for each sample."""
