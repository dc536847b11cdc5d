"""What could be otherwise: variants side by side, small changes that save, whether there is enough."""
