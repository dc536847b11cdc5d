"""The checker takes data from the model and no rule: a wrong rule of the model is found, not shared."""

import ast
import inspect
from collections import defaultdict
from dataclasses import is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from check_cases import market_batch
from check_cases import solved as market
from plans import inches, short_batch, short_plan

import nesting
import nesting.batch
import nesting.layouts
import nesting.papers
import nesting.pieces
import nesting.plan
import nesting.sheets
from nesting.batch import Base, Batch, Card, LoosePiece
from nesting.checker import check
from nesting.pack import Rounds, solve
from nesting.papers import Paper, Sheet, Supply
from nesting.pieces import Piece

#: All that the checker has from the model: types, fields, names and a table; and words for lengths.
SHARED = {
    "nesting.papers": {
        "Axis", "BarcodeStrip", "Edge", "Edges", "FaceName", "Paper", "Print", "Sheet", "SheetCount", "StripEdge",
        "Supply", "Turn", "Window",
    },
    "nesting.pieces": {"Piece", "Score", "Use"},
    "nesting.batch": {
        "BASE", "Base", "Batch", "Begun", "Card", "ENVELOPE", "Envelope", "Layer", "LoosePiece", "Moved", "ON_CARD",
        "PaperChoice", "PaperOption", "Trimmer",
    },
    "nesting.envelopes": {"envelopes_sold"},
    "nesting.layouts": {"Blank", "Cut", "EdgeTrim", "Layout", "Node", "Offcut", "Pinwheel", "Strip"},
    "nesting.plan": {"Bound", "PaperFigures", "Plan", "WholeCards"},
    "nesting.units": {"Unit", "format_length", "length_words", "size_words"},
    "nesting.mark": {"mark_of", "plan_digest"},
    "nesting.record": {"Entry", "Record", "RecordError", "read_record"},
}  # fmt: skip
CHECKER = Path(nesting.__file__).parent / "checker"


def test_the_checker_takes_these_names_from_the_model_and_no_other() -> None:
    """Whatever else it took could be wrong in the same way as the plan."""
    taken: defaultdict[str, set[str]] = defaultdict(set)
    for path in CHECKER.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module in SHARED:
                taken[node.module] |= {alias.name for alias in node.names}
    assert taken == SHARED


def test_the_checker_calls_nothing_of_what_it_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every method and derived value of the model may be broken; plans are checked all the same."""
    cases = [market(), market(inches("1/64")), (short_batch(), short_plan())]

    def refuse(*_: Any, **__: Any) -> Any:
        raise AssertionError("the checker uses a rule of the model")

    broken = 0
    model = nesting.papers, nesting.pieces, nesting.batch, nesting.layouts, nesting.plan
    for module in model:
        for kind in vars(module).values():
            if not (inspect.isclass(kind) and is_dataclass(kind)):
                continue
            for name, member in list(vars(kind).items()):
                if name.startswith("_") or not isinstance(member, property | type(refuse)):
                    continue
                wrong = property(refuse) if isinstance(member, property) else refuse
                monkeypatch.setattr(kind, name, wrong)
                broken += 1
    assert broken > 15
    for batch, plan in cases:
        assert check(batch, plan) == ()


def stash_batch() -> Batch:
    """Folded cards and tags from paper with a grain and an up, on sheets of two sizes and an offcut."""
    sizes = (("8 1/2", "11", 2), ("12", "12", 3))
    sheets = [Sheet(inches(width), inches(height), have=have) for width, height, have in sizes]
    cream = Paper(
        "cream cardstock",
        (*sheets, Sheet(inches("5"), inches("6"), have=1, offcut=True)),
        front=nesting.papers.Face("one-way", "left"),
    )
    card = Card("windfall", 5, inches("4"), inches("5 1/2"), Base("cream cardstock"))
    tag = LoosePiece("tag", "cream cardstock", 9, inches("2"), inches("3 1/2"))
    return Batch("Market", "in", (cream,), (card,), (tag,))


def replace_everywhere(monkeypatch: pytest.MonkeyPatch, name: str, wrong: Any) -> None:
    """Put a wrong rule in the place of one of the model's, in every module that has it."""
    import sys

    right = getattr(nesting.sheets, name)
    for module in [m for n, m in sys.modules.items() if n.startswith("nesting")]:
        if getattr(module, name, None) is right:
            monkeypatch.setattr(module, name, wrong)


def rules_of_new_plan(batch: Batch) -> set[str]:
    """The faults of a plan that is made now."""
    return {fault.rule for fault in check(batch, solve(batch, Rounds(3)))}


def test_a_wrong_rule_for_what_is_kept_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A packer that keeps nothing, or the other way round, says so in vain."""
    replace_everywhere(monkeypatch, "is_kept", lambda *_: False)
    assert "offcut" in rules_of_new_plan(stash_batch())


def test_a_wrong_rule_for_how_a_blank_lies_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Blanks cut without regard to the print's up, or without room for the die, are found."""

    def upright(self: Piece, *, turned: bool) -> tuple[int, int]:
        return (self.height, self.width) if turned else (self.width, self.height)

    monkeypatch.setattr(Piece, "on_sheet", upright)
    assert "blank" in rules_of_new_plan(stash_batch())
    batch = market_batch()
    brick = batch.papers[1]
    moon = LoosePiece("moon", brick.name, 3, circle=inches("2"), die_allowance=inches("1/8"))
    assert "circle" in rules_of_new_plan(replace(batch, papers=(brick,), cards=(), pieces=(moon,)))


def test_a_wrong_rule_for_how_a_piece_may_turn_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A packer that turns every piece as it likes is found out."""
    monkeypatch.setattr(Piece, "turns", property(lambda _: (True,)))
    assert "turn" in rules_of_new_plan(stash_batch())


@pytest.mark.parametrize("factor", [0, 2])
def test_a_wrong_rule_for_what_sheets_cost_is_found(
    monkeypatch: pytest.MonkeyPatch, factor: int
) -> None:
    """A packer that weighs sheets in another way proves other bounds."""
    right = nesting.sheets.supplies

    def wrong(paper: Paper, pieces: int) -> tuple[Supply, ...]:
        dearer = [replace(s, cost=s.cost * factor + 1 - factor // 2) for s in right(paper, pieces)]
        return tuple(dearer)

    replace_everywhere(monkeypatch, "supplies", wrong)
    assert {"bound", "proven"} & rules_of_new_plan(stash_batch())


def test_a_wrong_rule_for_where_measures_start_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ruler settings counted from another corner are other settings."""
    replace_everywhere(monkeypatch, "starting_edges", lambda *_, **__: ("right", "bottom"))
    batch = stash_batch()
    narrow = replace(batch, trimmer=replace(batch.trimmer, repeat="descending marks"))
    assert "figures" in rules_of_new_plan(narrow)
