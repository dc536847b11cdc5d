"""Diagrams and printed pages."""
