"""A part of a sheet, as a sheet that is cut again has it."""

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.checker.cutting.cut_sheets import CutLeaf, Rect
from nesting.layouts import Pinwheel
from nesting.papers import Axis


@dataclass(frozen=True, slots=True)
class Slab:
    """A part of a sheet: finished, with the ``leaves`` that stay together, or cut into ``parts``.

    These are a row along ``axis``, or arms and centre of a ``wheel``. What is ``joined`` still hangs
    together with other parts of a pinwheel.
    """

    rect: Rect
    axis: Axis | None
    parts: tuple["Slab", ...]
    leaves: tuple[tuple[CutLeaf, Rect], ...]
    kind: object
    wheel: Pinwheel | None = None
    joined: bool = False

    def all_leaves(self) -> Iterator[tuple[CutLeaf, Rect]]:
        """The leaves that it ends up as."""
        todo = [self]
        while todo:
            one = todo.pop()
            yield from one.leaves
            todo += one.parts

    def finished(self) -> Iterator["Slab"]:
        """The finished parts that it ends up as, without those of no size."""
        todo = [self]
        while todo:
            one = todo.pop()
            todo += one.parts
            if not one.parts and one.rect.area:
                yield one
