"""What people touch: commands, labels, sheets, reports. They own the transaction and the words."""
