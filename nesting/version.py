"""The version of the tool, which every plan names."""

__version__ = "0.2.0"
