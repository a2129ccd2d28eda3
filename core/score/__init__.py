"""What is written: files in, the note table, places, the engraving."""
