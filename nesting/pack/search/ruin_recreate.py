"""Ruin and recreate on the trees of all sheets at once, to save a sheet."""

from copy import deepcopy
from random import Random

import numpy as np

from nesting.arrays import records
from nesting.pack.model.pattern import Leaf, Pattern, Wheel, grouped
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
        from nesting.pack.kernels.insertion import PLACE, ROOM, Known
        from nesting.pack.kernels.sheet_trees import NO_NODE, NODE, PLACED, Asked, Sheets

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
            nodes=records(nodes, NODE),
            spare=spare,
            roots=np.full(sheets, NO_NODE),
            room=np.full(sheets, size.width * size.height),
            stamps=np.zeros(sheets, dtype=np.int64),
            places=records(blanks, PLACED, NO_NODE),
            open_=np.zeros(blanks, dtype=np.int64),
        )
        #: Each field of the nodes as an array, as records are slow to read one by one.
        self._nodes = {name: self.sheets.nodes[name] for name in NODE.names or ()}
        self._kept = deepcopy(self.sheets)
        self.known = Known(
            best=records((kinds, sheets), PLACE, NO_NODE),
            stamps=np.full((kinds, sheets), NO_NODE),
            clock=np.zeros(1, dtype=np.int64),
            stack=records(nodes + 1, ROOM),
            found=records(1, PLACE)[0],
        )
        self._room = np.zeros(nodes, dtype=np.int64), np.zeros(blanks, dtype=np.int64)
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

        sheets, nodes = self.sheets, self._nodes
        node = trees.take_node(sheets.nodes, sheets.spare)
        nodes["width"][node], nodes["height"][node] = pattern.width, pattern.height
        if isinstance(pattern, Leaf):
            blank = left[pattern.kind].pop()
            nodes["kind"][node] = trees.LEAF
            nodes["blank"][node] = blank
            nodes["lying"][node] = self.problem.kinds[pattern.kind].shapes.index(pattern.shape)
            sheets.places[blank].node, sheets.places[blank].sheet = node, sheet
            sheets.room[sheet] -= self.asked.area[blank]
            return node
        if isinstance(pattern, Wheel):
            raise TypeError("ruin and recreate knows edge-to-edge cuts only")
        nodes["kind"][node] = trees.ALONG_X if pattern.axis == "x" else trees.ALONG_Y
        for member in reversed(pattern.members):
            child = self._planted(member, sheet, left)
            nodes["parent"][child] = node
            nodes["next"][child] = nodes["first"][node]
            nodes["first"][node] = child
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
            *self._room,
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

        nodes = self._nodes
        if nodes["kind"][node] == trees.LEAF:
            kind = int(self.asked.of[nodes["blank"][node]])
            shape = self.problem.kinds[kind].shapes[int(nodes["lying"][node])]
            return Leaf(kind, shape)
        members: list[Pattern] = []
        child = int(nodes["first"][node])
        while child >= 0:
            members.append(self._pattern(child))
            child = int(nodes["next"][child])
        return grouped("x" if nodes["kind"][node] == trees.ALONG_X else "y", tuple(members))
