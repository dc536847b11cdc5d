"""What is asked: papers, trimmer, card designs, loose pieces; what of it is cut already.

Lengths are integer nanometres. Nothing here validates: data is checked once, where it enters
(``nesting.files`` and ``nesting.cards.resolving``).
"""

from dataclasses import dataclass, field
from typing import Literal

from nesting.errors import NestingError
from nesting.papers import ONLY_WHERE_SAID, Edges, FaceName, Paper, SheetCount, Turn
from nesting.pieces import Piece
from nesting.units import Unit

Join = Literal["never", "may", "must"]
Fold = Literal["left", "top", "none"]
Where = Literal["outside", "inside", "behind", "envelope"]
Prefer = Literal["easy-cutting", "big-offcut"]
Aim = Literal["most cards", "even"]
Hand = Literal["right", "left"]
#: Whether the covered middle of a layer may be cut out, or stays.
MiddleUse = Literal["save", "keep"]

#: The way to a value from the root of the batch file, by keys and numbers in lists:
#: ``("cards", "windfall", "layers", 0, "reveal")``.
KeyPath = tuple[str | int, ...]

#: The name by which a layer says that it lies on the card itself.
ON_CARD = "card"

#: The layer names under which a card's base and its envelope stand in ``Piece.uses``.
BASE = "base"
ENVELOPE = "envelope"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in what was asked.

    ``nesting.files`` turns its path into line and column.
    """

    path: KeyPath
    read: str
    expected: str


class BatchError(NestingError, ValueError):
    """What was asked cannot be planned; ``faults`` has every reason, in the order of the file."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(f"{fault.read}; expected {fault.expected}" for fault in faults))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Trimmer:
    """What cuts. Defaults are those of a file in inches."""

    kind: Literal["sliding", "rotary", "lever", "knife"] = "sliding"
    marks: int = 1_587_500
    longest_cut: int | None = None
    narrowest_hold: int = 12_700_000
    cut_width: int = 0
    can_stop: bool = False
    stack: int = 1
    hand: Hand = "right"
    repeat: Literal["same ruler setting", "descending marks"] = "same ruler setting"

    @property
    def stops(self) -> bool:
        """Whether a cut may end inside the sheet: a knife always can."""
        return self.can_stop or self.kind == "knife"


@dataclass(frozen=True, slots=True)
class At:
    """Where a layer lies, from the card's edges; an axis not given is centred on what is below."""

    left: int | None = None
    right: int | None = None
    top: int | None = None
    bottom: int | None = None
    centre: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Base:
    """The folded (or flat) card itself; ``face`` None takes the paper's default."""

    paper: str
    face: FaceName | None = None
    fold: Fold = "left"


@dataclass(frozen=True, slots=True)
class Envelope:
    """What a card is sent in, its flap along the longer side: bought, or cut from ``paper``.

    Without a size, or where it says ``smallest``, it is the smallest of those sold that takes the card;
    a size beside ``smallest`` is what was worked out last. ``folds`` is how far the paper reaches beyond
    its front along each edge, to be folded over: the flap at the top, the back at the bottom, a
    side flap left and right. Size and folds are worked out in ``nesting.cards.enclosing``, and the width
    is then the longer side.
    """

    width: int | None = None
    height: int | None = None
    paper: str | None = None
    face: FaceName | None = None
    smallest: bool = False
    folds: Edges | None = None


@dataclass(frozen=True, slots=True)
class PaperOption:
    """A paper to choose; ``face`` None takes the paper's default."""

    paper: str
    face: FaceName | None = None


@dataclass(frozen=True, slots=True)
class PaperChoice:
    """Papers to choose from for a layer: one for all cards, or one for each card."""

    options: tuple[PaperOption, ...]
    alike: Literal["all", "each"] = "all"


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a card.

    Where there is a ``choice``, ``paper`` and ``face`` are those of its first option.

    Its size comes from ``reveal``, from ``circle`` (a diameter), or from ``width`` and ``height``; one
    that is missing is the full extent of the layer underneath.
    None in ``face``, ``over`` and ``turn`` takes the default (``nesting.cards.filling``); in ``middle`` it
    does as the batch says. ``wrap`` is folded behind: one length at both ends, or one for each edge. A
    ``belt`` is a closed band round the whole card; it says how thick the closed card is taken to be.
    ``angle`` is by how much the layer is turned as a clock's hand turns, in thousandths of a degree;
    where only one of ``width`` and ``height`` is given, it is then a strip across all of what it lies
    on. ``print`` asks for a print that stands upright on the card all the same.
    ``join`` says whether it is cut as two ends whose joint the layers above hide.
    """

    name: str
    paper: str
    face: FaceName | None = None
    over: str | None = None
    reveal: Edges | None = None
    width: int | None = None
    height: int | None = None
    circle: int | None = None
    at: At | None = None
    where: Where = "outside"
    each: int = 1
    turn: Turn | None = None
    die_allowance: int = 0
    wrap: int | Edges = 0
    choice: PaperChoice | None = field(default=None, metadata={"later": True})
    belt: int | None = field(default=None, metadata=ONLY_WHERE_SAID)
    middle: MiddleUse | None = field(default=None, metadata=ONLY_WHERE_SAID)
    angle: int = field(default=0, metadata=ONLY_WHERE_SAID)
    print: Literal["upright"] | None = field(default=None, metadata=ONLY_WHERE_SAID)
    join: Join = field(default="never", metadata=ONLY_WHERE_SAID)

    @property
    def ground(self) -> str:
        """The name of what the lowest layers lie on where it lies: the card, or its envelope."""
        return ENVELOPE if self.where == "envelope" else ON_CARD

    def is_round_on(self, under: "Layer") -> bool:
        """Whether it is a circle: a reveal of a circle is one, too."""
        return self.circle is not None or (self.reveal is not None and under.circle is not None)

    @property
    def options(self) -> tuple[PaperOption, ...]:
        """Every paper that it may take."""
        return self.choice.options if self.choice else (PaperOption(self.paper, self.face),)


@dataclass(frozen=True, slots=True)
class Card:
    """A card design: finished size, base, layers from bottom to top.

    ``make`` is None for as many as possible: ``at_most`` so many, and ``at_least`` so many before
    any design has more.
    """

    name: str
    make: int | None
    width: int
    height: int
    base: Base | None = None
    layers: tuple[Layer, ...] = ()
    spares: int = 0
    at_most: int | None = field(default=None, metadata=ONLY_WHERE_SAID)
    at_least: int = field(default=0, metadata=ONLY_WHERE_SAID)
    envelope: Envelope | None = field(default=None, metadata=ONLY_WHERE_SAID)

    @property
    def papers(self) -> frozenset[str]:
        """Every paper that a part of it may take."""
        parts = (self.base, self.envelope, *(one for layer in self.layers for one in layer.options))
        return frozenset(part.paper for part in parts if part and part.paper is not None)


@dataclass(frozen=True, slots=True)
class LoosePiece:
    """A piece asked for by itself, without a card."""

    name: str
    paper: str
    count: int
    width: int | None = None
    height: int | None = None
    circle: int | None = None
    face: FaceName | None = None
    turn: Turn | None = None
    die_allowance: int = 0


@dataclass(frozen=True, slots=True)
class Batch:
    """All that is asked. Defaults are those of a file in inches.

    ``first`` names the designs that are made before all others where paper is short, in order;
    ``aim`` says what comes first of the others, as many cards as possible or as many of each.
    Where some of it is cut already, ``begun`` says what, and ``papers`` what is at hand now. Covered
    middles leave a ``frame`` round them; None is the usual one.
    """

    name: str
    unit: Unit
    papers: tuple[Paper, ...]
    cards: tuple[Card, ...] = ()
    pieces: tuple[LoosePiece, ...] = ()
    trimmer: Trimmer = field(default_factory=Trimmer)
    spares: int = 0
    keep_from: tuple[tuple[int, int], ...] = ((12_700_000, 101_600_000), (50_800_000, 50_800_000))
    lap: int = 6_350_000
    prefer: Prefer = "easy-cutting"
    first: tuple[str, ...] = field(default=(), metadata={"later": True})
    begun: "Begun | None" = field(default=None, metadata=ONLY_WHERE_SAID)
    aim: Aim = field(default="most cards", metadata=ONLY_WHERE_SAID)
    save_middles: bool = field(default=False, metadata=ONLY_WHERE_SAID)
    frame: int | None = field(default=None, metadata=ONLY_WHERE_SAID)

    @property
    def papers_by_name(self) -> dict[str, Paper]:
        """The papers by name, to look up many of them: made anew each time."""
        papers: dict[str, Paper] = {}
        for paper in self.papers:
            papers.setdefault(paper.name, paper)
        return papers

    @property
    def papers_at_hand(self) -> frozenset[str]:
        """The papers of which only what is at hand counts, as designs made as many as possible use them."""
        return frozenset().union(*(card.papers for card in self.cards if card.make is None))

    @property
    def papers_used(self) -> frozenset[str]:
        """The papers that something is cut from, or may be."""
        return frozenset(piece.paper for piece in self.pieces).union(
            *(card.papers for card in self.cards)
        )

    def may_buy(self, paper: Paper) -> bool:
        """Whether sheets of a paper may be bought for this batch."""
        return paper.buy and paper.name not in self.papers_at_hand

    def paper(self, name: str) -> Paper:
        """The paper of that name; KeyError where there is none."""
        for paper in self.papers:
            if paper.name == name:
                return paper
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Moved:
    """Sheets that are ``gone``, as they were cut into, and sheets to cut from that they ``left``."""

    gone: tuple[SheetCount, ...] = ()
    left: tuple[SheetCount, ...] = ()


@dataclass(frozen=True, slots=True)
class Begun:
    """What is cut of a batch already, by the records of all plans so far.

    ``pieces`` are those of the earlier plans, with their letters, no demand, and how many are in the
    bags. ``moved`` has the sheets cut into, and what is left of them to cut from: offcuts kept, and
    parts in hand. ``papers`` are those of the batch file: what was at hand at first, or, of a paper
    that is kept in the stash, what is there now, which does without what is ``on_record`` there.
    ``middles`` are covered middles that pieces in the bags still have, as a plan is cut from them.
    """

    pieces: tuple[Piece, ...]
    moved: Moved
    papers: tuple[Paper, ...]
    on_record: Moved = field(default_factory=Moved)
    middles: tuple[SheetCount, ...] = field(default=(), metadata=ONLY_WHERE_SAID)
