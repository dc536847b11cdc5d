"""Plan the cutting of hand-made cards: cut lists, guillotine layouts, proven bounds, diagrams.

All public names are those of the stub beside this file, ``__init__.pyi``. Each is loaded when it
is first used, so importing the package loads nothing heavy.

Examples
--------
A batch without a file: eight cards with a panel each, from a paper that nobody sells any more.
Lengths are whole nanometres, which ``parse_length`` and ``parse_size`` make of what people write.

>>> import nesting
>>> eighth = nesting.parse_length("1/8", "in")
>>> pears = nesting.Paper(
...     name="pear toss",
...     sheets=(nesting.Sheet(*nesting.parse_size("12 x 12", "in"), have=3),),
...     buy=False,
...     front=nesting.Face("four-way"),
... )
>>> width, height = nesting.parse_size("4 1/4 x 5 1/2", "in")
>>> panel = nesting.Layer("panel", "pear toss", reveal=nesting.Edges(eighth, eighth, eighth, eighth))
>>> card = nesting.Card("windfall", make=8, width=width, height=height, layers=(panel,))
>>> batch = nesting.Batch("Orchard supper", "in", papers=(pears,), cards=(card,))
>>> plan = nesting.solve(batch)
>>> nesting.check(batch, plan)
()
>>> [(figures.paper, figures.needed, figures.proven) for figures in plan.papers]
[('pear toss', 2, True)]
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
