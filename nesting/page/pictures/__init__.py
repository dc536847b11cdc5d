"""Pictures for the screen, as SVG: the geometry is the model's, each has a title in words."""
