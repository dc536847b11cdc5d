"""Ruin and recreate on the trees of all sheets at once, to save a sheet."""

from random import Random

import numpy as np

from nesting.pack.model.pattern import Leaf, Pattern, grouped
from nesting.pack.model.problem import Problem, lying_sizes
from nesting.pack.search.pattern_archive import PatternArchive

#: Rounds of ruin and recreate in one turn.
ROUNDS = 100


class RuinAndRecreate:
    """A fixed number of equal sheets, and the blanks that are still open.

    The sheets begin with ``patterns``; the rest of the demand is open. Groups of circles are
    neither among the patterns nor made. Good sheets are recorded in ``seen``, the archive.
    """

    def __init__(
        self, problem: Problem, patterns: list[Pattern], rng: Random, seen: PatternArchive
    ) -> None:
        from nesting.pack.kernels.insertion import Known
        from nesting.pack.kernels.sheet_trees import Asked, Sheets

        self.problem = problem
        size, kinds, sheets = problem.sizes[0], len(problem.kinds), len(patterns)
        of = np.repeat(np.arange(kinds), problem.demand)
        blanks = len(of)
        shapes = lying_sizes(problem)
        area = shapes[:, 0].prod(axis=1)[of]
        self.asked = Asked(np.array([size.width, size.height]), shapes, of, area)
        self._mean = float(area.mean())
        nodes = 2 * blanks + 2
        spare = np.arange(nodes, -1, -1)
        spare[0] = nodes
        self.sheets = Sheets(
            nodes=np.zeros((8, nodes), dtype=np.int64),
            spare=spare,
            roots=np.full(sheets, -1),
            room=np.full(sheets, size.width * size.height),
            stamps=np.zeros(sheets, dtype=np.int64),
            places=np.full((2, blanks), -1),
            open_=np.zeros(blanks, dtype=np.int64),
        )
        self._kept = Sheets(*(array.copy() for array in self.sheets))
        self.known = Known(
            best=np.full((kinds, sheets, 4), -1),
            stamps=np.full((kinds, sheets), -1),
            clock=np.zeros(1, dtype=np.int64),
            stack=np.zeros((nodes + 1, 5), dtype=np.int64),
        )
        self._seen = seen
        self._chance = np.array([rng.randrange(1, 2147483647), 0], dtype=np.int64)
        left = [np.flatnonzero(of == kind).tolist() for kind in range(kinds)]
        for sheet, pattern in enumerate(patterns):
            self.sheets.roots[sheet] = self._planted(pattern, sheet, left)
        waiting = [int(blank) for blanks_ in left for blank in blanks_]
        self.sheets.open_[: len(waiting)] = waiting
        self.open = len(waiting)

    def _planted(self, pattern: Pattern, sheet: int, left: list[list[int]]) -> int:
        """Turn a pattern into nodes, its blanks taken from those left; return the node of its root."""
        from nesting.pack.kernels import sheet_trees as trees

        sheets = self.sheets
        nodes = sheets.nodes
        node = trees.take_node(nodes, sheets.spare)
        nodes[trees.WIDTH, node], nodes[trees.HEIGHT, node] = pattern.width, pattern.height
        if isinstance(pattern, Leaf):
            blank = left[pattern.kind].pop()
            nodes[trees.KIND, node] = trees.LEAF
            nodes[trees.BLANK, node] = blank
            nodes[trees.SHAPE, node] = self.problem.kinds[pattern.kind].shapes.index(pattern.shape)
            sheets.places[:, blank] = node, sheet
            sheets.room[sheet] -= self.asked.area[blank]
            return node
        nodes[trees.KIND, node] = trees.ALONG_X if pattern.axis == "x" else trees.ALONG_Y
        for member in reversed(pattern.members):
            child = self._planted(member, sheet, left)
            nodes[trees.PARENT, child] = node
            nodes[trees.NEXT, child] = nodes[trees.FIRST, node]
            nodes[trees.FIRST, node] = child
        return node

    def run(self, heat: float, most: int) -> None:
        """Run some rounds, fewer if no blank is open any more.

        ``heat`` is how much more area than before a new state may leave open, in mean blanks; a
        ruin removes about ``most`` blanks.
        """
        from nesting.pack.kernels.ruin_loop import ruin_and_recreate

        self.open = ruin_and_recreate(
            self.sheets,
            self._kept,
            self.asked,
            self.known,
            self._seen.record,
            self._chance,
            self.open,
            ROUNDS,
            int(heat * self._mean),
            most,
        )

    def patterns(self) -> list[Pattern]:
        """The patterns on the sheets now, without empty sheets."""
        return [self._pattern(int(root)) for root in self.sheets.roots if root >= 0]

    def _pattern(self, node: int) -> Pattern:
        from nesting.pack.kernels import sheet_trees as trees

        nodes = self.sheets.nodes
        if nodes[trees.KIND, node] == trees.LEAF:
            kind = int(self.asked.of[nodes[trees.BLANK, node]])
            shape = self.problem.kinds[kind].shapes[int(nodes[trees.SHAPE, node])]
            return Leaf(kind, shape)
        members: list[Pattern] = []
        child = int(nodes[trees.FIRST, node])
        while child >= 0:
            members.append(self._pattern(child))
            child = int(nodes[trees.NEXT, child])
        return grouped("x" if nodes[trees.KIND, node] == trees.ALONG_X else "y", tuple(members))
