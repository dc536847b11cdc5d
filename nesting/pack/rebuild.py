"""The long search for one sheet fewer: ruin and recreate on the trees of all sheets at once."""

from random import Random
from typing import TYPE_CHECKING

from nesting.pack.content import Content, Leaf, group, leaves
from nesting.pack.problem import Problem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

#: Rounds of ruin and recreate between two looks from outside.
ROUNDS = 50


class Rebuild:
    """A fixed number of equal sheets, and blanks that are still open.

    ``contents`` lie on the sheets at first; the demand's other blanks are open. No circles in
    groups are among them, nor are any made.
    """

    def __init__(self, problem: Problem, contents: list[Content], rng: Random) -> None:
        import numpy as np

        self.problem = problem
        size = problem.sizes[0]
        self._of = np.repeat(np.arange(len(problem.kinds)), problem.demand)
        blanks = len(self._of)
        self._shapes = np.zeros((len(problem.kinds), 2, 2), dtype=np.int64)
        for number, kind in enumerate(problem.kinds):
            for lying, shape in enumerate(s for s in kind.shapes if s.holds == 1):
                self._shapes[number, lying] = shape.width, shape.height
        self._area = self._shapes[:, 0].prod(axis=1)[self._of]
        self._mean = float(self._area.mean())
        self._size = np.array([size.width, size.height], dtype=np.int64)
        nodes = 2 * blanks + 2
        self._nodes: Whole = np.zeros((8, nodes), dtype=np.int64)
        self._spare: Whole = np.arange(nodes, -1, -1, dtype=np.int64)
        self._spare[0] = nodes
        self._roots: Whole = np.full(len(contents), -1, dtype=np.int64)
        self._room: Whole = np.full(len(contents), size.width * size.height, dtype=np.int64)
        self._places: Whole = np.full((2, blanks), -1, dtype=np.int64)
        self._open: Whole = np.zeros(2 * blanks + 1, dtype=np.int64)
        self._chance: Whole = np.array([rng.randrange(1, 2147483647)], dtype=np.int64)
        left = [np.flatnonzero(self._of == k).tolist() for k in range(len(problem.kinds))]
        for sheet, content in enumerate(contents):
            self._roots[sheet] = self._planted(content, sheet, left)
        waiting = [int(blank) for blanks_ in left for blank in blanks_]
        self._open[: len(waiting)] = waiting
        self.open = len(waiting)

    def _planted(self, content: Content, sheet: int, left: list[list[int]]) -> int:
        """The node of a content, its blanks taken from those left."""
        from nesting.pack import kernel

        nodes, spare = self._nodes, self._spare
        node = int(spare[spare[0]])
        spare[0] -= 1
        nodes[:, node] = -1
        nodes[kernel.WIDTH, node], nodes[kernel.HEIGHT, node] = content.width, content.height
        if isinstance(content, Leaf):
            blank = left[content.kind].pop()
            nodes[kernel.KIND, node] = kernel.LEAF
            nodes[kernel.BLANK, node] = blank
            nodes[kernel.SHAPE, node] = self.problem.kinds[content.kind].shapes.index(content.shape)
            self._places[:, blank] = node, sheet
            self._room[sheet] -= self._area[blank]
            return node
        nodes[kernel.KIND, node] = kernel.ALONG_X if content.axis == "x" else kernel.ALONG_Y
        for member in reversed(content.members):
            child = self._planted(member, sheet, left)
            nodes[kernel.PARENT, child] = node
            nodes[kernel.NEXT, child] = nodes[kernel.FIRST, node]
            nodes[kernel.FIRST, node] = child
        return node

    def run(self, heat: float, most: int) -> None:
        """Go on for some rounds, or until nothing is open.

        ``heat`` is how much more area a state may leave out than the one before, in mean blanks;
        ``most`` is about how many blanks a ruin takes out.
        """
        from nesting.pack import kernel

        self.open = kernel.search(
            self._nodes,
            self._roots,
            self._spare,
            self._room,
            self._places,
            self._size,
            self._shapes,
            self._of,
            self._area,
            self._open,
            self.open,
            self._chance,
            ROUNDS,
            int(heat * self._mean),
            most,
        )

    def contents(self) -> list[Content]:
        """What lies on the sheets now; empty ones are left out."""
        return [self._content(int(root)) for root in self._roots if root >= 0]

    def _content(self, node: int) -> Content:
        from nesting.pack import kernel

        nodes = self._nodes
        if nodes[kernel.KIND, node] == kernel.LEAF:
            kind = int(self._of[nodes[kernel.BLANK, node]])
            shape = self.problem.kinds[kind].shapes[int(nodes[kernel.SHAPE, node])]
            return Leaf(kind, shape)
        members: list[Content | None] = []
        child = int(nodes[kernel.FIRST, node])
        while child >= 0:
            members.append(self._content(child))
            child = int(nodes[kernel.NEXT, child])
        made = group("x" if nodes[kernel.KIND, node] == kernel.ALONG_X else "y", members)
        if made is None:
            raise AssertionError("a group without members")
        return made


def blank_area(content: Content) -> int:
    """Area of the blanks of a content in units."""
    return sum(leaf.width * leaf.height for leaf in leaves(content))
