"""A moving solid and what stands in its way in, how far it gets out."""
