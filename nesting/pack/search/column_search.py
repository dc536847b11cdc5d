"""Columns tried one after another until they meet the demand: quick where a plan has few sheets."""

from collections.abc import Generator
from random import Random

import numpy as np

from nesting.arrays import Whole
from nesting.pack.lp.master import Relaxed
from nesting.pack.model.pauses import STEP, Pause
from nesting.pack.one_sheet.pattern_cover import PatternCover

#: Values are counted in this fraction of a sheet.
_PARTS = 1 << 40
#: How much chance counts in the order of columns, in uses.
_BY_CHANCE = 0.3
#: How many steps of the loop make a step of the search.
_TURN = 100_000


def search_columns(
    counts: Whole,
    demand: Whole,
    sheets: int,
    relaxed: Relaxed,
    rng: Random,
    steps: int,
) -> Generator[Pause, None, tuple[dict[int, int], bool]]:
    """Choose so many columns that together meet a demand, depth first.

    By the values of the relaxation nearly every choice is soon known to be worth too little, whatever
    follows. So a choice for ten sheets takes a hundredth of the time that the integer programme takes; one
    for fifty, with many of each kind, takes longer.

    Parameters
    ----------
    counts
        What each column holds: a row for each column, a number for each kind.
    relaxed
        The relaxation of the same columns.
    steps
        About how many choices to try, the most.

    Returns
    -------
    tuple[dict[int, int], bool]
        How often to use which column, nothing where no choice was found, and whether there is none: that is
        proven in whole numbers.
    """
    uses, values = np.array(relaxed.uses), np.array(relaxed.duals)
    chance = np.array([_BY_CHANCE * rng.random() for _ in counts])
    order = np.argsort(-uses - np.minimum(counts, demand) @ values - chance, kind="stable")
    worth = np.round(values * _PARTS).astype(np.int64)
    cover = PatternCover(counts[order], demand, sheets, worth)
    for _ in range(0, steps, _TURN):
        found = cover.found(_TURN)
        if found is not None:
            chosen, often = np.unique(order[found], return_counts=True)
            return dict(zip(chosen.tolist(), often.tolist(), strict=True)), False
        if cover.impossible:
            return {}, True
        yield STEP
    return {}, False
