"""What lies over the desk and is put away by Escape: help, keys, settings, the log, about."""
