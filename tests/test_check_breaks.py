"""Valid plans are broken in every way, and each break must be named."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
from check_cases import SOLVED, rules, solved, with_tree
from plans import (
    harvest_batch,
    harvest_plan,
    inches,
    short_batch,
    short_plan,
    stopped_batch,
    stopped_plan,
)

from nesting.batch import Batch
from nesting.checker import check
from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Offcut, Pinwheel, Strip
from nesting.plan import Plan

#: What each field of a plan is guarded by: a pattern of its path, and the rules that may name it.
#: None: the field says nothing that the batch or the rest of the plan could contradict.
GUARDS: list[tuple[str, set[str] | None]] = [
    (r"tool|seed|notes.*", None),
    (r"warnings.*", {"warnings"}),
    (r"asked\.prefer", None),  # what to prefer is no rule
    (r"ended", {"ended"}),
    (r"asked.*", {"asked"}),
    (r"pieces\.\d+\.(name|letter)", {"piece"}),
    (r"pieces\.\d+\.id", {"blank"}),
    (r"pieces.*", {"piece"}),
    (r"layouts", {"demand"}),
    (r"layouts\.\d+\.id", {"layout"}),
    (r"layouts\.\d+\.paper", {"source", "blank"}),
    (r"layouts\.\d+\.source\.kind", {"source"}),
    (r"layouts\.\d+\.source\.name", {"source"}),
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
    (r"whole_cards|whole_cards\.\d+\.(by|cuts|values.*|held.*)", None),
    (r"whole_cards.*", {"whole cards"}),
    (r"papers", {"figures"}),
    (r"papers\.\d+\.needed", {"figures", "proven", "uncut", "bound"}),
    (r"papers\.\d+\.(paper|have|used|to_buy|strokes|ruler_settings)", {"figures"}),
    (r"papers\.\d+\.short", None),  # a plan with pieces uncut may be short of their paper
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
    "way": ("clockwise", "anticlockwise"),
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
        case Pinwheel():
            yield from (value.bottom, value.centre, *LEAVES)
            yield replace(value, bottom=value.left, left=value.bottom)
            yield replace(value, x=value.x[::-1])
            yield replace(value, y=(value.y[0], value.y[0]))
            yield replace(value, centre=value.bottom, bottom=value.centre)
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
            case Pinwheel(way=way, x=x, y=y):
                seen.append(f"{way} {x} {y} {placed.width} {placed.height}")
            case Blank(circles=()) | Offcut():
                seen.append(f"{placed.node} {placed.width} {placed.height}")
            case _:
                seen.append(str(placed))
    return sorted(seen)


def check_every_break(batch: Batch, plan: Plan) -> int:
    """Break a plan in every way; each break must be named. Returns the number of breaks."""
    count = 0
    pictures = [picture(one) for one in plan.layouts]
    for path, other in broken("", plan):
        if other == plan or (".bound." in path and not re.search(r"bound\.(value|of)$", path)):
            continue
        if path.endswith(".turned") and _is_square(plan, path):
            continue
        expected = guard(path)
        if expected is None:
            continue
        in_a_tree = path.startswith("layouts") and "tree" in path
        if in_a_tree and [picture(one) for one in other.layouts] == pictures:
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


def test_every_break_of_a_plan_with_stopped_cuts_is_named() -> None:
    """Whatever is changed in a pinwheel, its lines, its way round or its arms: the check says so."""
    assert check(stopped_batch(), stopped_plan()) == ()
    assert check_every_break(stopped_batch(), stopped_plan()) > 100


def test_stopped_cuts_need_a_trimmer_that_stops() -> None:
    """A trimmer that cannot stop makes no such cut; a knife does, whether the batch says so or not."""
    for kind, expected in (("sliding", {"stopped cut"}), ("knife", set())):
        batch = stopped_batch()
        batch = replace(batch, trimmer=replace(batch.trimmer, kind=kind, can_stop=False))
        assert rules(batch, replace(stopped_plan(), asked=batch)) == expected


@pytest.mark.parametrize(
    ("x", "y"), [((5, 8), (5, 7)), ((5, 7), (4, 7)), ((4, 7), (5, 7)), ((5, 7), (5, 8))]
)
def test_a_stopped_cut_longer_than_the_longest_is_named(
    x: tuple[int, int], y: tuple[int, int]
) -> None:
    """Of each pinwheel another arm, 8 in long, has the longest cut."""
    batch, plan = stopped_batch(), stopped_plan()
    lines = {axis: tuple(inches(str(at)) for at in both) for axis, both in (("x", x), ("y", y))}
    plan = with_tree(plan, 0, replace(plan.layouts[0].tree, **lines))  # type: ignore[type-var]
    for longest, named in (("8", False), ("7 15/16", True)):
        trimmer = replace(batch.trimmer, longest_cut=inches(longest))
        limited = replace(batch, trimmer=trimmer)
        assert ("longest cut" in rules(limited, replace(plan, asked=limited))) == named


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
