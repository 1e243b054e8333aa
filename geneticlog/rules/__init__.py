"""What is true of fish, vials and numbers; standard library, numpy and scipy only."""
