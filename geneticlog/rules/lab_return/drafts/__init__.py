"""What each row says of one vial, before it is stored."""
