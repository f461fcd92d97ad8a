"""A rigid thing and a plan in, a path for it or what stops it out."""
