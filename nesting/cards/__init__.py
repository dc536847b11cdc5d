"""From card designs to the pieces to be cut: defaults, places, what lies hidden, sizes, faults."""
