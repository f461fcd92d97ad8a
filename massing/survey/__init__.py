"""How sure is each size? Measurements in, adjusted sizes and combined uncertainty out."""
