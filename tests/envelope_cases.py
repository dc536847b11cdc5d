"""Cards with envelopes: bought, made, lined."""

from functools import cache

from plans import inches

from nesting.batch import Base, Batch, Card, Envelope, Layer, Trimmer
from nesting.pack import Rounds, solve
from nesting.papers import Edges, Paper, Sheet
from nesting.plan import Plan
from nesting.typed_lengths import parse_size


def edged(text: str) -> Edges:
    """The same length at every edge."""
    return Edges(*[inches(text)] * 4)


SQUARE, LARGE = parse_size("12 x 12", "in"), parse_size("18 x 24", "in")
PAPERS = (
    Paper("kraft", (Sheet(*SQUARE, have=4),)),
    Paper("cream", (Sheet(*LARGE, have=None),)),
)
MAT = Layer("mat", "cream", reveal=edged("1/8"))
LINER = Layer(
    "liner",
    "cream",
    reveal=Edges(inches("1/8"), inches("1/8"), top=inches("1/2")),
    where="envelope",
)


def card(
    size: str = "4 1/4 x 5 1/2", *layers: Layer, name: str = "windfall", **more: object
) -> Card:
    """A card design of four with a mat, or other layers, in the smallest envelope."""
    width, height = parse_size(size, "in")
    given: dict[str, object] = {"envelope": Envelope(), "base": Base("cream")} | more
    return Card(name, 4, width, height, layers=layers or (MAT,), **given)  # type: ignore[arg-type]


def batch(*cards: Card, **more: object) -> Batch:
    """A batch of these cards."""
    given: dict[str, object] = {"trimmer": Trimmer()} | more
    return Batch("suppers", "in", PAPERS, cards, **given)  # type: ignore[arg-type]


def size_of(text: str) -> tuple[int, int]:
    """A size in inches as nm."""
    return parse_size(text, "in")


@cache
def solved(asked: Batch) -> Plan:
    """A plan of a batch, quickly."""
    return solve(asked, Rounds(3))
