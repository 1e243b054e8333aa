"""The pages that ``geneticlog serve`` shows: on the boat's phones and at the office's desk."""
