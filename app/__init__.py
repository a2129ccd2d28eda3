"""The desktop front end: draws, listens, asks core; decides nothing about music."""
