"""The project file: read as one whole, every name followed, written back."""
