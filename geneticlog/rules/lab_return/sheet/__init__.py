"""Which rows of a sheet are heading, samples, titles and notes, and what words beside them mean."""
