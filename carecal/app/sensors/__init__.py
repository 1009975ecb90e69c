"""Sensors: an address for each, the lines they send, their days in the journal."""
