"""When paper is short: as many whole cards as it gives, in the order of the file."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from nesting.batch import Batch, Piece
from nesting.pack.problem import make_problem
from nesting.pack.search import Search
from nesting.pack.tidy import tidy
from nesting.plan import CardCount, Uncut

#: How many rounds a search may take to fit a number of pieces on the sheets at hand.
_ROUNDS = 40

#: Says whether the sheets at hand of a paper hold so many of each piece (by id).
Suffices = Callable[[str, dict[str, int]], bool]

#: How many to cut of each use of a piece: by piece id and the use's place in the piece.
Counts = dict[tuple[str, int], int]


class Shortage:
    """Answers whether the sheets at hand of a paper hold some pieces, and remembers how.

    ``quick`` takes the first filling for the answer. ``sure`` stays true as long as every "no" was
    proven.
    """

    def __init__(
        self, batch: Batch, pieces: tuple[Piece, ...], seed: int, *, quick: bool = False
    ) -> None:
        self._batch = batch
        self._pieces = pieces
        self._seed = seed
        self._rounds = 0 if quick else _ROUNDS
        self.sure = True
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
        if not search.short:
            return search
        self.sure = self.sure and search.surely_short
        return None

    def search(self, paper: str, cut: Counts) -> Search | None:
        """The search that found how to cut so much; None where nothing is cut."""
        counts: dict[str, int] = {}
        for piece in self._pieces:
            if piece.paper == paper:
                counts[piece.id] = sum(cut[piece.id, n] for n in range(len(piece.uses)))
        if not any(counts.values()):
            return None
        if not self.suffices(paper, counts):
            raise AssertionError(f"{paper}: counts that were found to fit do not")
        found = self._found[paper, tuple(counts.items())]
        if found is not None:
            tidy(found)
        return found


@dataclass(frozen=True, slots=True)
class Settled:
    """What is cut: each paper's search for it (None where nothing is), what is not, whole cards.

    ``sure`` says that more whole cards in this order were ruled out by proof.
    """

    finals: dict[str, Search | None]
    uncut: tuple[Uncut, ...]
    cards: tuple[CardCount, ...]
    sure: bool


def settle(
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: dict[str, Search],
    seed: int,
    *,
    quick: bool,
) -> Settled:
    """Decide what is cut from the papers that are short, and find how.

    A paper that turns out to give everything was not short: its better search takes the place of
    the first in ``searches``. ``quick`` takes first fillings only, as after a Ctrl-C; so does one
    that comes here.
    """
    short = {name for name, search in searches.items() if search.short}
    shortage = Shortage(batch, pieces, seed, quick=quick)
    try:
        cut = cut_counts(batch, pieces, short, shortage.suffices)
    except KeyboardInterrupt:
        shortage = Shortage(batch, pieces, seed, quick=True)
        cut = cut_counts(batch, pieces, short, shortage.suffices)
    finals = {
        name: shortage.search(name, cut) if name in short else search
        for name, search in searches.items()
    }
    uncut = _uncut(pieces, short, cut)
    lacking = {piece.paper for piece in pieces for one in uncut if one.piece == piece.id}
    for name in short - lacking:
        final = finals[name]
        if final is not None:
            searches[name] = final.with_bound_of(searches[name])
    return Settled(finals, uncut, _card_counts(batch, pieces, short, cut), shortage.sure)


def _uncut(pieces: tuple[Piece, ...], short: set[str], cut: Counts) -> tuple[Uncut, ...]:
    """What the short papers do not give."""
    uncut = []
    for piece in pieces:
        if piece.paper not in short:
            continue
        uses = [
            replace(use, count=use.count - cut[piece.id, n]) for n, use in enumerate(piece.uses)
        ]
        missing = tuple(use for use in uses if use.count)
        if missing:
            uncut.append(Uncut(piece.id, sum(use.count for use in missing), missing))
    return tuple(uncut)


def _card_counts(
    batch: Batch, pieces: tuple[Piece, ...], short: set[str], cut: Counts
) -> tuple[CardCount, ...]:
    """How many cards of each design have all their pieces."""
    counted = []
    for card in batch.cards:
        complete = card.make
        for piece in pieces:
            for n, use in enumerate(piece.uses):
                if piece.paper in short and use.card == card.name:
                    each = use.count // (card.make + card.spares)
                    complete = min(complete, cut[piece.id, n] // each)
        counted.append(CardCount(card.name, card.make, complete))
    return tuple(counted)


def cut_counts(
    batch: Batch, pieces: tuple[Piece, ...], short: set[str], suffices: Suffices
) -> Counts:
    """Find how many of each use to cut from the papers that are short.

    First whole cards of each design in the order of the file, then spare sets in the same order,
    then loose pieces: each as many as the sheets at hand hold beside what came before.
    """
    short_pieces = [piece for piece in pieces if piece.paper in short]
    cut = {(piece.id, n): 0 for piece in short_pieces for n in range(len(piece.uses))}
    for each, most in _wishes(batch, short_pieces):
        papers = sorted({piece.paper for piece in short_pieces if _asks(each, piece)})

        def holds(sets: int, each: Counts = each, papers: list[str] = papers) -> bool:
            wanted: dict[str, dict[str, int]] = {paper: {} for paper in papers}
            for piece in short_pieces:
                if piece.paper in wanted:
                    wanted[piece.paper][piece.id] = sum(
                        cut[piece.id, n] + each.get((piece.id, n), 0) * sets
                        for n in range(len(piece.uses))
                    )
            return all(suffices(paper, wanted[paper]) for paper in papers)

        sets = _most_that_holds(most, holds)
        for key, count in each.items():
            cut[key] += count * sets
    return cut


def _asks(each: Counts, piece: Piece) -> bool:
    return any((piece.id, n) in each for n in range(len(piece.uses)))


def _wishes(batch: Batch, pieces: list[Piece]) -> Iterator[tuple[Counts, int]]:
    """What to cut, most wanted first: how many of each use make a set, and how many sets."""
    uses = [(piece.id, n, use) for piece in pieces for n, use in enumerate(piece.uses)]
    for spare in (False, True):
        for card in batch.cards:
            sets = card.make + card.spares
            each = {(id_, n): use.count // sets for id_, n, use in uses if use.card == card.name}
            if each:
                yield each, card.spares if spare else card.make
    for id_, n, use in uses:
        if use.card is None:
            yield {(id_, n): 1}, use.count


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
