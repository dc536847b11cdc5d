"""Plans made by hand for the tests of what is drawn: no packer is needed to draw."""

from dataclasses import replace

from plans import inches

from nesting.batch import Batch, Trimmer
from nesting.cutting.strokes import effort
from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Node, Offcut, Source, Strip
from nesting.papers import Axis, BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.pieces import Piece, Score, Use
from nesting.plan import Bound, CardCount, PaperFigures, Plan, Uncut
from nesting.shares import shares
from nesting.units import format_size

KEEP, BIN = Offcut(keep=True), Offcut(keep=False)


def mm(number: int) -> int:
    """A length in millimetres, in nm."""
    return number * 1_000_000


def piece(letter: str, name: str, width: int, height: int, **changes: object) -> Piece:
    """A plain rectangle of the first paper, with whatever is different about it."""
    plain = Piece(
        id=name,
        letter=letter,
        name=name,
        shape="rect",
        width=width,
        height=height,
        die_allowance=0,
        paper="paper",
        face="front",
        print="plain",
        up="top",
        turn="may",
        grain=None,
        score=None,
        demand=24,
        uses=(Use("windfall", name, 24),),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def row(axis: Axis, sizes: list[int], nodes: list[Node], rest: Node | None) -> Node:
    """Cut after cut along one axis, from the low edge; ``rest`` None is an exact fit."""
    if rest is None and len(nodes) == 1:
        return nodes[0]
    if not nodes:
        assert rest is not None
        return rest
    return Cut(axis, sizes[0], nodes[0], row(axis, sizes[1:], nodes[1:], rest))


def layout(paper: Paper, tree: Node, width: int, height: int, **changes: object) -> Layout:
    """One sheet of a paper, cut once."""
    nominal = format_size(paper.sheets[0].width, paper.sheets[0].height, "in")
    one = Layout(
        id=1,
        paper=paper.name,
        source=Source("sheet", nominal),
        width=width,
        height=height,
        alike=1,
        to_buy=0,
        cut_width=0,
        tree=tree,
    )
    return replace(one, **changes)  # type: ignore[arg-type]


def plan_of(batch: Batch, pieces: list[Piece], layouts: list[Layout], **changes: object) -> Plan:
    """A plan whose figures are those of its layouts."""
    by_id = {piece.id: piece for piece in pieces}
    papers = []
    for paper in batch.papers:
        own = tuple(layout for layout in layouts if layout.paper == paper.name)
        figures, work = shares(own, by_id, paper), effort(own, batch)
        used = sum(layout.alike for layout in own)
        papers.append(
            PaperFigures(
                paper.name,
                needed=used,
                have=paper.sheets[0].have,
                used=used,
                to_buy=sum(layout.to_buy for layout in own),
                bound=Bound(used, "sheets", "area"),
                proven=True,
                in_pieces=figures.in_pieces,
                kept=figures.kept,
                waste=figures.waste,
                strokes=work.strokes,
                ruler_settings=work.ruler_settings,
            )
        )
    plan = Plan(
        tool="nesting 0.1.0",
        seed=0,
        ended="proven",
        asked=batch,
        pieces=tuple(pieces),
        layouts=tuple(layouts),
        uncut=(),
        cards=(CardCount("windfall", 24, 24),),
        papers=tuple(papers),
    )
    return replace(plan, **changes)  # type: ignore[arg-type]


def crowded() -> Plan:
    """Sixty tags of 1 x 2 in on one sheet, a band of it left."""
    paper = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=3),), front=Face("four-way"))
    tag = piece(
        "A", "tag", inches("1"), inches("2"), paper=paper.name, print="four-way", demand=120
    )
    across = row("x", [inches("1")] * 11, [Blank("tag")] * 12, None)
    tree = row("y", [inches("2")] * 5, [across] * 5, KEEP)
    one = layout(paper, tree, inches("12"), inches("12"), alike=2)
    return plan_of(Batch("Orchard market tags", "in", (paper,)), [tag], [one])


def sparse() -> Plan:
    """One base on one sheet of scored cardstock with a grain, more than a dozen alike."""
    paper = Paper("cream cardstock", (Sheet(inches("8 1/2"), inches("11"), have=4),), grain="long")
    base = piece(
        "A", "base", inches("8 1/2"), inches("5 1/2"),
        paper=paper.name, score=Score("x", inches("4 1/4")), grain="y", demand=32,
    )  # fmt: skip
    tree = Cut("y", inches("5 1/2"), KEEP, Blank("base"))
    one = layout(paper, tree, inches("8 1/2"), inches("11"), alike=32, to_buy=28)
    batch = Batch("Orchard supper invitations", "in", (paper,), trimmer=Trimmer("rotary"))
    return plan_of(batch, [base], [one])


def two_faced() -> Plan:
    """A one-way front with its up to the left, pieces of both faces, circles, a strip beyond."""
    strip = BarcodeStrip("bottom", inches("1/2"))
    paper = Paper(
        "windfall orchard at dusk", (Sheet(inches("12"), inches("12"), have=3),),
        buy=False, front=Face("one-way", "left"), back=Face("two-way"), barcode_strip=strip,
    )  # fmt: skip
    front = {"paper": paper.name, "print": "one-way", "up": "left", "turn": "never"}
    back = {"paper": paper.name, "face": "back", "print": "two-way", "turn": "never"}
    panel = piece("A", "panel", inches("3 3/4"), inches("5"), **front, demand=8)
    band = piece("B", "band", inches("3 3/4"), inches("1 1/4"), **back, demand=8)
    moon = piece(
        "C", "moon", inches("2 1/2"), inches("2 1/2"), **front,
        shape="circle", die_allowance=inches("1/8"), demand=16,
    )  # fmt: skip
    panels = row("x", [inches("5")] * 2, [Blank("panel")] * 2, KEEP)
    bands = row("x", [inches("3 3/4")] * 3, [Blank("band")] * 3, BIN)
    moons = row("x", [inches("2 3/4")] * 4, [Blank("moon")] * 4, BIN)
    tree = Cut("y", inches("1/2"), Strip(), row(
        "y", [inches("1 1/4"), inches("2 3/4"), inches("3 3/4"), inches("3 3/4")],
        [bands, moons, panels, panels], BIN,
    ))  # fmt: skip
    one = layout(paper, tree, inches("12"), inches("12 1/2"), alike=2)
    return plan_of(Batch("Windfall supper", "in", (paper,)), [panel, band, moon], [one])


def metric() -> Plan:
    """A4 cardstock with edge trim, a cut width, half millimetres and pieces too small for text."""
    paper = Paper(
        "brick cardstock",
        (Sheet(mm(210), mm(297), have=None),),
        edge_trim=Edges(left=mm(3)),
        grain="long",
    )
    mat = piece("A", "mat", 98_500_000, mm(142), paper=paper.name, demand=12)
    ribbon = piece("B", "ribbon", mm(200), mm(5), paper=paper.name, demand=30)
    seal = piece("C", "seal", mm(30), mm(30), paper=paper.name, shape="circle", demand=18)
    slip = piece("D", "slip", mm(8), mm(30), paper=paper.name, demand=24)
    cut = mm(1)
    mats = row("x", [98_500_000] * 2, [Blank("mat")] * 2, BIN)
    ribbons = row("y", [mm(5)] * 5, [Blank("ribbon")] * 5, BIN)
    seals = row("x", [mm(30)] * 3 + [mm(8)] * 4, [Blank("seal")] * 3 + [Blank("slip")] * 4, KEEP)
    lower = Cut(
        "x",
        mm(200),
        Cut("y", mm(142), mats, Cut("y", mm(30), seals, Cut("y", mm(29), ribbons, KEEP))),
        BIN,
    )
    one = layout(
        paper, Cut("x", mm(3), EdgeTrim(), lower), mm(210), mm(297), alike=6, cut_width=cut
    )
    trimmer = Trimmer("lever", marks=mm(1), narrowest_hold=mm(12), cut_width=cut)
    batch = Batch(
        "Market day cards",
        "mm",
        (paper,),
        trimmer=trimmer,
        keep_from=((mm(12), mm(100)), (mm(50), mm(50))),
    )
    return plan_of(batch, [mat, ribbon, seal, slip], [one])


def odd_names() -> Plan:
    """Names in other scripts, with markup in them, and far too long; turned and off the marks."""
    long = "the very long name of a paper with pears, plums and medlars in the late light of an October evening, printed on both faces"
    paper = Paper(long, (Sheet(inches("12"), inches("9"), have=1),), front=Face("two-way", "top"))
    across = {"paper": long, "print": "two-way", "turn": "must"}
    first = piece("A", "<b>&$x$ \N{RED APPLE}", inches("4 7/32"), inches("5"), **across, demand=4)
    second = piece(
        "AB", "תפוח ולימון", inches("3"), inches("2"), paper=long, print="two-way", demand=4
    )
    tree = row(
        "y", [inches("4 7/32"), inches("3")],
        [
            row("x", [inches("5")] * 2, [Blank(first.id, turned=True)] * 2, KEEP),
            row("x", [inches("2")] * 4, [Blank(second.id, turned=True)] * 4, KEEP),
        ], KEEP,
    )  # fmt: skip
    one = layout(paper, tree, inches("12"), inches("9"), alike=2, to_buy=1)
    batch = Batch(
        "قائمة البستان & <i>$\\frac{1}{2}$</i> \N{PEAR}\n\N{RIGHT-TO-LEFT OVERRIDE}end",
        "in",
        (paper,),
        trimmer=Trimmer("knife"),
    )
    return plan_of(batch, [first, second], [one])


def many_pieces(number: int = 40) -> Plan:
    """Forty pieces, more than one page of summary holds, and some of them uncut."""
    paper = Paper("cream cardstock", (Sheet(inches("12"), inches("12"), have=2),), buy=False)
    pieces = [
        piece(
            chr(65 + n % 26) * (1 + n // 26),
            f"layer {n} of the orchard set",
            inches("2"),
            inches("2"),
            paper=paper.name,
            demand=1,
        )
        for n in range(number)
    ]
    rows: list[Node] = [
        row("x", [inches("2")] * 5, [Blank(p.id) for p in pieces[6 * n : 6 * n + 6]], None)
        for n in range(6)
    ]
    tree = row("y", [inches("2")] * 5, rows, None)
    one = layout(paper, tree, inches("12"), inches("12"))
    uncut = tuple(Uncut(p.id, 1, (Use("windfall", p.name, 1),)) for p in pieces[36:])
    plan = plan_of(Batch("Orchard market", "in", (paper,)), pieces, [one], uncut=uncut)
    figures = replace(plan.papers[0], needed=2, bound=Bound(1, "sheets", "values"), proven=False)
    return replace(
        plan, papers=(figures,), cards=(CardCount("windfall", 24, 20),),
        warnings=("windfall, panel: sticks out of the card by 1/8 in at the top",) * 3,
    )  # fmt: skip


def mirrored() -> Plan:
    """A strip at the left, so that measuring starts at the right; a top fold, dies, a tiny piece."""
    strip = BarcodeStrip("left", inches("1/2"), beyond_the_sheet=False)
    paper = Paper(
        "brick stripe", (Sheet(inches("12"), inches("11"), have=2),),
        front=Face("two-way", "right"), barcode_strip=strip,
    )  # fmt: skip
    directed = {"paper": paper.name, "print": "two-way", "up": "right", "turn": "never"}
    base = piece(
        "A", "base", inches("5 1/2"), inches("8 1/2"), **directed,
        score=Score("y", inches("4 1/4")), demand=2,
    )  # fmt: skip
    tent = piece(
        "B", "tent", inches("4"), inches("3"), **directed | {"turn": "must"},
        score=Score("y", inches("1 1/2")), demand=2,
    )  # fmt: skip
    label = piece(
        "C", "label", inches("1 3/4"), inches("2 3/4"), **directed, die_allowance=inches("1/8")
    )
    thread = piece("D", "thread", inches("1/8"), inches("3"), **directed, demand=9)
    right = row("y", [inches("3")] * 2, [Blank("tent", turned=True)] * 2, row(
        "y", [inches("2")] * 2, [Blank("label")] * 2, row("y", [inches("1/8")] * 3, [Blank("thread")] * 3, BIN),
    ))  # fmt: skip
    bases = Cut("y", inches("5 1/2"), Blank("base"), Blank("base"))
    tree = Cut("x", inches("1/2"), Strip(), Cut("x", inches("7 1/2"), KEEP, right))
    other = Cut("x", inches("1/2"), Strip(), Cut("x", inches("8 1/2"), bases, KEEP))
    one = layout(paper, tree, inches("12"), inches("11"))
    two = layout(paper, other, inches("12"), inches("11"), id=2)
    uncut = (Uncut("thread", 3, (Use(None, "thread", 3),)),)
    batch = Batch("Pruning day", "in", (paper,))
    return plan_of(batch, [base, tent, label, thread], [one, two], uncut=uncut, ended="limit")


def strip_above() -> Plan:
    """A strip at the top, so that measuring starts at the bottom, and cuts that end there."""
    strip = BarcodeStrip("top", inches("1/2"), beyond_the_sheet=False)
    paper = Paper(
        "holly gold", (Sheet(inches("12"), inches("12"), have=1),), barcode_strip=strip
    )  # fmt: skip
    tall = piece("A", "banner", inches("2 3/8"), inches("11 1/2"), paper=paper.name, demand=5)
    tree = Cut(
        "y",
        inches("11 1/2"),
        row("x", [inches("2 3/8")] * 5, [Blank("banner")] * 5, BIN),
        Strip(),
    )
    one = layout(paper, tree, inches("12"), inches("12"))
    return plan_of(Batch("Orchard market", "in", (paper,)), [tall], [one])


def thin_strips() -> Plan:
    """A sheet of 25 strips, too thin for a letter, and one of 24 short ones, two by two."""
    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=2),))
    long = piece("A", "twig", inches("1/8"), inches("12"), demand=25)
    short = piece("B", "stem", inches("4"), inches("1/8"), demand=24)
    upright = row("x", [inches("1/8")] * 25, [Blank("twig")] * 25, KEEP)
    pair = row("x", [inches("4")] * 2, [Blank("stem")] * 2, BIN)
    level = row("y", [inches("1/8")] * 12, [pair] * 12, KEEP)
    layouts = [
        layout(paper, tree, inches("12"), inches("12"), id=number)
        for number, tree in enumerate((upright, level), start=1)
    ]
    return plan_of(Batch("Thin strips", "in", (paper,)), [long, short], layouts)


PLANS = {
    "crowded": crowded,
    "sparse": sparse,
    "two_faced": two_faced,
    "metric": metric,
    "odd_names": odd_names,
    "many_pieces": many_pieces,
    "mirrored": mirrored,
    "strip_above": strip_above,
    "thin_strips": thin_strips,
}
