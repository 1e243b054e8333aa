"""The log prompt, the pipe and the field sheet."""
