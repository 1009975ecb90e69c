"""A loss laid against what was safe."""
