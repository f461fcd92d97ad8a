"""Does it fit and can it be used? A layout in, findings out; one file a question."""
