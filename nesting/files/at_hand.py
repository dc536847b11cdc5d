"""What a batch file leaves to the stash: ``have: stash`` on a sheet, or all of a paper."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, get_args

from nesting.batch import Fault, KeyPath
from nesting.files.batch_shape import if_list, if_mapping, is_offcut, unit_of
from nesting.files.yaml_source import FileText
from nesting.nearest import listed
from nesting.papers import EDGES, Edges, Face, Paper, Print, Sheet
from nesting.plan import Plan
from nesting.prices import format_price
from nesting.sheets import turned
from nesting.typed_lengths import LengthError, exact_length, exact_size, parse_size
from nesting.units import Unit, or_plenty

#: The paper of a name with all that is at hand of it; None where there is none.
AtHand = Callable[[str], Paper | None]

#: What stands in a batch file for what the stash has.
STASH = "stash"


def as_planned(plan: Plan) -> AtHand:
    """What was at hand when a plan was made, before what was cut by earlier ones was taken off."""
    begun = plan.asked.begun
    papers = plan.asked.papers if begun is None else begun.papers
    return {paper.name: paper for paper in papers}.get


def fill_from_stash(source: FileText, at_hand: AtHand | None) -> None:
    """Write what the stash has in place of the word, as a user would; what it lacks is a fault."""
    data = if_mapping(source.data)
    papers = data.get("papers")
    if not isinstance(papers, dict):
        return
    unit, filled = unit_of(data) or "in", dict(papers)
    for name, keys in papers.items():
        places = list(_places(keys))
        there = at_hand(name) if places and at_hand is not None else None
        for place, size in places:
            expected = "a paper of the stash; this one is not in it"
            if at_hand is None:
                expected = "the number of sheets at hand: no stash was given"
            elif there is not None:
                expected = _other_size(there, size, unit)
            if expected:
                read = f"{place[-1] if place else name}: {STASH}"
                path = ("papers", name, *place)
                source.faults.append(Fault(path, read, expected))
                source.silenced.add(path)
                there = None
        if there is not None:
            filled[name] = _filled(keys, there, unit)
    source.data = {**data, "papers": filled}


def _places(keys: object) -> Iterator[tuple[KeyPath, object]]:
    """Where a paper leaves something to the stash, and the size of whole sheets that is said there."""
    if _is_word(keys):
        yield (), None
    if not isinstance(keys, dict):
        return
    if _is_word(keys.get("have")):
        yield ("have",), keys.get("sheet", "")
    for number, sheet in enumerate(if_list(keys.get("sheets"))):
        if isinstance(sheet, dict) and not is_offcut(sheet) and _is_word(sheet.get("have")):
            yield ("sheets", number, "have"), sheet.get("size", "")


def _is_word(value: object) -> bool:
    return isinstance(value, str) and value.strip().lower() == STASH


def _other_size(there: Paper, size: object, unit: Unit) -> str:
    """What to expect where the stash has no whole sheets of a size; nothing where it has."""
    sizes = {
        (s.width, s.height): exact_size(s.width, s.height) for s in there.sheets if not s.offcut
    }
    if size is None and sizes:
        return ""
    if not sizes:
        return f"a paper that the stash has sheets of; it has none of {there.name}"
    try:
        known = parse_size(str(size), unit) in sizes
    except LengthError:  # a fault of its own
        known = True
    return "" if known else f"a size that the stash has: {listed(sizes.values())}"


def _filled(keys: Any, there: Paper, unit: Unit) -> dict[str, Any]:
    """A paper's keys with numbers of whole sheets said, and the offcuts of the stash beside them."""
    if not isinstance(keys, dict):
        return _paper_keys(there) | {"sheets": [_sheet_keys(sheet) for sheet in there.sheets]}
    described = Paper("", (), front=_face(keys.get("front")), back=_face(keys.get("back")))
    rest = {key: value for key, value in keys.items() if key not in ("sheet", "have", "price")}
    whole = if_list(keys.get("sheets"))
    if _is_word(keys.get("have")):
        own = {key: keys[key] for key in ("have", "price") if key in keys}
        whole = [{"size": keys.get("sheet", ""), **own}, *whole]
    known = [_counted(sheet, there, unit) for sheet in whole]
    offcuts = [
        _sheet_keys(_as_described(one, there, described)) for one in there.sheets if one.offcut
    ]
    return rest | {"sheets": known + offcuts}


def _counted(keys: Any, there: Paper, unit: Unit) -> Any:
    """A size of whole sheets with its number, and its price where none is written."""
    if not isinstance(keys, dict) or not _is_word(keys.get("have")):
        return keys
    try:
        size = parse_size(str(keys.get("size")), unit)
    except LengthError:
        return keys | {"have": "0"}
    for sheet in there.sheets:
        if (sheet.width, sheet.height) == size and not sheet.offcut:
            return _sheet_keys(sheet) | keys | {"have": or_plenty(sheet.have)}
    return keys


def _as_described(sheet: Sheet, there: Paper, described: Paper) -> Sheet:
    """An offcut turned from how the stash has its paper lie to how the batch has it."""
    turn = (there.top, described.top)
    width, height, strip = turned(sheet.width, sheet.height, sheet.strip or "none", *turn)
    return replace(sheet, width=width, height=height, strip=None if strip == "none" else strip)


def _face(value: Any) -> Face:
    """A face as written; what does not read is a fault of its own."""
    keys = value if isinstance(value, dict) else {"print": value}
    print_, up = (str(keys.get(key)).strip().lower() for key in ("print", "up"))
    prints: tuple[Print, ...] = get_args(Print)
    return Face(
        next((one for one in prints if one == print_), "plain"),
        next((one for one in EDGES if one == up), "top"),
    )


def _sheet_keys(sheet: Sheet) -> dict[str, Any]:
    keys = {"size": exact_size(sheet.width, sheet.height), "have": or_plenty(sheet.have)}
    if sheet.price is not None:
        keys["price"] = format_price(sheet.price)
    if sheet.offcut:
        keys["offcut"] = "true"
    if sheet.strip is not None:
        keys["strip"] = sheet.strip
    if sheet.name is not None:
        keys["name"] = sheet.name
    return keys


def _paper_keys(paper: Paper) -> dict[str, Any]:
    keys: dict[str, Any] = {"buy": "true" if paper.buy else "false"}
    keys |= {
        name: {"print": face.print, "up": face.up}
        for name, face in (("front", paper.front), ("back", paper.back))
    }
    if paper.grain is not None:
        keys["grain"] = paper.grain
    strip = paper.barcode_strip
    if strip is not None:
        keys["barcode strip"] = {
            "edge": strip.edge,
            "width": exact_length(strip.width),
            "beyond the sheet": "true" if strip.beyond_the_sheet else "false",
            "back usable": "true" if strip.back_usable else "false",
        }
    if paper.edge_trim != Edges():
        keys["edge trim"] = {edge: exact_length(getattr(paper.edge_trim, edge)) for edge in EDGES}
    return keys
