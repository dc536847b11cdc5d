"""The search for one paper's plan."""
