"""What others open: models, pictures, drawings and reports; one folder a format."""
