"""How the hot loops are compiled, where the result is kept, and what they share.

All numbers are 64-bit integers, and random numbers come from one of them, so a loop gives the same
answers compiled or not. The loops are imported only when the search needs them; each is compiled at
its first call on a machine (see ``search/compiling``).
"""

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numba

from nesting.arrays import Whole
from nesting.pack.kernels.cache import cache_folder

_Function = TypeVar("_Function", bound=Callable[..., Any])
_settings: Any = numba.config


_CACHE = cache_folder()


def compile_loop(function: _Function) -> _Function:
    """Compile a function that makes no arrays, at its first call.

    numba need not count the references to its arrays then, which takes up to two thirds of the time of
    a small loop.
    """
    return _compiled(function, makes_arrays=False)


def compile_making_arrays(function: _Function) -> _Function:
    """Compile a function that makes arrays, at its first call."""
    return _compiled(function, makes_arrays=True)


def _compiled(function: _Function, *, makes_arrays: bool) -> _Function:
    before, _settings.CACHE_DIR = _settings.CACHE_DIR, str(_CACHE)
    njit: Any = numba.njit
    try:  # numba looks for the folder here, not when it compiles
        made = njit(cache=_CACHE is not None, _nrt=makes_arrays)(function)
    finally:
        _settings.CACHE_DIR = before
    return cast("_Function", made)


class Cuts(NamedTuple):
    """All pairs of points that a cut makes, along each axis.

    For point ``i``, ``splits_x[0]`` and ``splits_x[1]`` have the low and high parts from
    ``starts_x[i]`` to ``starts_x[i + 1]``. A rectangle can be cut at constant x if its height is a
    point before ``open_x``, at constant y if its width is one before ``open_y``.
    """

    splits_x: Whole
    starts_x: Whole
    splits_y: Whole
    starts_y: Whole
    open_x: int
    open_y: int


@compile_loop
def copy_values(source: Whole, target: Whole) -> None:
    """Copy an array into another of the same shape: numba copies a slice four times slower."""
    own, other = target.reshape(-1), source.reshape(-1)
    for k in range(len(own)):
        own[k] = other[k]


@compile_loop
def fill_table(
    table: Whole,
    sideways: Whole,
    cuts: Cuts,
    first: int,
    beyond: int,
) -> None:
    """Fill the table of the guillotine dynamic programme cell by cell (see ``value_table``).

    Only the rows from ``first`` up to, not including, ``beyond``; earlier ones are filled already.
    ``table`` begins with the values of single blanks; ``sideways`` is its transpose, so that cuts
    along either axis read memory in order.
    """
    splits_x, starts_x, splits_y, starts_y, open_x, open_y = cuts
    for i in range(first, beyond):
        for j in range(1, len(sideways)):
            best = table[i, j]
            if j < open_x:
                best = max(best, table[i - 1, j])
                row = sideways[j]
                for k in range(starts_x[i], starts_x[i + 1]):
                    best = max(best, row[splits_x[0, k]] + row[splits_x[1, k]])
            if i < open_y:
                best = max(best, table[i, j - 1])
                row = table[i]
                for k in range(starts_y[j], starts_y[j + 1]):
                    best = max(best, row[splits_y[0, k]] + row[splits_y[1, k]])
            table[i, j] = best
            sideways[j, i] = best


@compile_loop
def random_below(chance: Whole, below: int) -> int:
    """Draw a number from 0 to below - 1 (Park and Miller 1988, with the later multiplier)."""
    chance[0] = chance[0] * 48271 % 2147483647
    return int(chance[0] % below)
