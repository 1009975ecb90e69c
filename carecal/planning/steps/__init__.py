"""What is done once, when it is safe."""
