"""Hypothesis draws the same examples every time, however slow the machine."""

from hypothesis import settings

settings.register_profile("nesting", deadline=None, derandomize=True)
settings.load_profile("nesting")
