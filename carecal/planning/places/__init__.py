"""What a place does to its plants: climate, safe starts, whether it suits, who must come in or may go out."""
