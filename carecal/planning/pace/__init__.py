"""What a plant has taught about its own pace."""
