"""Cut trees to JSON data and back, with stacks of their own in place of recursion."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from nesting.files.faults import InputError, said
from nesting.files.json_data import as_mapping, described, from_data, to_data
from nesting.layouts import Blank, Cut, EdgeTrim, Node, Offcut, Pinwheel, Strip
from nesting.papers import Axis

#: JSON readers, ours among them, give up on deeper nesting; no sheet has so many rows.
MOST_NESTED = 500

#: What divides a rectangle, with the keys of what it makes.
_DIVIDING = {"cut": ("low", "high"), "pinwheel": ("bottom", "left", "top", "right", "centre")}
_KINDS = (*_DIVIDING, "piece", "offcut", "strip", "edge")


def nested_too_deeply(place: str) -> InputError:
    """The error of a tree that the format has no room for."""
    expected = f"at most {MOST_NESTED} cuts, each inside the one before"
    return InputError(said(place, "cuts nested too deeply", expected))


def tree_data(tree: Node, place: str) -> dict[str, Any]:
    """Write a cut tree as JSON data.

    Raises
    ------
    InputError
        More than ``MOST_NESTED`` cuts are nested in one another.
    """
    root: dict[str, Any] = {}
    todo = [(tree, root, 0)]
    while todo:
        node, out, depth = todo.pop()
        if not isinstance(node, Cut | Pinwheel):
            out.update(_leaf_data(node))
            continue
        if depth == MOST_NESTED:
            raise nested_too_deeply(place)
        if isinstance(node, Cut):
            out.update(cut=node.axis, at=node.at)
        else:
            out.update(pinwheel=node.way, x=list(node.x), y=list(node.y))
        for key in _DIVIDING["cut" if isinstance(node, Cut) else "pinwheel"]:
            out[key] = {}
            todo.append((getattr(node, key), out[key], depth + 1))
    return root


def read_tree(data: object, place: str) -> Node:
    """Read a cut tree from JSON data.

    Raises
    ------
    InputError
        A node is none of those that the format knows, or cuts are nested too deeply.
    """
    order: list[Node | _Line | _Lines] = []  # a cut's line before its sides, in their order
    todo = [(data, place, 0)]
    while todo:
        one, here, depth = todo.pop()
        node = as_mapping(one, here)
        kinds = [kind for kind in _KINDS if kind in node]
        if len(kinds) != 1:
            read = " and ".join(map(repr, kinds)) or "a node of no known kind"
            expected = f"one of {', '.join(_KINDS[:-1])} or {_KINDS[-1]}"
            raise InputError(said(here, read, expected))
        if kinds[0] not in _DIVIDING:
            order.append(_read_leaf(kinds[0], node, here))
            continue
        if depth == MOST_NESTED:
            raise nested_too_deeply(place)
        line: _Line | _Lines = (
            from_data(_Line, node, here) if kinds == ["cut"] else from_data(_Lines, node, here)
        )
        order.append(line)
        sides = reversed(_DIVIDING[kinds[0]])
        todo += [(node.get(side), f"{here}.{side}", depth + 1) for side in sides]
    return _joined(order)


@dataclass(frozen=True, slots=True)
class _Line:
    """A cut without its sides."""

    cut: Axis
    at: int


@dataclass(frozen=True, slots=True)
class _Lines:
    """A pinwheel without its arms and its centre."""

    pinwheel: Literal["clockwise", "anticlockwise"]
    x: tuple[int, int]
    y: tuple[int, int]


def _joined(order: list[Node | _Line | _Lines]) -> Node:
    """The tree of nodes in the order of a walk: from the end, both sides come before their cut."""
    built: list[Node] = []
    for node in reversed(order):
        if isinstance(node, _Line):
            low, high = built.pop(), built.pop()
            built.append(Cut(node.cut, node.at, low, high))
        elif isinstance(node, _Lines):
            bottom, left, top, right, centre = (built.pop() for _ in _DIVIDING["pinwheel"])
            built.append(Pinwheel(node.pinwheel, node.x, node.y, bottom, left, top, right, centre))
        else:
            built.append(node)
    return built[0]


def _leaf_data(leaf: Blank | Offcut | Strip | EdgeTrim) -> dict[str, Any]:
    match leaf:
        case Blank():
            data = to_data(leaf)
            return data if leaf.circles else {"piece": leaf.piece, "turned": leaf.turned}
        case Offcut(keep):
            return {"offcut": "keep" if keep else "bin"}
        case Strip():
            return {"strip": True}
        case EdgeTrim():
            return {"edge": True}


def _read_leaf(kind: str, node: Mapping[str, object], place: str) -> Node:
    if kind == "piece":
        return from_data(Blank, {"circles": [], **node}, place)
    value = node[kind]
    if kind == "offcut" and value in ("keep", "bin"):
        return Offcut(keep=value == "keep")
    if kind == "offcut" or value is not True:
        expected = "keep or bin" if kind == "offcut" else "true"
        raise InputError(said(f"{place}.{kind}", described(value), expected))
    return Strip() if kind == "strip" else EdgeTrim()
