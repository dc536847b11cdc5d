"""How each sheet of a plan is cut: from patterns to cut trees."""
