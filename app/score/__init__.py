"""The score on the screen."""
