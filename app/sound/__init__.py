"""Playing a passage aloud: its view-model, the player, and the output of this machine."""
