"""Names of files that any file system takes."""

import re


def numbered_name(number: int, paper: str) -> str:
    """Name a file after its number and a paper, without an ending.

    Examples
    --------
    >>> numbered_name(3, "Pear toss!")
    '03-pear-toss'
    """
    slug = re.sub(r"[^a-z0-9]+", "-", paper.lower()).strip("-") or "paper"
    return f"{number:02d}-{slug[:40]}"
