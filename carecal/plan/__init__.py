"""The plan's own types, read by everything above; it computes nothing."""
