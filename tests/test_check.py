"""The checker is tested by breaking valid plans in every way."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import harvest_batch, harvest_plan, inches, moon_at, row, short_batch, short_plan

from nesting.batch import (
    BarcodeStrip,
    Base,
    Batch,
    Card,
    Edges,
    Face,
    Layer,
    LoosePiece,
    Paper,
    Sheet,
    Trimmer,
    Use,
)
from nesting.check import check, most_value
from nesting.pack import Rounds, solve
from nesting.plan import (
    Blank,
    Bound,
    Cut,
    EdgeTrim,
    Layout,
    Node,
    Offcut,
    Plan,
    SheetValue,
    Strip,
    Uncut,
)

EIGHTH = inches("1/8")


def rules(batch: Batch, plan: Plan) -> set[str]:
    """The names of the rules that a plan breaks."""
    return {fault.rule for fault in check(batch, plan)}


# Valid plans ------------------------------------------------------------------------------------


def market_batch(**changes: Any) -> Batch:
    """Cards with every sort of layer, on three papers; ``changes`` go to the trimmer."""
    pear = Paper(
        "pear toss",
        (Sheet(inches("12"), inches("12"), have=1),),
        buy=False,
        front=Face("four-way"),
        back=Face("one-way", "left"),
        barcode_strip=BarcodeStrip("left", inches("1/2"), beyond_the_sheet=False),
        edge_trim=Edges(top=EIGHTH, right=EIGHTH),
    )
    brick = Paper("brick cardstock", (Sheet(inches("8 1/2"), inches("11"), have=2),))
    cream = Paper(
        "cream cardstock",
        (
            Sheet(inches("8 1/2"), inches("11"), have=4),
            Sheet(inches("9"), inches("12"), have=2),
            Sheet(inches("4"), inches("9"), have=2, offcut=True),
        ),
        grain="long",
    )
    around = Edges(EIGHTH, EIGHTH, EIGHTH, EIGHTH)
    layers = (
        Layer("mat", "brick cardstock", reveal=around),
        Layer("panel", "pear toss", face="front", reveal=around),
        Layer("band", "pear toss", face="back", over="panel", height=inches("1 1/4"), wrap=EIGHTH),
        Layer("moon", "cream cardstock", over="panel", circle=inches("2"), die_allowance=EIGHTH),
        Layer("core", "brick cardstock", reveal=around, each=2),
        Layer("note", "cream cardstock", width=inches("3"), where="inside"),
    )
    base = Base("cream cardstock", fold="top")
    card = Card("windfall", 11, inches("4 1/4"), inches("5 1/2"), base, layers, spares=1)
    tag = LoosePiece("tag", "brick cardstock", 9, inches("2"), inches("3 1/2"))
    return Batch("Market", "in", (pear, brick, cream), (card,), (tag,), Trimmer(**changes))


@cache
def solved(cut_width: int = 0, longest_cut: int | None = None) -> tuple[Batch, Plan]:
    """The market's plan from the packer."""
    batch = market_batch(cut_width=cut_width, longest_cut=longest_cut)
    return batch, solve(batch, Rounds(20))


SOLVED = [(0, None), (inches("1/64"), None), (0, inches("12")), (inches("1/32"), inches("12"))]


@pytest.mark.parametrize(
    ("batch", "plan"), [(harvest_batch(), harvest_plan()), (short_batch(), short_plan())]
)
def test_plan_by_hand_has_no_fault(batch: Batch, plan: Plan) -> None:
    """A valid plan made by hand has no fault."""
    assert check(batch, plan) == ()


@pytest.mark.parametrize("trimmer", SOLVED)
def test_plan_from_the_packer_has_no_fault(trimmer: tuple[int, int | None]) -> None:
    """The packer's plans have no fault, whatever the trimmer, with pieces uncut or to buy."""
    batch, plan = solved(*trimmer)
    assert check(batch, plan) == ()
    assert plan.uncut
    assert {figures.bound.by for figures in plan.papers} >= {"values"}


def test_defaults_may_be_left_open_in_the_batch() -> None:
    """A batch as it was written and one with its defaults filled in are the same batch."""
    batch, plan = solved()
    assert batch != plan.asked
    assert check(plan.asked, plan) == ()


# Broken plans -----------------------------------------------------------------------------------

#: What each field of a plan is guarded by: a pattern of its path, and the rules that may name it.
#: None: the field says nothing that the batch or the rest of the plan could contradict.
GUARDS: list[tuple[str, set[str] | None]] = [
    (r"tool|seed|warnings.*", None),
    (r"ended", {"ended"}),
    (r"asked.*", {"asked"}),
    (r"pieces\.\d+\.(name|letter)", None),
    (r"pieces\.\d+\.id", {"blank"}),
    (r"pieces.*", {"piece"}),
    (r"layouts", {"demand"}),
    (r"layouts\.\d+\.id", None),
    (r"layouts\.\d+\.paper", {"source", "blank"}),
    (r"layouts\.\d+\.source\.kind", {"source"}),
    (r"layouts\.\d+\.source\.name", None),
    (r"layouts\.\d+\.(width|height)", {"source"}),
    (r"layouts\.\d+\.alike", {"demand"}),
    (r"layouts\.\d+\.to_buy", {"to buy", "at hand"}),
    (r"layouts\.\d+\.cut_width", {"cut width"}),
    (r"layouts\.\d+\.tree.*\.circles.*", {"circle"}),
    (r"layouts\.\d+\.tree.*\.turned", {"turn", "blank"}),
    (r"layouts\.\d+\.tree.*\.keep", {"offcut"}),
    (r"layouts\.\d+\.tree.*\.piece", {"blank"}),
    (r"layouts\.\d+\.tree.*", {"blank", "cut", "strip", "demand", "offcut", "circle"}),
    (r"uncut\.\d+\.uses\.\d+\.(card|layer)", {"uncut"}),
    (r"uncut.*", {"uncut", "demand"}),
    (r"cards.*", {"cards"}),
    (r"papers", {"figures"}),
    (r"papers\.\d+\.needed", {"figures", "proven"}),
    (r"papers\.\d+\.(paper|have|used|to_buy|cuts|ruler_settings)", {"figures"}),
    (r"papers\.\d+\.(in_pieces|kept|waste)", {"shares"}),
    (r"papers\.\d+\.proven", {"proven"}),
    (r"papers\.\d+\.bound\.value", {"bound", "proven"}),
    (r"papers\.\d+\.bound\.of", {"bound"}),
]
WORDS: dict[str, tuple[str, ...]] = {
    "kind": ("sheet", "offcut", "middle"),
    "ended": ("proven",),
    "shape": ("rect", "circle"),
    "face": ("front", "back"),
    "print": ("plain", "four-way", "two-way", "one-way"),
    "up": ("left", "right", "top", "bottom"),
    "turn": ("never", "may", "must"),
    "of": ("sheets", "cost"),
    "by": ("area", "values", "search"),
    "axis": ("x", "y"),
    "fold": ("left", "top", "none"),
    "grain": ("x", "y"),
}
LEAVES = (Offcut(keep=True), Offcut(keep=False), Strip(), EdgeTrim())


def variants(name: str, value: Any) -> Iterator[Any]:
    """Other values of one field: numbers one more or less, flags flipped, words exchanged."""
    match value:
        case bool():
            yield not value
        case int():
            yield from (value + 1, value - 1)
        case float():
            yield from (value + 0.001, value - 0.001, float("nan"))
        case str():
            yield from (word for word in WORDS.get(name, (value + "'",)) if word != value)
        case None:
            yield from {"grain": ("x", "y"), "have": (1,)}.get(name, ())
        case Cut(axis=axis, at=at, low=low, high=high):
            yield from (low, high, *LEAVES, Cut(axis, at, high, low), Cut(axis, -at, low, high))
            yield Cut("y" if axis == "x" else "x", at, low, high)
        case Blank() | Offcut() | Strip() | EdgeTrim():
            yield from (leaf for leaf in LEAVES if leaf != value)
            yield Cut("x", 0, Offcut(keep=False), value)


def broken(name: str, value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every copy of a value with one thing changed somewhere inside, and the path to it."""
    for other in variants(name, value):
        yield path, other
    if is_dataclass(value):
        for field in fields(value):
            inner = f"{path}.{field.name}".lstrip(".")
            for at, other in broken(field.name, getattr(value, field.name), inner):
                yield at, replace(value, **{field.name: other})  # type: ignore[type-var]
    elif isinstance(value, tuple):
        for number, member in enumerate(value):
            rest = value[:number], value[number + 1 :]
            if not isinstance(member, int):  # a place or a size always has its two numbers
                yield path, (*rest[0], *rest[1])
                yield path, (*rest[0], member, member, *rest[1])
            for at, other in broken(name, member, f"{path}.{number}"):
                yield at, (*rest[0], other, *rest[1])


def guard(path: str) -> set[str] | None:
    """The rules that guard the field at a path; KeyError where nobody has thought of it."""
    for pattern, names in GUARDS:
        if re.fullmatch(pattern, path):
            return names
    raise KeyError(path)


def picture(layout: Layout) -> list[str]:
    """What a layout comes to: swapping two equal halves of a sheet leaves a valid plan."""
    seen = []
    for placed in layout.walk():
        match placed.node:
            case Cut(axis=axis, at=at):
                seen.append(f"{axis} {at} {placed.width} {placed.height}")
            case Blank(circles=()) | Offcut():
                seen.append(f"{placed.node} {placed.width} {placed.height}")
            case _:
                seen.append(str(placed))
    return sorted(seen)


def check_every_break(batch: Batch, plan: Plan) -> int:
    """Break a plan in every way; each break must be named. Returns the number of breaks."""
    count = 0
    for path, other in broken("", plan):
        if other == plan or (".bound." in path and not re.search(r"bound\.(value|of)$", path)):
            continue
        if path.endswith(".turned") and _is_square(plan, path):
            continue
        expected = guard(path)
        if expected is None:
            continue
        if [picture(one) for one in other.layouts] == [picture(one) for one in plan.layouts] and (
            path.startswith("layouts") and "tree" in path
        ):
            continue
        count += 1
        found = rules(batch, other)
        assert found & expected, f"{path}: {found or 'no fault'}"
    return count


def _is_square(plan: Plan, path: str) -> bool:
    """Whether a turn of this blank changes nothing, because its piece may lie either way."""
    node: Any = plan
    for step in path.split(".")[:-1]:
        node = node[int(step)] if step.isdigit() else getattr(node, step)
    piece = plan.piece(node.piece)
    return piece.turn == "may" and piece.width == piece.height


def test_every_break_of_a_plan_by_hand_is_named() -> None:
    """Whatever is changed in the harvest's plan, the rule that guards it says so."""
    assert check_every_break(harvest_batch(), harvest_plan()) > 400


def test_every_break_of_a_plan_with_uncut_pieces_is_named() -> None:
    """Whatever is changed in a plan that is short of paper, the rule that guards it says so."""
    assert check_every_break(short_batch(), short_plan()) > 250


@pytest.mark.parametrize("trimmer", SOLVED[1:2])
def test_breaks_of_a_plan_from_the_packer_are_seen(trimmer: tuple[int, int | None]) -> None:
    """Of a large plan every fifth layout's tree is broken in every way; each break is seen."""
    batch, plan = solved(*trimmer)
    for number, layout in list(enumerate(plan.layouts))[::5]:
        others = plan.layouts[:number], plan.layouts[number + 1 :]
        for path, tree in broken("tree", layout.tree, "tree"):
            if tree == layout.tree or path.endswith("turned"):
                continue
            other = replace(layout, tree=tree)
            if picture(other) == picture(layout):
                continue
            assert check(batch, replace(plan, layouts=(*others[0], other, *others[1]))), path


# Single rules -----------------------------------------------------------------------------------


def with_tree(plan: Plan, number: int, tree: Node) -> Plan:
    """The plan with another tree in one layout."""
    layouts = list(plan.layouts)
    layouts[number] = replace(layouts[number], tree=tree)
    return replace(plan, layouts=tuple(layouts))


def with_bound(plan: Plan, number: int, **changes: Any) -> Plan:
    """The plan with another bound for one paper."""
    papers = list(plan.papers)
    papers[number] = replace(papers[number], bound=replace(papers[number].bound, **changes))
    return replace(plan, papers=tuple(papers))


def test_faults_say_where() -> None:
    """A fault names the layout and the blank's letter, and ends as a sentence does."""
    plan = with_tree(harvest_plan(), 3, row("x", "2 1/4", moon_at("0", "0"), Offcut(keep=False)))
    faults = check(harvest_batch(), plan)
    blank = next(fault for fault in faults if fault.rule == "blank")
    assert blank.where == "layout 4, blank B"
    assert blank.said == "it is 2 1/4 x 3 in; its piece needs 2 1/4 x 2 1/4 in."
    assert all(fault.said.endswith(".") for fault in faults)


def test_another_batch() -> None:
    """A plan made for another batch is said to be that."""
    assert "asked" in rules(replace(harvest_batch(), name="Another supper"), harvest_plan())


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"paper": "plum toss"}, "windfall, panel"),
        ({"over": "roof"}, "windfall, panel"),
        ({"reveal": Edges(left=inches("4"))}, "windfall, panel"),
        ({"face": None, "paper": "both"}, "windfall, panel"),
        ({"each": 0}, "windfall, panel"),
    ],
)
def test_unsound_batch_is_named(change: dict[str, Any], where: str) -> None:
    """A batch that no plan can be held against is one fault, not a traceback."""
    batch = harvest_batch()
    both = Paper("both", (Sheet(1, 1),), front=Face("two-way"), back=Face("one-way"))
    card = batch.cards[0]
    layers = (replace(card.layers[0], **change), *card.layers[1:])
    batch = replace(
        batch, papers=(*batch.papers, both), cards=(replace(card, layers=layers),), pieces=()
    )
    faults = check(batch, harvest_plan())
    assert {fault.rule for fault in faults} == {"batch"}
    assert where in {fault.where for fault in faults}


def test_paper_of_offcuts_only_is_unsound() -> None:
    """A paper without whole sheets has no full need, so nothing can be proven of it."""
    batch = harvest_batch()
    offcuts = Paper("offcuts", (Sheet(1, 1, have=1, offcut=True),))
    batch = replace(batch, papers=(*batch.papers, offcuts))
    assert rules(batch, harvest_plan()) == {"batch"}


def test_names_that_stand_twice() -> None:
    """Ids of pieces and layouts, and letters, are each given once."""
    plan = harvest_plan()
    first, second, third = plan.pieces
    for other in (replace(second, id=first.id), replace(second, letter=first.letter)):
        assert "piece" in rules(harvest_batch(), replace(plan, pieces=(first, other, third)))
    layouts = (*plan.layouts[:3], replace(plan.layouts[3], id=1))
    assert rules(harvest_batch(), replace(plan, layouts=layouts)) == {"layout"}


def test_piece_that_nobody_asked_for() -> None:
    """A piece too many is named, and so is one that stands twice under two letters."""
    plan = harvest_plan()
    again = replace(plan.pieces[2], id="tag again", letter="D")
    for extra in (again, replace(again, width=inches("3"))):
        assert rules(harvest_batch(), replace(plan, pieces=(*plan.pieces, extra))) == {"piece"}


def test_layout_of_a_paper_that_is_not_there() -> None:
    """A layout on a paper that nobody has is named."""
    plan = harvest_plan()
    layouts = (*plan.layouts[:3], replace(plan.layouts[3], paper="plum toss"))
    assert "paper" in rules(harvest_batch(), replace(plan, layouts=layouts))


def test_figures_of_a_paper_that_is_not_there() -> None:
    """Figures for a paper that nobody has are named, and not looked into."""
    plan = harvest_plan()
    papers = (plan.papers[0], replace(plan.papers[1], paper="plum toss"))
    faults = check(harvest_batch(), replace(plan, papers=papers))
    said = "its papers are not those needed: pear toss, brick cardstock."
    assert [fault.said for fault in faults] == [said]


def test_shares_that_add_up_and_are_wrong() -> None:
    """Paper kept may not be called waste, even where the shares add up to 1."""
    plan = harvest_plan()
    brick = replace(plan.papers[1], kept=0.455019, waste=0.312271)
    plan = replace(plan, papers=(plan.papers[0], brick))
    assert [fault.said for fault in check(harvest_batch(), plan)] == [
        "the share kept is 0.455019; it comes to 0.456019.",
        "the share waste is 0.312271; it comes to 0.311271.",
    ]


def test_layout_cut_less_than_once() -> None:
    """A layout that no sheet is cut by has no place in a plan."""
    plan = harvest_plan()
    layouts = (*plan.layouts, replace(plan.layouts[3], id=5, alike=0))
    assert rules(harvest_batch(), replace(plan, layouts=layouts)) == {"alike"}


def test_uncut_pieces_need_more_sheets() -> None:
    """Where pieces are uncut, the sheets used cannot be all that are needed."""
    plan = short_plan()
    papers = (replace(plan.papers[0], needed=1, bound=Bound(1, "sheets", "area")), plan.papers[1])
    assert rules(short_batch(), replace(plan, papers=papers)) == {"figures"}


@pytest.mark.parametrize("at", [0, -1, inches("3"), inches("4")])
def test_cut_that_does_not_divide(at: int) -> None:
    """A cut on an edge or beyond it divides nothing, and the area beyond it is missed."""
    plan = with_tree(harvest_plan(), 3, Cut("x", at, moon_at("0", "0"), Offcut(keep=False)))
    assert {"cut", "area"} <= rules(harvest_batch(), plan)


def test_cut_that_is_too_long() -> None:
    """A cut longer than the trimmer's longest is named, and one just as long is not."""
    batch, plan = harvest_batch(), harvest_plan()
    for longest, expected in ((inches("12"), set()), (inches("12") - 1, {"longest cut"})):
        trimmed = replace(batch, trimmer=Trimmer(longest_cut=longest))
        assert rules(trimmed, replace(plan, asked=trimmed)) == expected


def test_cut_width_is_clipped_at_the_edge_only() -> None:
    """A last cut may lose its width beyond the sheet; the same cut inside loses all of it."""
    paper = Paper("pear toss", (Sheet(10, 10),))
    batch = Batch(
        "Tiny",
        "mm",
        (paper,),
        (),
        (LoosePiece("tag", "pear toss", 1, 9, 10),),
        Trimmer(cut_width=3),
    )
    plan = solve(batch)
    blank = Blank("tag")
    assert plan.layouts[0].tree == Cut("x", 9, blank, Offcut(keep=False))
    assert check(batch, plan) == ()
    assert "cut" in rules(batch, with_tree(plan, 0, Cut("x", 9, blank, Cut("x", 1, blank, blank))))
    assert {"blank", "demand"} <= rules(batch, with_tree(plan, 0, Cut("x", 9, blank, blank)))
    assert "offcut" in rules(batch, with_tree(plan, 0, Cut("x", 9, blank, Offcut(keep=True))))


def test_deep_tree_is_walked_without_recursion() -> None:
    """A tree of many thousand cuts is checked like any other."""
    tree: Node = Offcut(keep=False)
    for _ in range(20_000):
        tree = Cut("x", 1, Offcut(keep=False), tree)
    assert "demand" in rules(harvest_batch(), with_tree(harvest_plan(), 0, tree))


def test_blank_of_a_piece_that_is_not_there() -> None:
    """A blank whose piece nobody knows is named, not looked up in vain."""
    faults = check(harvest_batch(), with_tree(harvest_plan(), 3, Blank("pip")))
    assert ("blank", "layout 4, blank 'pip'") in {(fault.rule, fault.where) for fault in faults}


def test_blank_of_another_paper() -> None:
    """A piece cut from the wrong paper is named even where its size is right."""
    wrong = row("x", "2 1/4", Blank("tag"), Offcut(keep=True))
    faults = check(harvest_batch(), with_tree(harvest_plan(), 3, wrong))
    said = "its piece is cut from 'pear toss', not from 'brick cardstock'."
    assert said in {fault.said for fault in faults}


@pytest.mark.parametrize(
    ("turn", "turned", "named"),
    [
        ("never", False, False), ("never", True, True), ("must", True, False),
        ("must", False, True), ("may", True, False), ("may", False, False),
    ],
)  # fmt: skip
def test_turns(turn: Any, turned: bool, named: bool) -> None:
    """A square piece may lie turned only as its turn says."""
    paper = Paper("pear toss", (Sheet(10, 10),), front=Face("one-way"))
    piece = LoosePiece("tag", "pear toss", 1, 10, 10, face="front", turn=turn)
    batch = Batch("Tiny", "mm", (paper,), (), (piece,))
    plan = with_tree(solve(batch), 0, Blank("tag", turned))
    assert ("turn" in rules(batch, plan)) == named


def plan_of_circles(*circles: tuple[int, int]) -> tuple[Batch, Plan]:
    """Circles of 10 nm with 1 nm around each on one blank of 23 x 12 nm."""
    paper = Paper("pear toss", (Sheet(23, 12),))
    piece = LoosePiece(
        "moon", "pear toss", len(circles), circle=10, face="front", turn="may", die_allowance=1
    )
    batch = Batch("Tiny", "mm", (paper,), (), (piece,))
    plan = solve(replace(batch, papers=(replace(paper, sheets=(Sheet(24, 12),)),)))
    layout = replace(plan.layouts[0], width=23, tree=Blank("moon", circles=circles), alike=1)
    return batch, replace(plan, asked=batch, layouts=(layout,))


@pytest.mark.parametrize(
    ("circles", "named"),
    [
        (((6, 6), (17, 6)), False), (((7, 6), (17, 6)), True), (((5, 6), (17, 6)), True),
        (((6, 6), (18, 6)), True), (((6, 7), (17, 6)), True), (((6, 6), (6, 6)), True),
    ],
)  # fmt: skip
def test_circles_that_share_a_blank(circles: tuple[tuple[int, int], ...], named: bool) -> None:
    """Circles on one blank keep their allowance to its edge, and one allowance between them."""
    batch, plan = plan_of_circles(*circles)
    found = rules(batch, plan)
    assert ("circle" in found) == named
    assert "demand" not in found
    assert "blank" not in found


def test_circle_of_an_odd_diameter() -> None:
    """A centre that would lie half a nanometre off may lie on either side, and no further."""
    paper = Paper("pear toss", (Sheet(11, 11),))
    batch = Batch("Tiny", "mm", (paper,), (), (LoosePiece("moon", "pear toss", 1, circle=11),))
    plan = solve(batch)
    for centre, named in (((5, 6), False), ((6, 6), False), ((4, 5), True), ((7, 5), True)):
        broken_plan = with_tree(plan, 0, Blank("moon", circles=(centre,)))
        assert ("circle" in rules(batch, broken_plan)) == named


def test_circles_where_there_are_none() -> None:
    """A rectangle with circles and a circle without are both named."""
    plan = harvest_plan()
    panel = Blank("windfall/panel", circles=((1, 1),))
    assert "circle" in rules(harvest_batch(), with_tree(plan, 0, panel))
    assert "circle" in rules(harvest_batch(), with_tree(plan, 3, Blank("windfall/moon")))


def test_more_than_is_asked_for_is_a_fault() -> None:
    """Cutting one more than is needed is as wrong as one less."""
    plan = harvest_plan()
    layouts = (*plan.layouts, replace(plan.layouts[3], id=5))
    found = rules(harvest_batch(), replace(plan, layouts=layouts))
    assert {"demand", "at hand"} <= found


def short_of(plan: Plan, **changes: Any) -> Plan:
    """The plan with another list of what is uncut."""
    return replace(plan, uncut=(replace(plan.uncut[0], **changes),))


@pytest.mark.parametrize(
    "changes",
    [
        {"piece": "pip"},
        {"uses": (Use("orchard", "panel", 2), Use("orchard", "roof", 1))},
        {"uses": (Use("orchard", "panel", 4), Use("orchard", "panel", -1))},
        {"count": 9, "uses": (Use("orchard", "panel", 9),)},
        {"count": 0, "uses": ()},
    ],
)
def test_uncut_that_does_not_add_up(changes: dict[str, Any]) -> None:
    """What is listed as uncut must be asked for and add up."""
    assert "uncut" in rules(short_batch(), short_of(short_plan(), **changes))


def test_uncut_twice() -> None:
    """A piece is listed as uncut once, even where two entries add up."""
    parts = tuple(Uncut("panel", n, (Use("orchard", "panel", n),)) for n in (1, 2))
    assert rules(short_batch(), replace(short_plan(), uncut=parts)) == {"uncut"}


@pytest.mark.parametrize("to_buy", [-1, 5])
def test_more_to_buy_than_are_cut(to_buy: int) -> None:
    """Of four sheets cut alike none to four can be to buy."""
    plan = short_plan()
    layouts = (plan.layouts[0], replace(plan.layouts[1], to_buy=to_buy))
    faults = check(short_batch(), replace(plan, layouts=layouts))
    assert f"{to_buy} of 4 sheets are to buy." in {fault.said for fault in faults}


def test_uncut_of_a_paper_that_can_be_bought() -> None:
    """Nothing is left uncut for want of a paper that the shop has."""
    batch, plan = short_batch(), short_plan()
    batch = replace(batch, papers=(replace(batch.papers[0], buy=True), batch.papers[1]))
    assert rules(batch, replace(plan, asked=batch)) == {"uncut"}


@pytest.mark.parametrize("complete", [4, 6])
def test_complete_cards_are_told_truly(complete: int) -> None:
    """Of eight sets three lack a panel: five cards are complete, no more and no fewer."""
    plan = short_plan()
    cards = (replace(plan.cards[0], complete=complete),)
    assert rules(short_batch(), replace(plan, cards=cards)) == {"cards"}


def test_buying_what_cannot_be_bought() -> None:
    """A sheet to buy of a paper that nobody sells any more is named."""
    batch, plan = short_batch(), short_plan()
    papers = (batch.papers[0], replace(batch.papers[1], buy=False))
    batch = replace(batch, papers=papers)
    assert rules(batch, replace(plan, asked=batch)) == {"to buy"}


def test_buying_an_offcut() -> None:
    """An offcut cannot be bought."""
    plan = harvest_plan()
    layouts = (*plan.layouts[:3], replace(plan.layouts[3], to_buy=1))
    faults = check(harvest_batch(), replace(plan, layouts=layouts))
    assert "an offcut cannot be bought." in {fault.said for fault in faults}


# Proofs -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changes",
    [
        {"values": {"windfall/panel": 22, "tag": 6}},
        {"values": {"windfall/panel": 21, "tag": 7}},
        {"values": {"windfall/panel": 0, "tag": 0}},
        {"values": {"windfall/panel": 21, "tag": 6, "windfall/moon": 1}},
        {"values": {"windfall/panel": 21, "tag": 6, "pip": 0}},
        {"values": {"windfall/panel": 21, "tag": -6}},
        {"values": {"windfall/panel": 21.0, "tag": 6}},
        {"scale": 143},
        {"scale": 0},
        {"sheet_values": ()},
        {"sheet_values": (SheetValue(inches("12"), inches("12"), 143),)},
        {"sheet_values": (SheetValue(inches("12"), inches("12"), 145),)},
        {"sheet_values": (SheetValue(inches("12"), inches("12 1/2"), 144),)},
        {"sheet_values": (SheetValue(inches("12"), inches("12"), 144),) * 2},
        {"value": 2},
    ],
)
def test_false_proof_by_values(changes: dict[str, Any]) -> None:
    """A proof by values that claims too much of sheet, piece or demand is refused."""
    assert "bound" in rules(harvest_batch(), with_bound(harvest_plan(), 0, **changes))


@pytest.mark.parametrize(
    "changes",
    [
        {"values": {"windfall/moon": 2}},
        {"values": {"windfall/moon": 0}},
        {"scale": 3},
        {"scale": 5},
        {"sheet_values": (SheetValue(inches("6"), inches("6"), 4),)},
        {"by": "area"},
        {"of": "sheets"},
    ],
)
def test_false_proof_of_cost(changes: dict[str, Any]) -> None:
    """With sheets of several costs each has its own part in the proof."""
    assert "bound" in rules(harvest_batch(), with_bound(harvest_plan(), 1, **changes))


@pytest.mark.parametrize("number", [0, 1])
def test_inflated_bound_by_area(number: int) -> None:
    """A bound beyond the areas is refused, even where the sheets needed are claimed to match."""
    plan = with_bound(short_plan(), number, value=short_plan().papers[number].bound.value + 1)
    papers = tuple(replace(f, needed=f.bound.value) for f in plan.papers)
    assert "bound" in rules(short_batch(), replace(plan, papers=papers))


def test_bound_by_search_is_held_against_the_plan_only() -> None:
    """An exhausted search cannot be verified, but it cannot exceed the plan either."""
    plan = harvest_plan()
    assert rules(harvest_batch(), with_bound(plan, 1, by="search")) == set()
    assert rules(harvest_batch(), with_bound(plan, 1, by="search", value=3)) == {"bound"}


def test_weaker_bound_is_valid_but_proves_nothing() -> None:
    """A bound below the plan is true; only calling it proven is not."""
    plan = with_bound(short_plan(), 1, value=3)
    assert rules(short_batch(), plan) == {"proven"}
    papers = (plan.papers[0], replace(plan.papers[1], proven=False))
    plan = replace(plan, papers=papers)
    assert rules(short_batch(), plan) == {"ended"}
    assert rules(short_batch(), replace(plan, ended="limit")) == set()


def test_values_from_the_packer_cannot_be_raised() -> None:
    """In the packer's proofs no sheet's value may be lowered and the bound not be raised."""
    batch, plan = solved()
    tried = 0
    for number, figures in enumerate(plan.papers):
        bound = figures.bound
        assert "bound" in rules(batch, with_bound(plan, number, value=bound.value * 2 + 1))
        for entry in bound.sheet_values:
            lower = replace(entry, value=entry.value - 1)
            entries = tuple(lower if e == entry else e for e in bound.sheet_values)
            assert "bound" in rules(batch, with_bound(plan, number, sheet_values=entries))
            tried += 1
    assert tried


# The dynamic programme --------------------------------------------------------------------------


def brute_force(
    width: int,
    height: int,
    values: dict[tuple[int, int], int],
    cut_width: int,
    longest_cut: int | None,
) -> int:
    """The most value of a rectangle, trying every cut at every whole number."""

    @cache
    def most(width: int, height: int) -> int:
        best = values.get((width, height), 0)
        if longest_cut is None or height <= longest_cut:
            for at in range(1, width):
                best = max(best, most(at, height) + most(max(0, width - at - cut_width), height))
        if longest_cut is None or width <= longest_cut:
            for at in range(1, height):
                best = max(best, most(width, at) + most(width, max(0, height - at - cut_width)))
        return best

    return most(width, height)


sides = st.integers(1, 14)
some_values = st.dictionaries(
    st.tuples(st.integers(1, 9), st.integers(1, 9)), st.integers(0, 30), max_size=5
)


@settings(max_examples=300, deadline=None)
@given(sides, sides, some_values, st.integers(0, 3))
def test_most_value_is_exact(
    width: int, height: int, values: dict[tuple[int, int], int], cut_width: int
) -> None:
    """The dynamic programme finds what trying every cut finds."""
    assert most_value(width, height, values, cut_width) == brute_force(
        width, height, values, cut_width, None
    )


@settings(max_examples=300, deadline=None)
@given(sides, sides, some_values, st.integers(0, 2), st.integers(1, 14))
def test_most_value_with_short_cuts_is_never_too_low(
    width: int, height: int, values: dict[tuple[int, int], int], cut_width: int, longest: int
) -> None:
    """With a longest cut it lies between what can be cut and what could be without."""
    low = brute_force(width, height, values, cut_width, longest)
    found = most_value(width, height, values, cut_width, longest)
    assert found is not None
    assert low <= found <= brute_force(width, height, values, cut_width, None)


def test_longest_cut_matters() -> None:
    """Where no cut is short enough, nothing smaller than the sheet comes out of it."""
    assert most_value(10, 10, {(5, 10): 1, (10, 5): 1}, longest_cut=9) == 0
    assert most_value(10, 10, {(5, 10): 1, (10, 5): 1}, longest_cut=10) == 2


@pytest.mark.parametrize("seed", range(5))
def test_huge_values_are_exact(seed: int) -> None:
    """Values beyond 64 bits are added up as exactly as small ones."""
    rng = Random(seed)
    values = {(rng.randint(2, 9), rng.randint(2, 9)): rng.randint(1, 99) for _ in range(5)}
    scaled = {size: value * 10**30 + 1 for size, value in values.items()}
    found = most_value(20, 17, scaled)
    assert found == brute_force(20, 17, scaled, 0, None)


def test_too_fine_a_table_is_refused() -> None:
    """A proof whose table would take hours is not verified, and that is a fault."""
    values = {(1_000 + n, 1_000 + n * n % 997): 1 for n in range(0, 400, 7)}
    assert most_value(30_000, 30_000, values) is None
    pieces = tuple(LoosePiece(f"tag {w}", "pear toss", 1, w, h, turn="never") for w, h in values)
    paper = Paper("pear toss", (Sheet(30_000, 30_000),))
    batch = Batch("Tiny", "mm", (paper,), (), pieces)
    plan = solve(batch, Rounds(1))
    bound = {"by": "values", "values": {}, "sheet_values": (SheetValue(30_000, 30_000, 0),)}
    said = {fault.said for fault in check(batch, with_bound(plan, 0, value=0, **bound))}
    assert any("too many and too fine to verify" in words for words in said)


def test_known_counts() -> None:
    """Four of 4 1/4 x 5 1/2 in, three of 5 x 7 in, and six of 4 x 5 1/4 in come out of 12 x 12 in."""
    counts: list[tuple[str, str, int]] = [("4 1/4", "5 1/2", 4), ("5", "7", 3), ("4", "5 1/4", 6)]
    for width, height, count in counts:
        sides = inches(width), inches(height)
        both: dict[tuple[int, int], int] = {sides: 1, sides[::-1]: 1}
        assert most_value(inches("12"), inches("12"), both) == count
