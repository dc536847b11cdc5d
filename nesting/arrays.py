"""Arrays of whole and of other numbers, by their types."""

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]
Numbers = NDArray[np.float64]
