"""Undoable acts, each a do/undo pair on the notebook."""
