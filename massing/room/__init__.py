"""What shape is the room? Its description in; floors, ceilings, walls and volume out."""
