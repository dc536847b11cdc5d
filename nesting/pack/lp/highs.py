"""HiGHS, set up to print nothing and to give the same answer every time."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from math import inf
from typing import Any

from nesting.pack.model.deadline import seconds_left

#: Seconds that any programme gets, however late it is: most take less.
_LEAST_SECONDS = 0.1


def run_in_time(highs: Any) -> None:
    """Run HiGHS for the time that is left; running out of time proves nothing."""
    left = seconds_left()
    if left < inf:
        highs.setOptionValue("time_limit", max(_LEAST_SECONDS, left))
    highs.run()


def silent_highs() -> Any:
    """A HiGHS that prints nothing and gives the same answer every time."""
    import highspy

    with _banner_held_back():
        highs = highspy.Highs()  # type: ignore[no-untyped-call]
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    highs.setOptionValue("random_seed", 0)
    return highs


@contextmanager
def _banner_held_back() -> Iterator[None]:
    """Point standard output to nowhere while HiGHS is made.

    The first one of a process prints a banner straight to the file descriptor, before it can be
    told not to, and would spoil figures that a program reads from there.
    """
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output to spoil
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
