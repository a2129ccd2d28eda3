"""What was played, and what is to be played: performances, their sound, recordings, measures."""
