"""Plans with cards, for the tests of labels, recipes and pictures of cards: no packer is needed."""

from dataclasses import replace

from draw_plans import KEEP, layout, mm, plan_of, row
from plans import inches

from nesting.batch import At, Base, Batch, Card, Layer, LoosePiece
from nesting.cards.resolving import resolve
from nesting.layouts import Blank
from nesting.papers import Edges, Face, Paper, Sheet
from nesting.pieces import Use
from nesting.plan import CardCount, Plan, Uncut

TWELVE = (Sheet(inches("12"), inches("12"), have=9),)
LETTER = (Sheet(inches("8 1/2"), inches("11"), have=9),)
PEAR = Paper("pear toss", TWELVE, buy=False, front=Face("four-way"), back=Face("one-way"))
BRICK = Paper("brick cardstock", LETTER)
CREAM = Paper("cream cardstock", LETTER, grain="long")
STRIPE = Paper("bee stripe", TWELVE, front=Face("two-way"))


def all_round(length: int) -> Edges:
    """One reveal for every edge."""
    return Edges(length, length, length, length)


def cut_plan(batch: Batch, **changes: object) -> Plan:
    """A plan that cuts every piece of a batch, its layouts left out."""
    asked = resolve(batch).batch
    counts = tuple(CardCount(card.name, card.make, card.make) for card in asked.cards)
    return replace(plan_of(asked, list(resolve(asked).pieces()), [], cards=counts), **changes)  # type: ignore[arg-type]


def windfall() -> Card:
    """An upright card: a reveal on a reveal, a band at the bottom, a circle by its centre, an inside."""
    eighth = all_round(inches("1/8"))
    return Card(
        "windfall", 8, inches("4 1/4"), inches("5 1/2"), Base(CREAM.name),
        (
            Layer("mat", BRICK.name, reveal=eighth),
            Layer("panel", PEAR.name, "front", reveal=eighth),
            Layer(
                "band", PEAR.name, "back", over="panel", height=inches("1 1/4"),
                at=At(bottom=inches("1")),
            ),
            Layer(
                "moon", CREAM.name, over="panel", circle=inches("2"),
                at=At(centre=(inches("2 1/8"), inches("3 3/4"))), die_allowance=inches("1/8"),
            ),
            Layer("message", CREAM.name, where="inside", reveal=eighth),
        ),
    )  # fmt: skip


def market() -> Card:
    """A card on its side, folded at the top: a band and a circle centred on what is below."""
    eighth = all_round(inches("1/8"))
    return Card(
        "cider market", 8, inches("5 1/2"), inches("4 1/4"), Base(CREAM.name, fold="top"),
        (
            Layer("mat", BRICK.name, reveal=eighth),
            Layer("panel", PEAR.name, "front", reveal=eighth),
            Layer("band", BRICK.name, over="panel", height=inches("3/4")),
            Layer(
                "apple", BRICK.name, over="panel", circle=inches("1 1/2"),
                at=At(right=inches("3/4")),
            ),
        ),
    )  # fmt: skip


def wrapped() -> Card:
    """A bought base: a band wrapped round, three dots, a ribbon that sticks out, a layer behind."""
    return Card(
        "belly band", 4, inches("6"), inches("4"), None,
        (
            Layer("band", STRIPE.name, "front", height=inches("1"), wrap=inches("1/2"),
                  at=At(bottom=inches("3/4"))),
            Layer("ribbon", STRIPE.name, "front", over="card", width=inches("1/2"),
                  height=inches("5"), at=At(left=inches("1/4"), top=0), turn="must"),
            Layer("dots", PEAR.name, "back", over="card", circle=inches("3/4"), each=3,
                  turn="must", at=At(right=inches("1/2"), top=inches("1/2"))),
            Layer("stamp", BRICK.name, where="behind", width=inches("1"), height=inches("1"),
                  at=At(right=inches("1/2"), bottom=inches("1/4"))),
        ),
        spares=1,
    )  # fmt: skip


def orchard() -> Plan:
    """An upright card, one on its side and a wrapped one, and tags of their own."""
    tags = (LoosePiece("tag", CREAM.name, 12, inches("2"), inches("3")),)
    papers = (PEAR, BRICK, CREAM, STRIPE)
    return cut_plan(
        Batch("Orchard autumn cards", "in", papers, (windfall(), market(), wrapped()), tags)
    )


def metric() -> Plan:
    """An A6 card in mm: half a millimetre of reveal, a label by its centre."""
    paper = Paper("brick cardstock", (Sheet(mm(210), mm(297), have=None),), grain="long")
    card = Card(
        "medlar", 6, mm(105), mm(148), Base(paper.name),
        (
            Layer("mat", paper.name, reveal=all_round(2_500_000)),
            Layer(
                "label", paper.name, width=mm(60), height=mm(30),
                at=At(centre=(52_500_000, mm(100))),
            ),
        ),
    )  # fmt: skip
    return cut_plan(Batch("Market day cards", "mm", (paper,), (card,)))


def short() -> Plan:
    """Five of eight upright cards: three of the panels are not cut."""
    plan = orchard()
    panel = next(piece for piece in plan.pieces if Use("windfall", "panel", 8) in piece.uses)
    uncut = (Uncut(panel.id, 3, (Use("windfall", "panel", 3),)),)
    counts = (CardCount("windfall", 8, 5), *plan.cards[1:])
    return replace(plan, uncut=uncut, cards=counts)


def odd_names() -> Plan:
    """Names in other scripts, with markup in them, and far too long."""
    long = "the very long name of a paper with pears, plums and medlars in the late light of an October evening by the wall"
    paper = Paper(long, TWELVE, front=Face("one-way", "left"), grain=None)
    card = Card(
        "תפוח ולימון \N{RED APPLE} & <b>$x$</b> " + "as the evenings go " * 6, 8,
        inches("5"), inches("7"), Base(long),
        (
            Layer("<i>&$x$ \N{PEAR}", long, reveal=all_round(inches("1/2"))),
            Layer("قائمة البستان", long, width=inches("2"), height=inches("3"), turn="must"),
            Layer("a layer of the orchard set with a long name " * 2, long, circle=inches("1")),
        ),
    )  # fmt: skip
    return cut_plan(Batch("Odd names", "in", (paper,), (card,)))


def long_names(name: str) -> Plan:
    """A name for everything, far longer than a page holds."""
    paper = Paper(name, TWELVE, front=Face("one-way"), grain="long")
    layers = (
        Layer(f"{name} 1", name, reveal=all_round(inches("1/8"))),
        Layer(f"{name} 2", name, reveal=all_round(inches("1/8"))),
    )
    card = Card(name, 8, inches("4 1/4"), inches("5 1/2"), Base(name), layers)
    loose = LoosePiece(f"{name} 3", name, 4, inches("2"), inches("3"))
    plan = cut_plan(Batch(name, "in", (paper,), (card,), (loose,)))
    tag = plan.pieces[-1]
    tree = row("y", [inches("3")], [row("x", [inches("2")] * 4, [Blank(tag.id)] * 4, KEEP)], KEEP)
    one = layout(paper, tree, inches("12"), inches("12"))
    said = (f"{name}: a note",), (f"{name}, {name} 1: a warning",)
    return replace(plan, layouts=(one,), notes=said[0], warnings=said[1])


def many_layers(number: int = 30) -> Plan:
    """One card of more layers than one picture pulls apart."""
    layers = tuple(
        Layer(f"layer {n}", BRICK.name, reveal=all_round(inches("1/16"))) for n in range(number)
    )
    card = Card("stack", 2, inches("5"), inches("7"), Base(CREAM.name), layers)
    return cut_plan(Batch("Orchard stack", "in", (BRICK, CREAM), (card,)))


def many_cards(number: int = 40) -> Plan:
    """Forty designs that share their bases and mats: the labels of these have long lists."""
    eighth = all_round(inches("1/8"))
    cards = tuple(
        Card(
            f"row {n} of the orchard", 2, inches("4 1/4"), inches("5 1/2"), Base(CREAM.name),
            (
                Layer("mat", BRICK.name, reveal=eighth),
                Layer("panel", STRIPE.name, "front", width=inches("2") + n * inches("1/32")),
            ),
        )
        for n in range(number)
    )  # fmt: skip
    return cut_plan(Batch("Orchard rows", "in", (BRICK, CREAM, STRIPE), cards))


CARD_PLANS = {
    "orchard": orchard,
    "metric": metric,
    "short": short,
    "odd_names": odd_names,
    "many_layers": many_layers,
    "many_cards": many_cards,
}
