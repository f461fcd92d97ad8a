"""A plan and what stands in it in, how wide a way there is out."""
