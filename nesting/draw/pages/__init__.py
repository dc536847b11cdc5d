"""Whole printed pages: the plan, its summary, the shopping page, plans side by side."""
