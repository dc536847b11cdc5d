"""Bounds that carry their proof."""
