"""Where is everything? A project and sizes in, a layout in many worlds out."""
