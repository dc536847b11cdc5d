"""What is answered: the plan, its figures, and its bounds with their proofs."""

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.batch import Batch, Card
from nesting.layouts import Layout
from nesting.papers import ONLY_WHERE_SAID, Edge, SheetCount
from nesting.pieces import Piece, Use

#: Of a field with a cost or a worth: these are ratios in whole numbers, and may be as large as it takes.
OF_ANY_SIZE = {"of any size": True}


@dataclass(frozen=True, slots=True)
class SheetValue:
    """The most value that the usable rectangle of a sheet of this nominal size can hold."""

    width: int
    height: int
    value: int = field(metadata=OF_ANY_SIZE)


@dataclass(frozen=True, slots=True)
class Bound:
    """A proven least cost of a paper's full need: no plan of such cuts needs less.

    ``by`` is the kind of proof. ``area``: each piece is worth the area of its blank, each sheet
    its usable area. ``values``: each piece has an integer value, and no sheet holds more than its
    ``sheet_values`` entry. In both, the least cost is that of the cheapest choice of sheets, as
    many as there are of each, that are together worth what is asked for: with sheets of one size
    the quotient, rounded up (Farley 1990). ``search``: exhaustion; not to be verified from the plan.
    ``cuts`` says for which plans the values hold: of edge-to-edge cuts, or with cuts that stop, too.
    Areas hold for both.
    """

    value: int = field(metadata=OF_ANY_SIZE)
    of: Literal["sheets", "cost"]
    by: Literal["area", "values", "search"]
    sheet_values: tuple[SheetValue, ...] = ()
    values: dict[str, int] = field(default_factory=dict, metadata=OF_ANY_SIZE)
    cuts: Literal["edge-to-edge", "stopped"] = field(
        default="edge-to-edge", metadata=ONLY_WHERE_SAID
    )

    @property
    def holds_for_stopped(self) -> bool:
        """Whether no plan with stopped cuts is cheaper either."""
        return self.by == "area" or self.cuts == "stopped"


@dataclass(frozen=True, slots=True)
class Uncut:
    """Pieces that are not cut: their paper does not suffice, or their card will not be whole."""

    piece: str
    count: int
    uses: tuple[Use, ...]


@dataclass(frozen=True, slots=True)
class CardCount:
    """How many cards of a design all pieces are cut for.

    A design without a number is ``asked`` as often as it is complete, or as is asked at least.
    """

    card: str
    asked: int
    complete: int


@dataclass(frozen=True, slots=True)
class HeldValue:
    """The most value that the usable rectangle of a paper's sheet of this nominal size can hold."""

    paper: str
    width: int
    height: int
    value: int = field(metadata=OF_ANY_SIZE)


@dataclass(frozen=True, slots=True)
class WholeCards:
    """How many whole cards the papers that are short give, and a proof that none gives more.

    ``cards`` are the designs counted together: ``made`` of ``asked`` are complete (None: as many as
    possible), and no plan of edge-to-edge cuts from the sheets at hand makes more than ``most`` beside
    what this one makes of earlier entries. Where ``of`` is ``each``, these are the numbers of the design
    that has fewest. ``cuts`` is as for a ``Bound``. ``by`` is the kind of proof:

    - ``asked``: no more are asked for.
    - ``area``: the blanks' areas on one of the papers alone.
    - ``values``: each piece has an integer value, and no sheet of ``held`` holds more than its entry.
      What all sheets at hand hold, less what the cards of earlier entries are worth, is enough for
      ``most`` of the cards that are worth least, and not for one more (linear programming duality).
    - ``search``: exhaustion; not to be verified from the plan.
    """

    cards: tuple[str, ...]
    asked: int | None
    made: int
    most: int
    by: Literal["asked", "area", "values", "search"]
    held: tuple[HeldValue, ...] = ()
    values: dict[str, int] = field(default_factory=dict, metadata=OF_ANY_SIZE)
    of: Literal["all", "each"] = field(default="all", metadata=ONLY_WHERE_SAID)
    cuts: Literal["edge-to-edge", "stopped"] = field(
        default="edge-to-edge", metadata=ONLY_WHERE_SAID
    )

    @property
    def holds_for_stopped(self) -> bool:
        """Whether no plan with stopped cuts makes more either."""
        return self.by in ("asked", "area") or self.cuts == "stopped"

    @property
    def proven(self) -> bool:
        """Whether as many are made as can be."""
        return self.made >= self.most


@dataclass(frozen=True, slots=True)
class OneMore:
    """What one more whole sheet of a paper would give, of this nominal size.

    ``made`` has the cards that could then be made, by design; ``better`` says that these are more
    than without it, and ``proven`` that there is nothing better. The plan alone cannot show it.
    """

    paper: str
    width: int
    height: int
    made: dict[str, int]
    better: bool
    proven: bool


@dataclass(frozen=True, slots=True)
class PaperCost:
    """What has to be bought of the papers that layers choose from.

    ``value`` is the price of these sheets, in hundredths, where every sheet that may be bought has
    one; else their area, in the greatest common divisor of the areas of those sheets; where these
    are all alike, that is the number of sheets. No choice of papers that makes as much needs less
    than ``least``, which the plan alone cannot show.
    """

    of: Literal["sheets", "price", "area"]
    value: int = field(metadata=OF_ANY_SIZE)
    least: int = field(metadata=OF_ANY_SIZE)


@dataclass(frozen=True, slots=True)
class PaperFigures:
    """What a paper's need comes to.

    ``needed`` counts the whole sheets of the full need, ``used`` the whole sheets cut (at hand
    and to buy), ``have`` those at hand (None is plenty). ``in_pieces``, ``kept`` and ``waste``
    are shares of the nominal sheets used, offcuts included, and add up to 1. ``strokes`` are the passes
    of the blade for all sheets, as many at once as the trimmer's stack, and ``ruler_settings`` how
    many distances the ruler is set to (``nesting.cutting.strokes``). ``short`` says that the full need
    takes sheets that can neither be found nor bought.
    """

    paper: str
    needed: int
    have: int | None
    used: int
    to_buy: int
    bound: Bound
    proven: bool
    in_pieces: float
    kept: float
    waste: float
    strokes: int
    ruler_settings: int
    short: bool = field(default=False, metadata=ONLY_WHERE_SAID)


@dataclass(frozen=True, slots=True)
class Earlier:
    """A plan that this one goes on from: its mark, its digest, and the record of it, in words."""

    mark: str
    digest: str
    done: str
    spoilt: str


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole answer; ``asked`` is the batch with every default filled in.

    ``warnings`` are to look out for; ``notes`` say what the other choice of what to prefer would
    cost, for each paper where there is a choice. ``after`` are the plans that it goes on from, one
    after the other, the latest last. ``one_more`` tells, where as many cards as possible are made,
    which paper limits them; it is empty where that was not worked out. ``middles`` are all covered
    middles that there are to cut from, and how many where everything asked for is made. ``unchosen``
    are pieces of ways to cut a layer that the plan does not take: the proofs that no other way is
    better give values to them, too.
    """

    tool: str
    seed: int
    ended: Literal["proven", "limit", "interrupted"]
    asked: Batch
    pieces: tuple[Piece, ...]
    layouts: tuple[Layout, ...]
    uncut: tuple[Uncut, ...]
    cards: tuple[CardCount, ...]
    papers: tuple[PaperFigures, ...]
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    whole_cards: tuple[WholeCards, ...] = field(default=(), metadata={"later": True})
    chosen: PaperCost | None = field(default=None, metadata={"later": True})
    after: tuple[Earlier, ...] = field(default=(), metadata=ONLY_WHERE_SAID)
    one_more: tuple[OneMore, ...] = field(default=(), metadata=ONLY_WHERE_SAID)
    middles: tuple[SheetCount, ...] = field(default=(), metadata=ONLY_WHERE_SAID)
    unchosen: tuple[Piece, ...] = field(default=(), metadata=ONLY_WHERE_SAID)

    def __hash__(self) -> int:
        """Few values tell most plans apart: what is worked out from one is remembered by it."""
        return hash((self.asked.name, self.seed, len(self.pieces), len(self.layouts)))

    def piece(self, id: str) -> Piece:  # noqa: A002 - the contract's own word
        """The piece of that id; KeyError where there is none."""
        for piece in self.pieces:
            if piece.id == id:
                return piece
        raise KeyError(id)

    def as_cut(self, piece: Piece) -> Piece:
        """A piece with as many as are cut, or in the bags, in place of what is asked for."""
        uncut = Counter[tuple[str | None, str, Edge | None]]()
        for one in self.uncut:
            if one.piece == piece.id:
                for use in one.uses:
                    uncut[use.card, use.layer, use.end] += use.count
        uses = tuple(
            replace(use, count=use.count - uncut[use.card, use.layer, use.end])
            for use in piece.uses
        )
        return replace(piece, demand=piece.demand - uncut.total(), uses=uses)

    def sets_of(self, card: Card) -> int:
        """How many cards and spare sets of a design the plan is for."""
        return card.spares + sum(one.asked for one in self.cards if one.card == card.name)

    def layouts_of(self, paper: str) -> tuple[Layout, ...]:
        """The layouts of that paper, in order."""
        return tuple(layout for layout in self.layouts if layout.paper == paper)

    @property
    def all_cut(self) -> bool:
        """Whether everything asked for is cut from sheets at hand."""
        return not self.uncut and not any(figures.to_buy for figures in self.papers)
