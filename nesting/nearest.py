"""Which known name an unknown one means."""

from collections.abc import Collection
from difflib import get_close_matches

#: How many known names are looked at in all: each unknown name is compared with every one of them.
_MOST_COMPARED = 5_000
_MOST_LISTED = 20


class Nearest:
    """Finds the nearest known names; where thousands are wrong, it gives up, as that would take long."""

    def __init__(self) -> None:
        self._left = _MOST_COMPARED

    def to(self, name: str, known: Collection[str]) -> str | None:
        """The known name that is most likely meant; None where none is near, or it has given up."""
        self._left -= len(known)
        near = get_close_matches(name, known, 1) if self._left >= 0 else []
        return near[0] if near else None

    def words(self, name: str, known: Collection[str]) -> str:
        """The nearest of the known names, or all of them, to expect in place of a name."""
        near = self.to(name, known)
        return f"the nearest is {near!r}" if near else f"there are: {listed(known)}"


def capitals_fault(what: str, name: str, other: str) -> tuple[str, str]:
    """What is read and expected of a name that differs from another in capitals alone: one is a slip."""
    return f"{what} {name!r} beside {other!r}", "a name that differs in more than capitals"


def listed(names: Collection[str]) -> str:
    """Names with commas, the first few where there are many.

    Examples
    --------
    >>> listed(["mat", "band"])
    'mat, band'
    """
    some = ", ".join(list(names)[:_MOST_LISTED])
    over = len(names) - _MOST_LISTED
    return f"{some} and {over:,} more" if over > 0 else some
