"""What a grower keeps: entries, the journal and each plant's timeline."""
