"""Pure equations of air, light, drying, feeding and growth; tables and dates come in as arguments."""
