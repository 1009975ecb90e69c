"""What sets a collection up, as entries; nothing is written here."""
