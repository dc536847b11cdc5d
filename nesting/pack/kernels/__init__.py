"""The loops that numba compiles."""
