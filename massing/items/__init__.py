"""What shape is a thing? A catalogue entry in; body, zones, gaps and motions out."""
