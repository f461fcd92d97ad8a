"""A room and what stands in it in, how much is left and in what boxes out."""
