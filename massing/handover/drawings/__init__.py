"""Measured drawings of a scheme: an answer in, sheets to scale out."""
