"""What a new card and a new layer start from: usual sizes, each there to be changed."""

from typing import Any, Literal, get_args

from nesting.page.folder.draft import Draft
from nesting.page.steps.card_sizes import laid_down
from nesting.units import Unit

LayerKind = Literal["mat", "band", "wrapped band", "circle", "tag", "inside", "behind"]

#: What each kind is called on its button.
LAYER_KINDS: dict[LayerKind, str] = {
    "mat": "a layer that leaves an edge all round",
    "band": "a band across",
    "wrapped band": "a band folded behind at both ends",
    "circle": "a circle",
    "tag": "a tag",
    "inside": "a layer inside",
    "behind": "a layer on the back",
}
_REVEAL: dict[Unit, str] = {"in": "1/8", "mm": "3", "cm": "0.3"}
_BAND: dict[Unit, str] = {"in": "1", "mm": "25", "cm": "2.5"}
_WRAP: dict[Unit, str] = {"in": "1/2", "mm": "12", "cm": "1.2"}
_CIRCLE: dict[Unit, str] = {"in": "2", "mm": "50", "cm": "5"}
_TAG: dict[Unit, tuple[str, str]] = {"in": ("2", "1"), "mm": ("50", "25"), "cm": ("5", "2.5")}
_NAMES: dict[LayerKind, tuple[str, ...]] = {
    "mat": ("mat", "panel", "layer"), "wrapped band": ("band",), "inside": ("inside",),
    "behind": ("back",), "band": ("band",), "circle": ("circle",), "tag": ("tag",),
}  # fmt: skip


def new_card(draft: Draft, size: str, *, lying: bool) -> dict[str, Any]:
    """A card of that size, upright or lying, with a base of plain paper where there is one."""
    fold = "top" if lying else "left"
    card: dict[str, Any] = {"make": "8", "size": laid_down(size) if lying else size}
    plain = [name for name in draft.keys("/papers") if not draft.printed_faces(name)]
    if plain:
        card["base"] = {"paper": plain[0], "fold": fold}
    return card


def new_layer(draft: Draft, layers: str, kind: str) -> dict[str, Any]:
    """A layer of that kind for the list of layers at a pointer.

    Raises
    ------
    LookupError
        There is no such kind, or no paper yet.
    """
    if kind not in get_args(LayerKind):
        raise LookupError(kind)
    there: list[Any] = draft.value(layers) or []
    others = [layer for layer in there if isinstance(layer, dict)]
    name = _free_name(_NAMES[kind], {str(layer.get("name")) for layer in others})  # type: ignore[index]
    side = {"inside": "inside", "behind": "behind"}.get(kind, "outside")
    below = [one for one in others if one.get("where", "outside") == side]
    under = (
        below[-1].get("paper")
        if below
        else draft.value(layers.removesuffix("layers") + "base/paper")
    )
    printed = bool(below) and not draft.printed_faces(under)
    layer = {"name": name} | _paper_for(draft, under, printed=printed) | _size_of(kind, draft.unit)
    large = [str(one["name"]) for one in below if "reveal" in one and "name" in one]
    if (
        kind in ("band", "wrapped band", "circle", "tag")
        and large
        and below[-1].get("name") != large[-1]
    ):
        layer["over"] = large[-1]
    return layer if side == "outside" else layer | {"where": side}


def new_piece(draft: Draft) -> dict[str, str]:
    """A loose piece, with the next name.

    Raises
    ------
    LookupError
        There is no paper yet.
    """
    there = [one for one in draft.value("/pieces") or [] if isinstance(one, dict)]
    name = _free_name(("tag",), {str(one.get("name")) for one in there})
    size = " x ".join(_TAG[draft.unit])
    return {"name": name, "size": size} | _paper_for(draft, None, printed=False) | {"count": "8"}


def next_option(draft: Draft, options: str) -> str:
    """One more paper to choose, its face behind it where both are printed.

    Raises
    ------
    LookupError
        There is no paper that is not among the options at the pointer.
    """
    layer = options.removesuffix("/paper/one of")
    paper, face = draft.value(f"{layer}/paper"), draft.value(f"{layer}/face")
    present = draft.value(options) or [paper, f"{paper}/{face}"]
    others = [text for text in paper_texts(draft) if text not in present]
    if not others:
        raise LookupError(options)
    return others[0]


def paper_texts(draft: Draft) -> list[str]:
    """Every face that can be chosen, as a choice is written."""
    return [
        text
        for name in draft.keys("/papers")
        for text in (
            [f"{name}/front", f"{name}/back"] if len(draft.printed_faces(name)) > 1 else [name]
        )
    ]


def _size_of(kind: str, unit: Unit) -> dict[str, str]:
    """How large a layer of a kind is at first, and what is left round it for a die."""
    match kind:
        case "band":
            return {"height": _BAND[unit]}
        case "wrapped band":
            return {"height": _BAND[unit], "wrap": _WRAP[unit]}
        case "circle":
            return {"circle": _CIRCLE[unit], "die allowance": _REVEAL[unit]}
        case "tag":
            width, height = _TAG[unit]
            return {"width": width, "height": height, "die allowance": _REVEAL[unit]}
        case _:
            return {"reveal": _REVEAL[unit]}


def _paper_for(draft: Draft, under: object, *, printed: bool) -> dict[str, str]:
    """A paper that can be told from the one underneath, and its face where both are printed."""
    names = draft.keys("/papers")
    if not names:
        raise LookupError("/papers")
    others = [name for name in names if name != under] or names
    alike = (name for name in others if bool(draft.printed_faces(name)) == printed)
    paper = next(alike, others[0])
    both = len(draft.printed_faces(paper)) > 1
    return {"paper": paper} | ({"face": "front"} if both else {})


def _free_name(names: tuple[str, ...], taken: set[str]) -> str:
    """The first of some names that is not taken, or the last with a number."""
    free = next((name for name in names if name not in taken), None)
    if free is not None:
        return free
    numbered = (f"{names[-1]} {number}" for number in range(2, len(taken) + 3))
    return next(name for name in numbered if name not in taken)
