"""How a layout is cut: parallel cuts taken together, strokes in order, ruler settings."""
