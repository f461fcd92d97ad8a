"""What would be better? A scheme in, other schemes that pass its checks out."""
