"""How many days lie between two wettings of a plant, and why."""
