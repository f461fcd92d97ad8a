"""Where height is wasted, and what would go there."""
