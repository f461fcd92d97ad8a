"""ID masks: a model in, flat pictures that say which pixel is which item out."""
