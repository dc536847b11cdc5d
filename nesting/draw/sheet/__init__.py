"""A layout's page: the sheet's picture, its strokes, what to look out for."""
