"""Care days: tasks gathered for the walk, and weekdays that would make them fewer."""
