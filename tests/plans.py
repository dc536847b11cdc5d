"""Small plans made by hand, every number worked out on paper."""

from dataclasses import replace

from nesting.batch import Base, Batch, Card, Layer, LoosePiece, Trimmer
from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Node, Offcut, Pinwheel, Source, Strip
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.pieces import Piece, Score, Use
from nesting.plan import Bound, CardCount, PaperFigures, Plan, SheetValue, Uncut, WholeCards
from nesting.typed_lengths import parse_length


def inches(text: str) -> int:
    """A length in nm."""
    return parse_length(text, "in")


def row(axis: str, size: str, *nodes: Node) -> Node:
    """Nodes side by side, each of one size along the axis but the last, which takes what is over."""
    *first, node = nodes
    for before in reversed(first):
        node = Cut(axis, inches(size), before, node)  # type: ignore[arg-type]
    return node


def harvest_batch() -> Batch:
    """Six cards and three tags: one sheet without waste, and circles from a sheet and an offcut."""
    pear = Paper(
        "pear toss",
        (Sheet(inches("12"), inches("12"), have=2),),
        buy=False,
        front=Face("four-way"),
        back=Face("one-way"),
        barcode_strip=BarcodeStrip("bottom", inches("1/2")),
    )
    brick = Paper(
        "brick cardstock",
        (
            Sheet(inches("5"), inches("5"), have=2),
            Sheet(inches("3"), inches("3"), have=1, offcut=True),
        ),
        edge_trim=Edges(left=inches("1/4")),
    )
    panel = Layer(
        "panel", "pear toss", face="front", over="card", reveal=Edges(), turn="may", each=1
    )
    moon = Layer(
        "moon",
        "brick cardstock",
        face="front",
        over="panel",
        circle=inches("2"),
        turn="may",
        die_allowance=inches("1/8"),
    )
    tag = LoosePiece(
        "tag", "pear toss", 3, inches("4"), inches("1 1/2"), face="front", turn="never"
    )
    card = Card("windfall", 6, inches("4"), inches("5 1/4"), layers=(panel, moon))
    return Batch("Harvest supper", "in", (pear, brick), (card,), (tag,))


def harvest_pieces() -> tuple[Piece, ...]:
    """Panel A, moon B, tag C."""
    panel = Piece(
        id="windfall/panel",
        letter="A",
        name="panel",
        shape="rect",
        width=inches("4"),
        height=inches("5 1/4"),
        die_allowance=0,
        paper="pear toss",
        face="front",
        print="four-way",
        up="top",
        turn="may",
        grain=None,
        score=None,
        demand=6,
        uses=(Use("windfall", "panel", 6),),
    )
    moon = replace(
        panel,
        id="windfall/moon",
        letter="B",
        name="moon",
        shape="circle",
        width=inches("2"),
        height=inches("2"),
        die_allowance=inches("1/8"),
        paper="brick cardstock",
        print="plain",
        uses=(Use("windfall", "moon", 6),),
    )
    tag = replace(
        panel,
        id="tag",
        letter="C",
        name="tag",
        height=inches("1 1/2"),
        turn="never",
        demand=3,
        uses=(Use(None, "tag", 3),),
    )
    return panel, moon, tag


def moon_at(x: str, y: str) -> Blank:
    """A blank for a moon with its lower left corner there."""
    middle = inches("1 1/8")
    return Blank("windfall/moon", circles=((inches(x) + middle, inches(y) + middle),))


def harvest_layouts() -> tuple[Layout, ...]:
    """One sheet of pear toss; of brick a sheet of four, a sheet of one, and an offcut of one."""
    keep, bin_ = Offcut(keep=True), Offcut(keep=False)
    panels = row("x", "4", *[Blank("windfall/panel")] * 3)
    tags = row("x", "4", *[Blank("tag")] * 3)
    pear = row("y", "1/2", Strip(), row("y", "1 1/2", tags, row("y", "5 1/4", panels, panels)))
    column = [
        row("y", "2 1/4", moon_at(x, "0"), moon_at(x, "2 1/4"), bin_) for x in ("1/4", "2 1/2")
    ]
    # What is over of the first sheet is 1/4 x 5 in, and 2 1/4 x 1/2 in above each column.
    four = row("x", "1/4", EdgeTrim(), row("x", "2 1/4", *column, bin_))
    one = row("x", "1/4", EdgeTrim(), row("x", "2 1/4", row("y", "2 1/4", moon_at("1/4", "0"), keep), keep))  # fmt: skip
    offcut = row("x", "2 1/4", row("y", "2 1/4", moon_at("0", "0"), bin_), bin_)
    of_five, of_three = inches("5"), inches("3")
    sheet, rest = Source("sheet", "5 x 5 in"), Source("offcut", "3 x 3 in")
    return (
        Layout(
            1,
            "pear toss",
            Source("sheet", "12 x 12 in"),
            inches("12"),
            inches("12 1/2"),
            1,
            0,
            0,
            pear,
        ),
        Layout(2, "brick cardstock", sheet, of_five, of_five, 1, 0, 0, four),
        Layout(3, "brick cardstock", sheet, of_five, of_five, 1, 0, 0, one),
        Layout(4, "brick cardstock", rest, of_three, of_three, 1, 0, 0, offcut),
    )


def harvest_plan() -> Plan:
    """The plan of ``harvest_batch``; both papers are proven by values."""
    # 59 in² of brick: six discs of 1 in radius; kept 6 3/16 + 12 1/2 in².
    pear = PaperFigures(
        paper="pear toss",
        needed=1,
        have=2,
        used=1,
        to_buy=0,
        bound=Bound(
            1,
            "sheets",
            "values",
            sheet_values=(SheetValue(inches("12"), inches("12"), 144),),
            values={"windfall/panel": 21, "tag": 6},
        ),
        proven=True,
        in_pieces=1.0,
        kept=0.0,
        waste=0.0,
        strokes=9,
        ruler_settings=3,
    )
    brick = PaperFigures(
        paper="brick cardstock",
        needed=2,
        have=2,
        used=2,
        to_buy=0,
        bound=Bound(
            2,
            "cost",
            "values",
            sheet_values=(
                SheetValue(inches("5"), inches("5"), 4),
                SheetValue(inches("3"), inches("3"), 1),
            ),
            values={"windfall/moon": 1},
        ),
        proven=True,
        in_pieces=0.319484,
        kept=0.316737,
        waste=0.363779,
        strokes=12,
        ruler_settings=5,
    )
    return Plan(
        tool="by hand",
        seed=0,
        ended="proven",
        asked=harvest_batch(),
        pieces=harvest_pieces(),
        layouts=harvest_layouts(),
        uncut=(),
        cards=(CardCount("windfall", 6, 6),),
        papers=(pear, brick),
    )


def short_batch() -> Batch:
    """Six cards and two spares; the paper gives five panels; bases of a paper to buy."""
    pear = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=1),), buy=False)
    cream = Paper("cream cardstock", (Sheet(inches("8 1/2"), inches("11"), have=1),), grain="long")
    panel = Layer("panel", "pear toss", face="front", over="card", reveal=Edges(), turn="may")
    base = Base("cream cardstock", face="front", fold="left")
    card = Card("orchard", 6, inches("4"), inches("5 1/4"), base, (panel,), spares=2)
    return Batch("Short supper", "in", (pear, cream), (card,))


def short_plan() -> Plan:
    """The plan of ``short_batch``: three sets lack their panel, so five of eight are cut at all."""
    panel = replace(
        harvest_pieces()[0],
        id="panel",
        print="plain",
        demand=8,
        uses=(Use("orchard", "panel", 8),),
    )
    base = replace(
        panel,
        id="base",
        letter="B",
        name="base",
        width=inches("8"),
        paper="cream cardstock",
        grain="y",
        score=Score("x", inches("4")),
        uses=(Use("orchard", "base", 8),),
    )
    keep = Offcut(keep=True)
    panels = row("x", "4", *[Blank("panel")] * 2, keep)
    pear = row("y", "5 1/4", panels, row("x", "4", *[Blank("panel")] * 3), keep)
    cream = row("x", "8", row("y", "5 1/4", *[Blank("base")] * 2, keep), keep)
    last = row("x", "8", row("y", "5 1/4", Blank("base"), keep), keep)
    layouts = (
        Layout(
            1,
            "pear toss",
            Source("sheet", "12 x 12 in"),
            inches("12"),
            inches("12"),
            1,
            0,
            0,
            pear,
        ),
        Layout(
            2,
            "cream cardstock",
            Source("sheet", "8 1/2 x 11 in"),
            inches("8 1/2"),
            inches("11"),
            2,
            1,
            0,
            cream,
        ),
        Layout(
            3,
            "cream cardstock",
            Source("sheet", "8 1/2 x 11 in"),
            inches("8 1/2"),
            inches("11"),
            1,
            1,
            0,
            last,
        ),
    )
    figures = PaperFigures(
        paper="pear toss",
        needed=2,
        have=1,
        used=1,
        to_buy=0,
        bound=Bound(2, "sheets", "area"),
        proven=True,
        in_pieces=0.729167,
        kept=0.270833,
        waste=0.0,
        strokes=6,
        ruler_settings=3,
    )
    to_buy = PaperFigures(
        paper="cream cardstock",
        needed=4,
        have=1,
        used=3,
        to_buy=2,
        bound=Bound(4, "sheets", "area"),
        proven=True,
        in_pieces=0.748663,
        kept=0.251337,
        waste=0.0,
        strokes=8,
        ruler_settings=4,
    )
    return Plan(
        tool="by hand",
        seed=0,
        ended="limit",
        asked=short_batch(),
        pieces=(panel, base),
        layouts=layouts,
        uncut=tuple(Uncut(name, 3, (Use("orchard", name, 3),)) for name in ("panel", "base")),
        cards=(CardCount("orchard", 6, 5),),
        papers=(figures, to_buy),
        whole_cards=(WholeCards(("orchard",), 6, 5, 6, "asked"),),
    )


def stopped_batch() -> Batch:
    """Two panels, a label and a tag from one 12 x 12, with a trimmer that can stop a cut part-way."""
    pear = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=2),))
    pieces = tuple(
        LoosePiece(
            name, "pear toss", count, inches(width), inches(height), face="front", turn="may"
        )
        for name, count, width, height in (
            ("panel", 2, "5", "7"),
            ("label", 1, "8", "5"),
            ("tag", 1, "3", "2"),
        )
    )
    return Batch("Orchard market", "in", (pear,), (), pieces, Trimmer(can_stop=True))


def stopped_plan() -> Plan:
    """The plan of ``stopped_batch``: a pinwheel round the tag, one arm of it an offcut to keep."""
    pieces = tuple(
        replace(
            harvest_pieces()[0],
            id=one.name,
            letter=letter,
            name=one.name,
            width=one.width,
            height=one.height,
            print="plain",
            turn="may",
            demand=one.count,
            uses=(Use(None, one.name, one.count),),
        )
        for letter, one in zip("ABC", stopped_batch().pieces, strict=True)
    )
    tree = Pinwheel(
        "anticlockwise",
        (inches("5"), inches("8")),
        (inches("5"), inches("7")),
        bottom=Blank("label"),
        left=Blank("panel"),
        top=Blank("panel", turned=True),
        right=Offcut(keep=True),
        centre=Blank("tag"),
    )
    source = Source("sheet", "12 x 12 in")
    figures = PaperFigures(
        paper="pear toss",
        needed=1,
        have=2,
        used=1,
        to_buy=0,
        bound=Bound(1, "sheets", "area"),
        proven=True,
        in_pieces=0.805556,
        kept=0.194444,
        waste=0.0,
        strokes=5,
        ruler_settings=2,
    )
    return Plan(
        tool="by hand",
        seed=0,
        ended="proven",
        asked=stopped_batch(),
        pieces=pieces,
        layouts=(Layout(1, "pear toss", source, inches("12"), inches("12"), 1, 0, 0, tree),),
        uncut=(),
        cards=(),
        papers=(figures,),
    )
