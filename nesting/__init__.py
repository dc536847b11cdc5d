"""Plan the cutting of hand-made cards: cut lists, guillotine layouts, proven bounds, diagrams.

>>> import nesting
>>> batch = nesting.read_batch("samples/orchard.yaml")       # doctest: +SKIP
>>> plan = nesting.solve(batch)                              # doctest: +SKIP
>>> from nesting.checker import check                          # doctest: +SKIP
>>> check(batch, plan)                                       # doctest: +SKIP
()
>>> pages = nesting.draw_pdf(plan)                           # doctest: +SKIP
"""

from importlib import import_module
from typing import TYPE_CHECKING

__version__ = "0.2.0"

if TYPE_CHECKING:
    from nesting.advice.variants import Change, Variant
    from nesting.batch import (
        Batch,
        BatchError,
        Card,
        Edges,
        Layer,
        LoosePiece,
        Paper,
        Sheet,
        Trimmer,
    )
    from nesting.cutfile import CutFileError, cut_file
    from nesting.draw import A4_PAGE, LETTER_PAGE, draw_card, draw_layout, draw_pdf, layout_figures
    from nesting.files import InputError, read_batch, read_plan, write_plan
    from nesting.pack import FirstOf, NoGain, Rounds, Seconds, solve
    from nesting.plan import Layout, Plan

__all__ = [
    "A4_PAGE",
    "LETTER_PAGE",
    "Batch",
    "BatchError",
    "Card",
    "Change",
    "CutFileError",
    "Edges",
    "FirstOf",
    "InputError",
    "Layer",
    "Layout",
    "LoosePiece",
    "NoGain",
    "Paper",
    "Plan",
    "Rounds",
    "Seconds",
    "Sheet",
    "Trimmer",
    "Variant",
    "cut_file",
    "draw_card",
    "draw_layout",
    "draw_pdf",
    "layout_figures",
    "read_batch",
    "read_plan",
    "solve",
    "write_plan",
]

_HOMES = {
    "nesting.batch": "Batch BatchError Card Edges Layer LoosePiece Paper Sheet Trimmer",
    "nesting.cutfile": "CutFileError cut_file",
    "nesting.draw": "A4_PAGE LETTER_PAGE draw_card draw_layout draw_pdf layout_figures",
    "nesting.files": "InputError read_batch read_plan write_plan",
    "nesting.pack": "FirstOf NoGain Rounds Seconds solve",
    "nesting.plan": "Layout Plan",
    "nesting.advice.variants": "Change Variant",
}


def __getattr__(name: str) -> object:
    """Load a public name from its home when it is first used: importing nesting loads nothing."""
    for home, names in _HOMES.items():
        if name in names.split():
            return getattr(import_module(home), name)
    raise AttributeError(f"module 'nesting' has no attribute {name!r}")
