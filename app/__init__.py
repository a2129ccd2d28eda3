"""The desktop front end: draws, listens, and asks core. Decides nothing about music."""
