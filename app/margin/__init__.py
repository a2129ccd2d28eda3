"""Here: what was written about the current place."""
