"""Findings on the screen: in words, with a person's word, and as marks over the score."""
