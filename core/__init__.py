"""Everything that Postil knows and keeps; imports no Qt and runs without a screen."""
