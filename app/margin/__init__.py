"""Here: what is computed of the current place, and what was written about it."""
