"""What a plant is heading for: growth, a spike, a gate that opens."""
