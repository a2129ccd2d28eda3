"""MIDI ports: playing through an instrument."""
