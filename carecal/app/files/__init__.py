"""Whole files in and out, soundness, photos."""
