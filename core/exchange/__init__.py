"""Out of the notebook: documents and lines for other programs."""
