"""What people and programs read of a collection, as plain documents."""
