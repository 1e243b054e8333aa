"""Log, read, count and correct the fish of a survey."""
