"""When paper is short: as many whole cards as it gives, in the order of the file."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from nesting.batch import Batch, Piece, Use
from nesting.pack.problem import make_problem
from nesting.pack.search import Search

#: How many rounds a search may take to fit a number of pieces on the sheets at hand.
_ROUNDS = 40

#: Says whether the sheets at hand of a paper hold so many of each piece (by id).
Suffices = Callable[[str, dict[str, int]], bool]

_Each = dict[tuple[str, Use], int]


class Shortage:
    """Answers whether the sheets at hand of a paper hold some pieces, and remembers how.

    ``quick`` takes the first filling for the answer.
    """

    def __init__(
        self, batch: Batch, pieces: tuple[Piece, ...], seed: int, *, quick: bool = False
    ) -> None:
        self._batch = batch
        self._pieces = pieces
        self._seed = seed
        self._rounds = 0 if quick else _ROUNDS
        self._found: dict[tuple[str, tuple[tuple[str, int], ...]], Search | None] = {}

    def suffices(self, paper: str, counts: dict[str, int]) -> bool:
        """Whether a search finds a plan of so many of each piece without buying."""
        if not any(counts.values()):
            return True
        key = paper, tuple(counts.items())
        if key not in self._found:
            self._found[key] = self._look(paper, counts)
        return self._found[key] is not None

    def _look(self, paper: str, counts: dict[str, int]) -> Search | None:
        pieces = [replace(p, demand=counts.get(p.id, 0)) for p in self._pieces if p.paper == paper]
        problem = make_problem(self._batch.paper(paper), pieces, self._batch.trimmer)
        search = Search(problem, f"{self._seed}/{paper}")
        for _ in search.improve():
            if not search.short or search.surely_short or search.rounds > self._rounds:
                break
        return None if search.short else search

    def search(self, paper: str, cut: dict[tuple[str, Use], int]) -> Search | None:
        """The search that found how to cut so much; None where nothing is cut."""
        counts: dict[str, int] = {}
        for piece in self._pieces:
            if piece.paper == paper:
                counts[piece.id] = sum(cut[piece.id, use] for use in piece.uses)
        if not any(counts.values()):
            return None
        if not self.suffices(paper, counts):
            raise AssertionError(f"{paper}: counts that were found to fit do not")
        found = self._found[paper, tuple(counts.items())]
        if found is not None:
            found.keep_grain()
        return found


def cut_counts(
    batch: Batch, pieces: tuple[Piece, ...], short: set[str], suffices: Suffices
) -> dict[tuple[str, Use], int]:
    """Find how many of each use to cut from the papers that are short.

    First whole cards of each design in the order of the file, then spare sets in the same order,
    then loose pieces: each as many as the sheets at hand hold beside what came before.

    Returns
    -------
    dict[tuple[str, Use], int]
        Piece id and use to count, for the pieces of the short papers only.
    """
    uses = [(piece, use) for piece in pieces if piece.paper in short for use in piece.uses]
    cut = {(piece.id, use): 0 for piece, use in uses}
    for of, each, most in _wishes(batch, uses):
        papers = sorted({piece.paper for piece, _ in of})

        def holds(sets: int, each: _Each = each, papers: list[str] = papers) -> bool:
            wanted: dict[str, dict[str, int]] = {paper: {} for paper in papers}
            for piece, use in uses:
                if piece.paper in wanted:
                    count = cut[piece.id, use] + each.get((piece.id, use), 0) * sets
                    on_paper = wanted[piece.paper]
                    on_paper[piece.id] = on_paper.get(piece.id, 0) + count
            return all(suffices(paper, wanted[paper]) for paper in papers)

        sets = _most_that_holds(most, holds)
        for key, count in each.items():
            cut[key] += count * sets
    return cut


def _wishes(
    batch: Batch, uses: list[tuple[Piece, Use]]
) -> Iterator[tuple[list[tuple[Piece, Use]], _Each, int]]:
    """What to cut, most wanted first: the uses, how many of each make a set, how many sets."""
    for spare in (False, True):
        for card in batch.cards:
            of = [(piece, use) for piece, use in uses if use.card == card.name]
            sets = card.make + card.spares
            if of:
                each = {(piece.id, use): use.count // sets for piece, use in of}
                yield of, each, card.spares if spare else card.make
    for piece, use in uses:
        if use.card is None:
            yield [(piece, use)], {(piece.id, use): 1}, use.count


def _most_that_holds(most: int, holds: Callable[[int], bool]) -> int:
    """The largest number up to ``most`` that holds, by halving: more never holds where less does not."""
    if holds(most):
        return most
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low
