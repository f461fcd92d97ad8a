"""Two solids in, how far apart they are and which way out."""
