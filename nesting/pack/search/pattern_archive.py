"""The archive: the sheets that ruin and recreate has made, to be used as columns."""

from collections.abc import Sequence
from random import Random
from typing import TypeVar

import numpy as np

from nesting.arrays import Numbers, Whole, records
from nesting.pack.model.pattern import Leaf, Pattern, grouped
from nesting.pack.model.problem import Problem

#: The most sheets in the archive, and the room for their trees, in blanks per sheet.
_MOST_SEEN, _BLANKS_EACH = 40_000, 20
#: Worth is counted in this fraction of a sheet.
_PARTS = 1 << 40
#: Until dual values are known, a sheet may waste this many times the mean waste.
_WASTE = 3

_Values = TypeVar("_Values", Whole, Numbers)


class PatternArchive:
    """Sheets without repeats: of those with the same counts, the first.

    Only sheets of enough worth are recorded: by area at first, then as ``value`` says.
    """

    def __init__(self, problem: Problem, rng: Random, most: int = _MOST_SEEN) -> None:
        from nesting.pack.kernels.archive_loop import SLOT, Seen

        kinds = len(problem.kinds)
        self._problem = problem
        self._aim = 0
        self.record = Seen(
            tokens=np.zeros(most * _BLANKS_EACH, dtype=np.int64),
            starts=np.zeros(most + 1, dtype=np.int64),
            number=np.zeros(1, dtype=np.int64),
            keys=np.array([rng.randrange(1 << 50) for _ in range(kinds)], dtype=np.int64),
            slots=records(2 * most + 1, SLOT, -1),
            worth=np.zeros(kinds, dtype=np.int64),
            least=np.zeros(1, dtype=np.int64),
        )

    def __len__(self) -> int:
        """How many there are."""
        return int(self.record.number[0])

    def aim(self, sheets: int) -> None:
        """From now on record what wastes little for a plan of this many sheets, if their number is new."""
        if sheets == self._aim:
            return
        self._aim = sheets
        problem, size = self._problem, self._problem.sizes[0]
        whole = size.width * size.height
        waste = 1 - problem.area / (sheets * whole)
        self.value([area / whole for area in problem.areas], _WASTE * waste)

    def value(self, values: list[float], slack: float) -> None:
        """From now on record what is worth a sheet less ``slack``, by a value of each kind in sheets."""
        self.record.worth[:] = [int(value * _PARTS) for value in values]
        self.record.least[0] = int((1 - slack) * _PARTS)

    def worth(self, values: Sequence[float]) -> Numbers:
        """What every sheet is worth, by a value of each kind."""
        return self._sums(np.array(values))

    def counts(self, numbers: Whole) -> Whole:
        """How many of each kind some sheets hold: a row for each of them."""
        starts, kinds = self.record.starts, len(self._problem.kinds)
        lengths = starts[numbers + 1] - starts[numbers]
        of = np.repeat(np.arange(len(numbers)), lengths)
        tokens = self.record.tokens[
            np.arange(len(of)) + np.repeat(starts[numbers] - np.cumsum(lengths) + lengths, lengths)
        ]
        blanks = tokens >= 0
        held = np.bincount(of[blanks] * kinds + tokens[blanks] // 2, minlength=len(numbers) * kinds)
        return held.reshape(-1, kinds)

    def _sums(self, values: _Values) -> _Values:
        """For every sheet the sum over its blanks of a value of each kind."""
        starts = self.record.starts[: len(self) + 1]
        tokens = self.record.tokens[: starts[-1]]
        return np.add.reduceat(np.where(tokens < 0, 0, values[tokens // 2]), starts[:-1])

    def keep(self, chosen: Whole) -> None:
        """Forget all but the ``chosen`` numbers, which become 0, 1, ... in their order."""
        from nesting.pack.kernels.archive_loop import note_keys

        record = self.record
        lengths = np.diff(record.starts)[chosen]
        starts = np.concatenate([[0], np.cumsum(lengths)])
        moved = np.repeat(record.starts[chosen] - starts[:-1], lengths)
        record.tokens[: starts[-1]] = record.tokens[np.arange(starts[-1]) + moved]
        record.starts[: len(starts)] = starts
        record.number[0] = len(chosen)
        record.slots.number.fill(-1)
        note_keys(record, self._sums(record.keys))

    def pattern(self, number: int) -> Pattern:
        """The pattern of a sheet."""
        from nesting.pack.kernels.archive_loop import END, OPEN_X

        record = self.record
        done: list[Pattern] = []
        within: list[tuple[int, list[Pattern]]] = []
        members = done
        for token in record.tokens[record.starts[number] : record.starts[number + 1]].tolist():
            if token >= 0:
                kind, lying = divmod(token, 2)
                members.append(Leaf(kind, self._problem.kinds[kind].shapes[lying]))
            elif token == END:
                opened, inside = within.pop()
                members = within[-1][1] if within else done
                members.append(grouped("x" if opened == OPEN_X else "y", tuple(inside)))
            else:
                members = []
                within.append((token, members))
        return done[0]
