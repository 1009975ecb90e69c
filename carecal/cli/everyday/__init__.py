"""The commands of every day."""
