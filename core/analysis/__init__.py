"""What follows from the written score: pure functions from a Score to frozen results."""
