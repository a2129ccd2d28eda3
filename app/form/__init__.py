"""The form line: the piece in the order in which it is played."""
