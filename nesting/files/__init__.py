"""Batch files, lists of pieces and plans on disk."""
