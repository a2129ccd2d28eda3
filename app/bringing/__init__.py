"""Bringing many files in at once: what became of each, while they are read and after."""
