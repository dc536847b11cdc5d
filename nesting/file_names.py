"""Names of files that any file system takes."""

import re


def numbered_name(number: int, name: str, otherwise: str = "paper") -> str:
    """Name a file after its number and a name in letters and digits, without an ending.

    ``otherwise`` stands for a name that has neither.

    Examples
    --------
    >>> numbered_name(3, "Pear toss!")
    '03-pear-toss'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40]
    return f"{number:02d}-{plain or otherwise}"
