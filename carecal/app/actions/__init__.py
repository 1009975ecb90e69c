"""What a grower does, as entries; nothing is written here."""
