"""What a find changes for a plant, day by day, until it is over."""
