"""Pots and media for one plant, side by side."""
