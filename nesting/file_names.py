"""Names of files that any file system takes."""

import re
import unicodedata


def numbered_name(number: int, name: str, otherwise: str = "paper") -> str:
    """Name a file after its number and a name in letters and digits, without an ending.

    Accents are left out; ``otherwise`` stands for a name without any such letter or digit.

    Examples
    --------
    >>> numbered_name(3, "Pear toss!")
    '03-pear-toss'
    >>> numbered_name(4, "Crème")
    '04-creme'
    """
    return f"{number:02d}-{plain_name(name, otherwise)}"


def plain_name(name: str, otherwise: str = "paper") -> str:
    """A name in letters and digits of ASCII; different names may have the same."""
    apart = unicodedata.normalize("NFKD", name.casefold())
    letters = "".join(c for c in apart if not unicodedata.combining(c))
    plain = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:40]
    return plain or otherwise
