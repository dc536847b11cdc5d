"""Random batches of the trade with all that a batch may have, for laws that hold of every one."""

from random import Random

from hypothesis import assume
from hypothesis import strategies as st

from nesting.batch import Base, Batch, Card, Layer, LoosePiece, PaperChoice, PaperOption, Trimmer
from nesting.cards.resolving import resolve
from nesting.papers import BarcodeStrip, Edge, Edges, Face, FaceName, Paper, Sheet
from nesting.units import Unit

MM = 1_000_000
#: The steps of lengths in a file of each unit, in nm: mostly coarse, as fine ones take their time.
STEPS: dict[Unit, int] = {"in": 6_350_000, "cm": 5 * MM, "mm": 6 * MM}
FINE: dict[Unit, int] = {"in": 1_587_500, "cm": 700_000, "mm": 500_000}
PAPERS = ("pear toss", "bee stripe", "brick cardstock")
EDGES: tuple[Edge, ...] = ("left", "right", "top", "bottom")


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    """A batch without faults: several sizes of sheets, offcuts, prices, strips, choices, circles."""
    batch = _Drawn(draw(st.randoms(use_true_random=False))).batch()
    assume(not resolve(batch).faults)
    return batch


def batch_of(seed: int) -> Batch:
    """One of these batches by its number; it may have faults."""
    return _Drawn(Random(seed)).batch()


class _Drawn:
    """What is drawn of one batch."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.unit: Unit = rng.choice(("in", "cm", "mm"))
        self.names = PAPERS[: rng.randint(1, 3)]
        self.step = (FINE if self.maybe(0.1) else STEPS)[self.unit]

    def length(self, least: int, most: int) -> int:
        """A length between two in mm, or a little more, on the steps of the batch."""
        low = -(-least * MM // self.step)
        return self.rng.randint(low, max(low, most * MM // self.step)) * self.step

    def maybe(self, share: float) -> bool:
        """Whether something is so, in this share of batches."""
        return self.rng.random() < share

    def batch(self) -> Batch:
        rng = self.rng
        cards = tuple(self.card(n) for n in range(rng.randint(0, 3)))
        loose = tuple(self.loose(n) for n in range(rng.randint(not cards, 2)))
        names = [card.name for card in cards]
        return Batch(
            "Orchard market",
            self.unit,
            tuple(self.paper(name) for name in self.names),
            cards,
            loose,
            self.trimmer(),
            prefer=rng.choice(("easy-cutting", "big-offcut")),
            first=tuple(names[: rng.randint(0, len(names))]),
        )

    def trimmer(self) -> Trimmer:
        rng = self.rng
        return Trimmer(
            kind=rng.choice(("sliding", "rotary", "lever", "knife")),
            longest_cut=self.length(400, 450) if self.maybe(0.3) else None,
            narrowest_hold=self.length(5, 20),
            cut_width=self.length(1, 2) if self.maybe(0.3) else 0,
            stack=rng.randint(1, 3),
            hand=rng.choice(("right", "left")),
            repeat=rng.choice(("same ruler setting", "descending marks")),
        )

    def paper(self, name: str) -> Paper:
        rng = self.rng
        priced = self.maybe(0.4)
        sheets = [
            Sheet(
                self.length(200, 400),
                self.length(200, 400),
                have=rng.choice((None, 0, 1, 2, 5)),
                price=rng.randint(1, 300) if priced else None,
            )
            for _ in range(rng.choice((1, 1, 2, 3)))
        ]
        if self.maybe(0.3):
            width, height = self.length(60, 250), self.length(60, 250)
            whole = sheets[0]
            size = min(width, whole.width), min(height, whole.height)
            sheets.append(Sheet(*size, 1, offcut=True))
        rng.shuffle(sheets)
        strip = BarcodeStrip(rng.choice(EDGES), self.length(5, 20), self.maybe(0.5))
        trim = Edges(*(self.length(0, 6) for _ in EDGES))
        return Paper(
            name,
            tuple(sheets),
            buy=self.maybe(0.5),
            front=self.face(),
            back=self.face(),
            grain=rng.choice((None, "long", "short")),
            barcode_strip=strip if self.maybe(0.3) else None,
            edge_trim=trim if self.maybe(0.3) else Edges(),
        )

    def face(self) -> Face:
        rng = self.rng
        return Face(rng.choice(("plain", "four-way", "two-way", "one-way")), rng.choice(EDGES))

    def which(self) -> tuple[str, FaceName]:
        """A paper and one of its faces."""
        return self.rng.choice(self.names), self.rng.choice(("front", "back"))

    def card(self, number: int) -> Card:
        rng = self.rng
        paper, face = self.which()
        fold = rng.choice(("left", "top", "none"))
        base = Base(paper, face, fold) if self.maybe(0.5) else None
        layers = tuple(self.layer(n) for n in range(rng.randint(base is None, 3)))
        size = self.length(70, 110), self.length(70, 110)
        return Card(f"card {number}", rng.randint(1, 9), *size, base, layers, rng.choice((0, 0, 2)))

    def layer(self, number: int) -> Layer:
        rng = self.rng
        options = tuple(
            PaperOption(*one)
            for one in dict.fromkeys(self.which() for _ in range(rng.randint(1, 3)))
        )
        choice = PaperChoice(options, rng.choice(("all", "each"))) if len(options) > 1 else None
        given = {
            "width": self.length(10, 70), "height": self.length(10, 70), "circle": self.length(10, 60)
        }  # fmt: skip
        keys = rng.choice((("width", "height"), ("height",), ("circle",)))
        return Layer(
            f"layer {number}",
            options[0].paper,
            options[0].face,
            each=rng.choice((1, 1, 2)),
            turn=rng.choice((None, "may", "must")),
            die_allowance=self.length(1, 3) if "circle" in keys and self.maybe(0.5) else 0,
            over="card",
            choice=choice,
            **{key: given[key] for key in keys},
        )

    def loose(self, number: int) -> LoosePiece:
        rng = self.rng
        paper, face = self.which()
        size = self.length(15, 150), self.length(15, 150), None
        circle = None, None, self.length(15, 80)
        turn = rng.choice((None, "may"))
        shape = circle if self.maybe(0.3) else size
        return LoosePiece(f"tag {number}", paper, rng.randint(1, 30), *shape, face, turn)
