"""Keys and scales on the screen."""
