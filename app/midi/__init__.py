"""MIDI ports: playing through an instrument, and listening to one."""
