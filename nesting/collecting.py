"""How often a process of ours looks for objects that refer to one another and that nothing else uses.

A search makes hardly any, and looking for them would take a sixth of its time.
"""

import atexit
import gc

#: How many new objects there are before they are looked at.
_MANY = 100_000


def collect_rarely() -> None:
    """Look for such objects rarely in this process, and not at its end, when all memory is given back."""
    gc.set_threshold(_MANY)
    atexit.register(gc.freeze)
