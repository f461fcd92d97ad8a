"""Pictures of a scheme: an answer in, PNG bytes out."""
