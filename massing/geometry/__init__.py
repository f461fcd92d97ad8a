"""Convex solids, plan polygons and motions: arrays in, arrays out; knows no room."""
