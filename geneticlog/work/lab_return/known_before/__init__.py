"""What is known before a file is looked at: vials sent, earlier rows, what the lab gave before."""
