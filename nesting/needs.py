"""What is answered to "have I enough?": papers needed and to buy, what is complete, what is left."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from nesting.batch import Card
from nesting.cards.merging import Way, sets_missing, ways_among
from nesting.papers import Paper
from nesting.pieces import Piece, Use
from nesting.plan import Bound, Plan
from nesting.sources import SheetKey, key_of_layout, key_of_sheet

MadeKind = Literal["card", "spare set", "loose piece"]


@dataclass(frozen=True, slots=True)
class ToBuy:
    """Sheets of one size to buy; ``price`` is of one, in hundredths, None where it is not given.

    Width and height in nm, without a barcode strip beyond them.
    """

    width: int
    height: int
    count: int
    price: int | None


@dataclass(frozen=True, slots=True)
class PaperNeed:
    """What a paper's full need comes to.

    ``needed`` and ``have`` count whole sheets, ``offcuts`` and ``offcuts_used`` the offcuts at
    hand; None is plenty. ``lacking`` sheets are needed, not at hand, and not to be bought;
    of several sizes they are not counted, as those at hand may be the wrong ones. ``short`` says
    that pieces stay uncut for want of the paper.
    """

    paper: str
    needed: int
    have: int | None
    offcuts: int | None
    offcuts_used: int
    to_buy: tuple[ToBuy, ...]
    lacking: int
    short: bool
    bound: Bound
    proven: bool

    @property
    def sheets_to_buy(self) -> int:
        """How many sheets are to be bought."""
        return sum(size.count for size in self.to_buy)

    @property
    def price(self) -> int | None:
        """What they cost, in hundredths; None where a price is not given."""
        prices = [size.price for size in self.to_buy]
        known = [price for price in prices if price is not None]
        if len(known) < len(prices):
            return None
        return sum(size.count * price for size, price in zip(self.to_buy, known, strict=True))


def paper_needs(plan: Plan) -> Iterator[PaperNeed]:
    """What each paper's full need comes to."""
    uncut = {plan.piece(one.piece).paper for one in plan.uncut}
    for figures in plan.papers:
        paper = plan.asked.paper(figures.paper)
        lacking = 0
        sizes = {(sheet.width, sheet.height) for sheet in paper.sheets if not sheet.offcut}
        if len(sizes) == 1 and figures.have is not None and not plan.asked.may_buy(paper):
            lacking = max(0, figures.needed - figures.have)
        offcuts = [sheet.have for sheet in paper.sheets if sheet.offcut]
        counted = [have for have in offcuts if have is not None]
        yield PaperNeed(
            paper=paper.name,
            needed=figures.needed,
            have=figures.have,
            offcuts=sum(counted) if len(counted) == len(offcuts) else None,
            offcuts_used=sum(
                layout.alike
                for layout in plan.layouts_of(paper.name)
                if layout.source.kind == "offcut"
            ),
            to_buy=tuple(_to_buy(plan, paper)),
            lacking=lacking,
            short=paper.name in uncut and (lacking > 0 or figures.short),
            bound=figures.bound,
            proven=figures.proven,
        )


def _to_buy(plan: Plan, paper: Paper) -> Iterator[ToBuy]:
    """The sheets to buy, by size."""
    count: Counter[SheetKey] = Counter()
    for layout in plan.layouts_of(paper.name):
        count[key_of_layout(layout, paper)] += layout.to_buy
    for sheet in paper.sheets:
        number = 0 if sheet.offcut else count.pop(key_of_sheet(paper, sheet), 0)
        if number:
            yield ToBuy(sheet.width, sheet.height, number, sheet.price)


@dataclass(frozen=True, slots=True)
class EnvelopesToBuy:
    """Envelopes of one size to buy, one for each complete card and spare set; width and height in nm."""

    width: int
    height: int
    count: int
    cards: tuple[str, ...]


def envelopes_to_buy(plan: Plan) -> Iterator[EnvelopesToBuy]:
    """The envelopes that are not made, by size, in the order of the cards."""
    sizes: dict[tuple[int, int], dict[str, int]] = {}
    for card in plan.asked.cards:
        one, sets = card.envelope, complete_sets(plan, card)
        if one is not None and one.paper is None and one.width and one.height and sets:
            sizes.setdefault((one.width, one.height), {})[card.name] = sets
    for size, counts in sizes.items():
        yield EnvelopesToBuy(*size, sum(counts.values()), tuple(counts))


@dataclass(frozen=True, slots=True)
class Made:
    """How many are complete of what is asked for: cards of a design, its spare sets, a loose piece.

    ``letter`` tells a loose piece from others of the same name; else it is empty.
    """

    kind: MadeKind
    name: str
    asked: int
    complete: int
    letter: str = ""

    def is_for(self, piece: Piece, use: Use) -> bool:
        """Whether a use of a piece is one of these."""
        if self.kind == "loose piece":
            return (use.card, use.layer) == (None, self.name) and self.letter in ("", piece.letter)
        return use.card == self.name


def made_of(plan: Plan) -> Iterator[Made]:
    """Count what a plan completes: the cards of each design, then spare sets, then loose pieces."""
    complete = {count.card: count.complete for count in plan.cards}
    yield from (Made("card", count.card, count.asked, count.complete) for count in plan.cards)
    for card in plan.asked.cards:
        if card.spares:
            spares = min(card.spares, complete_sets(plan, card) - complete[card.name])
            yield Made("spare set", card.name, card.spares, spares)
    yield from _loose_made(plan)


def complete_of(plan: Plan) -> dict[MadeKind, tuple[int, int]]:
    """By kind, how many a plan completes of how many that are asked for."""
    complete, asked = Counter[MadeKind](), Counter[MadeKind]()
    for one in made_of(plan):
        complete[one.kind] += one.complete
        asked[one.kind] += one.asked
    return {kind: (complete[kind], asked[kind]) for kind in get_args(MadeKind)}


def _loose_made(plan: Plan) -> Iterator[Made]:
    """Count each loose piece; several equal ones of the same name are one."""
    asked = _loose_counts((piece.id, piece.uses) for piece in plan.pieces)
    missing = _loose_counts((uncut.piece, uncut.uses) for uncut in plan.uncut)
    names = Counter(name for _, name in asked)
    for (id_, name), count in asked.items():
        letter = plan.piece(id_).letter if names[name] > 1 else ""
        yield Made("loose piece", name, count, count - missing[id_, name], letter)


def _loose_counts(uses_of: Iterable[tuple[str, tuple[Use, ...]]]) -> Counter[tuple[str, str]]:
    """How many loose pieces are counted in some uses, by the piece's id and by name."""
    counts: Counter[tuple[str, str]] = Counter()
    for id_, uses in uses_of:
        for use in uses:
            if use.card is None:
                counts[id_, use.layer] += use.count
    return counts


def complete_sets(plan: Plan, card: Card) -> int:
    """For how many cards and spare sets of a design every piece is cut."""
    uncut = ((one.piece, use) for one in plan.uncut for use in one.uses)
    return plan.sets_of(card) - max(sets_missing(plan.pieces, card, uncut).values(), default=0)


def left_in_bags(plan: Plan) -> Iterator[tuple[Piece, int]]:
    """What is in the bags that the batch does not ask for, or not any more, and how many."""
    counted = {piece.letter: piece.in_bags for piece in plan.pieces}
    for piece in plan.asked.begun.pieces if plan.asked.begun else ():
        left = piece.in_bags - counted.get(piece.letter, 0)
        if left:
            yield piece, left


def made_of_bags(plan: Plan) -> dict[str, int]:
    """How many cards of each design the bags alone give, those first that the batch puts first.

    No more than the plan completes, and each piece for one card.
    """
    left = {piece.id: piece.in_bags for piece in plan.pieces}
    complete = {count.card: count.complete for count in plan.cards}
    ready = {}
    for name in dict.fromkeys((*plan.asked.first, *complete)):
        card = next(card for card in plan.asked.cards if card.name == name)
        each = {layer.name: layer.each for layer in card.layers}
        ready[name] = _sets_of(ways_among(plan.pieces, name), each, left, complete[name])
    return ready


def _sets_of(
    supply: dict[str, list[Way]], each: dict[str, int], left: dict[str, int], most: int
) -> int:
    """How many cards the pieces left give, one after the other; they are taken off those left."""
    for made in range(most):
        taken = dict(left)
        for layer, ways in supply.items():
            for _ in range(each.get(layer, 1)):
                counts = (Counter(id_ for id_, _ in way) for way in ways)
                found = next((c for c in counts if all(taken[i] >= n for i, n in c.items())), None)
                if found is None:
                    return made
                for id_, count in found.items():
                    taken[id_] -= count
        left.update(taken)
    return most


@dataclass(frozen=True, slots=True)
class Need:
    """What limits the number of something asked for, and how many more there could be.

    With more of the papers ``limited_by``, more of it could be made. ``more`` is how many a plan of it
    alone makes from the sheets that stay unused and the offcuts that are kept; no plan makes more than
    ``most_more``. Both are None where every paper is there in plenty, and for spare sets:
    what is left would make cards rather than those.
    """

    made: Made
    limited_by: tuple[str, ...] = ()
    more: int | None = None
    most_more: int | None = None

    @property
    def proven(self) -> bool:
        """Whether no more than ``more`` can be made."""
        return self.more == self.most_more


@dataclass(frozen=True, slots=True)
class Needs:
    """The whole answer, with the plan that it comes from; ``made`` is in the order of ``made_of``."""

    plan: Plan
    papers: tuple[PaperNeed, ...]
    made: tuple[Need, ...]

    @property
    def price(self) -> int | None:
        """What everything to buy costs, in hundredths; None where a price is not given."""
        prices = [paper.price for paper in self.papers]
        known = [price for price in prices if price is not None]
        return sum(known) if len(known) == len(prices) else None

    @property
    def proven(self) -> bool:
        """Whether every answer is proven."""
        return self.plan.ended == "proven" and all(need.proven for need in self.made)
