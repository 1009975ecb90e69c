"""The numbered wettings of a plant: window, care day, what each one is, what holds feeding back."""
