"""The sound part of a faulty batch file: what it asks is looked at as well, and no fault is told twice."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from nesting.batch import ENVELOPE, ON_CARD, Batch, Fault, KeyPath
from nesting.cards.filling import fill_in
from nesting.cards.resolving import find_order_faults
from nesting.files.batch_build import build_batch, in_file, resolve_in_file
from nesting.files.batch_models import BatchKeys
from nesting.files.batch_shape import if_list, if_mapping, read_keys, unit_of
from nesting.files.faults import nearest_key
from nesting.nearest import Nearest

#: In place of a paper that cannot be read: anything has room on its sheets.
_STAND_IN = {"sheet": "99999 mm x 99999 mm"}
_FACING = ("paper", "face")
#: What says how large a layer is.
_SIZED = frozenset({"reveal", "size", "width", "height", "circle"})


def find_faults_beside(data: object, shape: list[Fault]) -> tuple[Batch | None, list[Fault]]:
    """Read what has no fault of its shape, and find what else is wrong with the file.

    Returns
    -------
    tuple
        The batch of what is sound, its defaults filled in, None where nothing can be read; and the
        faults of its sense.
    """
    faulty: dict[KeyPath, set[KeyPath]] = defaultdict(set)  # by section and name, what is below
    for fault in shape:
        faulty[fault.path[:2]].add(fault.path[2:])
    if not isinstance(data, dict):
        return None, []
    lost = {str(path[1]) for path in faulty if path[:1] == ("papers",) and len(path) > 1}
    keys = _read(_sound_part(data, faulty))
    if keys is None:
        return None, _names_beside(data, faulty, lost, lambda _: True)
    kept = [n for n, _ in enumerate(if_list(data.get("pieces"))) if ("pieces", n) not in faulty]
    batch = build_batch(keys, kept)
    filled, sense = resolve_in_file(replace(batch, first=()), kept)
    faults = [
        *find_order_faults(batch.first, if_mapping(data.get("cards"))),
        *sense,
        *_names_beside(data, faulty, lost, faulty.__contains__),
    ]
    unread = [("papers", name) for name in lost]
    filled = replace(filled, first=batch.first)
    return filled, [fault for fault in faults if fault.path[:2] not in unread]


def read_standing_card(
    data: dict[str, Any], name: str, faults: Iterable[Fault]
) -> tuple[Batch, dict[str, int]] | None:
    """Read what of a card stands although other parts of it, or of the file, are faulty.

    A layer that has a fault of its own is left out, and what lies on it; where only its paper is
    not known, it has some other. ``data`` is what the file says, ``faults`` all of its faults.

    Returns
    -------
    tuple or None
        A batch of this card alone, its defaults filled in, with all papers; and the number in the
        file of each of its layers, by name. None where there is no card to speak of.
    """
    own = [fault.path[2:] for fault in faults if fault.path[:2] == ("cards", name)]
    papers = [fault for fault in faults if fault.path[:1] == ("papers",) and len(fault.path) > 1]
    card = if_mapping(if_mapping(data.get("cards")).get(name))
    some = next(iter(if_mapping(data.get("papers"))), "")
    layers = dict(_standing_layers(if_list(card.get("layers")), own, some))
    sound: dict[str, Any] = {"make": "1", "size": card.get("size"), "layers": [*layers.values()]}
    if "paper" in if_mapping(card.get("base")) and not any(
        path[:1] == ("base",) != path for path in own
    ):
        sound["base"] = card["base"]
    if "envelope" in card and not any(path[:1] == ("envelope",) for path in own):
        sound["envelope"] = card["envelope"]
    of_papers = {
        "unit": data.get("unit"),
        "papers": data.get("papers"),
        "trimmer": data.get("trimmer"),
    }
    faulty = [path for path in own if path[:1] in ((), ("size",))]
    if faulty or unit_of(data) is None or not some:
        return None
    trimmer = any(fault.path[:1] == ("trimmer",) for fault in faults)
    if trimmer or of_papers["trimmer"] is None:
        del of_papers["trimmer"]
    batch, _ = find_faults_beside({**of_papers, "cards": {name: sound}}, papers)
    if batch is None or not batch.cards:
        return None
    return batch, {str(layer["name"]): number for number, layer in layers.items()}


def _standing_layers(
    layers: list[Any], faults: list[KeyPath], some: str
) -> Iterator[tuple[int, dict[str, Any]]]:
    """The layers free of faults and not on one that has any, by their numbers, their names filled in."""
    before: dict[str, str] = {}
    names: set[str] = {ON_CARD}
    for number, layer in enumerate(layers):
        keys = {str(path[2]) for path in faults if path[:2] == ("layers", number) and len(path) > 2}
        if not isinstance(layer, dict):
            continue
        here = str(layer.get("where", "outside"))
        name = str(layer.get("name") or f"layer {number + 1}")
        ground = ENVELOPE if here == "envelope" else ON_CARD
        is_belt = str(layer.get("belt", "no")).lower() not in ("no", "false")
        usual = ground if is_belt else before.get(here, ground)
        over = str(layer.get("over") or usual)
        before[here] = name
        if over not in {*names, ground} and _stands_alone(layer):
            over = ground
        # One that no sheet is large enough for has a size, and is drawn.
        whole = ("layers", number) not in faults or bool(_SIZED & layer.keys())
        if whole and keys <= {*_FACING} and over in {*names, ground} and name not in names:
            names.add(name)
            facing = {"paper": some, "face": "front"} if keys else {}
            yield number, {**layer, **facing, "name": name, "over": over}


def _stands_alone(layer: dict[str, Any]) -> bool:
    """Whether a layer lies as it does whatever is underneath: its size and place are its own."""
    at = if_mapping(layer.get("at"))
    placed = "centre" in at or bool({"left", "right"} & at.keys() and {"top", "bottom"} & at.keys())
    return placed and bool({"circle", "size"} & layer.keys() or {"width", "height"} <= layer.keys())


def _read(data: dict[str, object]) -> BatchKeys | None:
    unit = unit_of(data)
    try:
        return read_keys(BatchKeys, data, unit) if unit is not None else None
    except ValidationError:
        return None


def _sound_part(data: dict[str, Any], faulty: dict[KeyPath, set[KeyPath]]) -> dict[str, object]:
    """The file without its faulty pieces and keys, stand-ins for papers, cards up to a first fault."""
    sections = {path[0] for path in faulty if path}
    sound: dict[str, object] = {}
    for section, value in data.items():
        if (section,) in faulty:
            continue
        match section, value:
            case "papers", dict():
                sound[section] = {
                    k: _STAND_IN if (section, k) in faulty else v for k, v in value.items()
                }
            case "cards", dict():
                cards = {k: _sound_card(v, faulty.get((section, k))) for k, v in value.items()}
                sound[section] = {k: card for k, card in cards.items() if card is not None}
            case "pieces", list():
                sound[section] = [one for n, one in enumerate(value) if (section, n) not in faulty]
            case _ if section not in sections:
                sound[section] = value
    return {"batch": "nameless", **sound}


def _sound_card(card: Any, faults: set[KeyPath] | None) -> Any:
    """A card without its base, if that is faulty, and without its layers from the first faulty one."""
    if faults is None:
        return card
    if any(place[:1] not in (("base",), ("layers",)) or place == ("layers",) for place in faults):
        return None
    first = min((int(place[1]) for place in faults if place[0] == "layers"), default=None)
    sound = {**card, "layers": if_list(card.get("layers"))[:first]}
    if any(place[0] == "base" for place in faults):
        del sound["base"]
    return sound


def _names_beside(
    data: dict[str, Any],
    faulty: dict[KeyPath, set[KeyPath]],
    lost: set[str],
    wanted: Callable[[KeyPath], bool],
) -> list[Fault]:
    """Find unknown papers and missing faces in the cards and pieces that are wanted."""
    papers = {
        name: _STAND_IN if name in lost else paper
        for name, paper in if_mapping(data.get("papers")).items()
    }
    some = next(iter(papers), "")
    cards = {
        name: {
            "make": "1",
            "size": "1 x 1",
            "base": _facing(card.get("base"), faulty[("cards", name)], ("base",), some),
            "layers": [
                _facing(layer, faulty[("cards", name)], ("layers", number), some) | {"circle": "1"}
                for number, layer in enumerate(if_list(card.get("layers")))
            ],
        }
        for name, card in if_mapping(data.get("cards")).items()
        if isinstance(card, dict) and wanted(("cards", name))
    }
    numbers = [n for n, _ in enumerate(if_list(data.get("pieces"))) if wanted(("pieces", n))]
    if not cards and not numbers:
        return []
    pieces = [
        _facing(data["pieces"][n], faulty[("pieces", n)], (), some) | {"circle": "1", "count": "1"}
        for n in numbers
    ]
    read = _read({"batch": "b", "unit": "in", "papers": papers, "cards": cards, "pieces": pieces})
    if read is None:
        return []
    return in_file(fill_in(build_batch(read, numbers), Nearest())[1], numbers)


def _facing(one: Any, faults: set[KeyPath], place: KeyPath, some: str) -> dict[str, object]:
    """The paper and face alone of a layer, base or piece, under whatever key was meant.

    Where they have a fault of their own, it is some paper that has none.
    """
    own = {str(fault[len(place)]) for fault in faults if fault[: len(place)] == place != fault}
    facing: dict[str, object] = {}
    nearest = Nearest()
    for key, value in one.items() if isinstance(one, dict) else ():
        meant = nearest_key(key, _FACING, nearest) if key in own - {*_FACING} else key
        if meant in _FACING:
            facing.setdefault(meant, value)
    if "paper" not in facing or own & {*_FACING} or place in faults:
        return {"paper": some, "face": "front"}
    return facing
