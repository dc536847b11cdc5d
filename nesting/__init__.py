"""Plan the cutting of hand-made cards: cut lists, guillotine layouts, proven bounds, diagrams."""

__version__ = "0.1.0"
