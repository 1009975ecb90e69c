"""Many collections below one folder: found, worked on one by one, spread over workers."""
