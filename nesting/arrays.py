"""Arrays by the types of their elements: whole numbers, other numbers, records of named numbers."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]
Numbers = NDArray[np.float64]
#: An array of records whose fields are whole numbers with names.
Records = np.recarray[Any, np.dtype[Any]]
#: One of them; its fields are attributes that can be read and written.
Record = Any


def whole_fields(*names: str) -> "np.dtype[np.void]":
    """The type of a record of whole numbers with these names."""
    return np.dtype([(name, np.int64) for name in names])


def records(shape: int | tuple[int, ...], of: "np.dtype[np.void]", value: int = 0) -> Records:
    """An array of records with every field at the same value."""
    # Memory that is zero is not written before it is used.
    filled = np.full(shape, value, dtype=of) if value else np.zeros(shape, dtype=of)
    return filled.view(np.recarray)
