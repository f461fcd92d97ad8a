"""Ways things are carried through a room: a layout and an item in, a path or its refusal out."""
