"""A page to draw on: surface, type, colours, rows of text."""
