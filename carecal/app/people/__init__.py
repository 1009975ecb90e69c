"""The owner, sitters, and absences."""
