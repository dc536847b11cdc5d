"""What the tests of the checker have in common."""

from dataclasses import replace
from functools import cache
from typing import Any

from plans import inches

from nesting.batch import Base, Batch, Card, Layer, LoosePiece, Trimmer
from nesting.checker import check
from nesting.layouts import Node
from nesting.pack import Rounds, solve
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.plan import Plan

EIGHTH = inches("1/8")


def rules(batch: Batch, plan: Plan) -> set[str]:
    """The names of the rules that a plan breaks."""
    return {fault.rule for fault in check(batch, plan)}


def market_batch(**changes: Any) -> Batch:
    """Cards with every sort of layer, on four papers; ``changes`` go to the trimmer."""
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
    plum = Paper("plum toss", (Sheet(inches("12"), inches("12")),))
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
    menu = LoosePiece("menu", "plum toss", 3, inches("7"), inches("7"))  # areas prove two sheets
    papers = (pear, brick, cream, plum)
    return Batch("Market", "in", papers, (card,), (tag, menu), Trimmer(**changes))


@cache
def solved(cut_width: int = 0, longest_cut: int | None = None) -> tuple[Batch, Plan]:
    """The market's plan from the packer."""
    batch = market_batch(cut_width=cut_width, longest_cut=longest_cut)
    return batch, solve(batch, Rounds(20))


SOLVED = [(0, None), (inches("1/64"), None), (0, inches("12")), (inches("1/32"), inches("12"))]


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
