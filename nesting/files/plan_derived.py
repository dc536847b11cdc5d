"""What a plan on disk says twice: lists that follow from its trees, for readers that do not walk a tree."""

from collections.abc import Iterator
from typing import Any

from nesting.files.json_data import described, to_data
from nesting.layouts import Blank, Layout, Offcut, Placed
from nesting.pieces import Piece
from nesting.plan import Plan


def diameter_of(piece: Piece) -> int | None:
    """The diameter of a circle, in nm; None for a rectangle."""
    return piece.width if piece.shape == "circle" else None


def derived_lists(layout: Layout) -> dict[str, list[dict[str, Any]]]:
    """The blanks and offcuts of a layout with their places."""
    return {
        "blanks": [_placed_data(blank) for blank in layout.blanks],
        "offcuts": [_placed_data(offcut) for offcut in layout.offcuts],
    }


def _placed_data(placed: Placed) -> dict[str, Any]:
    place = {"x": placed.x, "y": placed.y, "width": placed.width, "height": placed.height}
    match placed.node:
        case Blank(piece, turned, circles):
            centres = {"circles": to_data(circles)} if circles else {}
            return {"piece": piece, **place, "turned": turned, **centres}
        case Offcut(keep):
            return place | {"keep": keep}
        case _:
            return place


def find_derived_faults(data: dict[str, Any], plan: Plan) -> Iterator[str]:
    """Name what the file says twice and not alike; the trees and what was asked are believed."""
    for key, asked in (("batch", plan.asked.name), ("unit", plan.asked.unit)):
        if data.get(key) != asked:
            yield f"{key}: {described(data.get(key))}; what was asked says {asked!r}"
    for written, piece in zip(data["pieces"], plan.pieces, strict=True):
        diameter = diameter_of(piece)
        if written.get("diameter") != diameter:
            read = described(written.get("diameter"))
            yield f"piece {piece.letter}: diameter {read}; its size says {described(diameter)}"
    for written, layout in zip(data["layouts"], plan.layouts, strict=True):
        for key, wanted in derived_lists(layout).items():
            yield from _find_list_faults(f"layout {layout.id}", key, written.get(key), wanted)


def _find_list_faults(
    layout: str, key: str, found: object, wanted: list[dict[str, Any]]
) -> Iterator[str]:
    """Compare a list in the file with the one from the tree, whatever their order."""
    if not isinstance(found, list):
        yield f"{layout}: {described(found)} for {key}; expected a list"
        return
    left = dict(enumerate(found))
    for entry in wanted:
        match = next((number for number, one in left.items() if _says(one, entry)), None)
        if match is None:
            yield f"{layout}: {key} lack {_entry_words(entry)}, which the tree has"
        else:
            del left[match]
    for number, entry in left.items():
        yield f"{layout}: {key}[{number}], {_entry_words(entry)}, is not in the tree"


def _says(entry: object, wanted: dict[str, Any]) -> bool:
    """Whether an entry of the file says what is wanted; 1 is not 1.0 and not true."""
    if not isinstance(entry, dict) or (entry.get("circles") or []) != wanted.get("circles", []):
        return False
    return all(
        type(entry.get(key)) is type(value) and entry[key] == value
        for key, value in wanted.items()
        if key != "circles"
    )


def _entry_words(entry: object) -> str:
    """An entry in short: what it is and its rectangle."""
    if not isinstance(entry, dict):
        return described(entry)
    x, y, width, height = (described(entry.get(key)) for key in ("x", "y", "width", "height"))
    name = f"{described(entry['piece'])} " if "piece" in entry else ""
    return f"{name}{width} x {height} nm at {x}, {y}"
