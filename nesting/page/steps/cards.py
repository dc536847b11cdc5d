"""Step 3: my cards."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from nesting.batch import ENVELOPE, ON_CARD, Base, Batch, Card, Where
from nesting.cards.placing import PlacedLayer, place
from nesting.nearest import Nearest
from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.pictures.card_svg import SIDES, card_picture, layer_size
from nesting.page.pictures.prints import Looks
from nesting.page.steps.card_sizes import named_sizes
from nesting.page.steps.layer_kinds import LAYER_KINDS, paper_texts
from nesting.page.steps.moving import moves_of
from nesting.page.steps.showing import Showing
from nesting.units import counted

FOLDS = {"left": "on the left", "top": "at the top", "none": "not at all"}
TURN_WORDS = {
    "": "as its print needs", "never": "stands", "must": "lies on its side", "may": "either way",
}  # fmt: skip
MIDDLE_WORDS = {"": "as for the whole batch", "save": "may be cut out and used", "keep": "stays in"}
JOIN_WORDS = {
    "never": "in one piece",
    "may": "in one piece, or as two ends where that saves a sheet",
    "must": "as two ends",
}
#: The ways to say how large a layer is.
_SIZES = ("reveal", "size", "width", "height", "circle")
#: What is seldom needed of a layer: folded away, unless something is wrong with it.
_RARE = ("over", "where", "angle", "belt", "turn", "middle", "join", "each", "at")


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows: all cards by name, and one of them whole."""
    draft = showing.draft
    names = draft.keys("/cards")
    shown = showing.card if showing.card in names else next(iter(names), "")
    return {
        "names": [(name, _line(draft, name), pointer_of(("cards", name))) for name in names],
        "shown": shown,
        "card": _card(showing, shown) if shown else None,
        "papers": draft.keys("/papers"),
        "texts": paper_texts(draft),
        "pieces": _pieces(draft),
        "sizes": list(named_sizes(draft.unit)),
        "kinds": LAYER_KINDS,
        "folds": FOLDS,
        "turns": TURN_WORDS,
        "middles": MIDDLE_WORDS,
        "joins": JOIN_WORDS,
        "answer": _answer(names),
        "done": bool(names) and not draft.has_fault("/cards", "/pieces"),
    }


def card_shown(before: Draft, after: Draft, wanted: str) -> str:
    """The card to show after a change: one that is new, or else the one that was shown."""
    there = before.keys("/cards")
    new = [name for name in after.keys("/cards") if name not in there]
    return new[-1] if new else wanted


def _answer(names: list[str]) -> str:
    if len(names) > 3:
        return f"{', '.join(names[:2])} and {len(names) - 2} more"
    return ", ".join(names) or "none yet"


def _line(draft: Draft, name: str) -> str:
    """A card in a few words."""
    size = draft.value(pointer_of(("cards", name, "size")))
    layers = counted(len(draft.keys(pointer_of(("cards", name, "layers")))), "layer")
    return f"{size if isinstance(size, str) else 'no size'}, {layers}"


def _card(showing: Showing, name: str) -> dict[str, Any]:
    """What is shown of the card that is worked on."""
    draft = showing.draft
    here = pointer_of(("cards", name))
    batch, numbers = draft.file.standing_card(name) or (None, {})
    placed = place(batch.cards[0], Nearest())[0] if batch is not None else {}
    in_place = {numbers[name]: one for name, one in placed.items() if name in numbers}
    base, envelope = draft.value(f"{here}/base/paper"), f"{here}/envelope"
    return {
        "name": name,
        "at": here,
        "pictures": list(_pictures(showing, here, batch, placed, numbers)) if batch else [],
        "base": base,
        "faces": _faces(draft, base, f"{here}/base/face"),
        "outside": _faces(draft, draft.value(f"{envelope}/paper"), f"{envelope}/face"),
        "layers": [
            _layer(draft, f"{here}/layers", number, in_place.get(number))
            for number in draft.numbers(f"{here}/layers")
        ],
    }


def _pictures(
    showing: Showing,
    here: str,
    batch: Batch,
    placed: dict[str, PlacedLayer],
    numbers: dict[str, int],
) -> Iterator[tuple[str, Markup]]:
    """Each side of the card that has something to show, the front in any case."""
    draft = showing.draft
    card, looks = batch.cards[0], Looks(batch, showing.photos)
    pointers = {name: f"{here}/layers/{number}" for name, number in numbers.items()}
    moves = {}
    for name, pointer in pointers.items():
        if name in placed:
            at = f"{pointer}/at"
            found = moves_of(
                placed[name], _ground(card, placed, placed[name].layer.where), at, draft.keys(at),
                batch.trimmer.marks, batch.unit,
            )  # fmt: skip
            if found is not None:
                moves[name] = found
    unsure = [
        name
        for name, pointer in pointers.items()
        if draft.has_fault(f"{pointer}/paper", f"{pointer}/face")
    ]
    for where, words in SIDES.items():
        lying = [name for name in numbers if name in placed and placed[name].layer.where == where]
        if lying or where == "outside":
            ground = _ground(card, placed, where)
            svg = card_picture(looks, ground, placed, where, moves, unsure)
            yield words, Markup(svg)  # noqa: S704 - all text in it is escaped


def _ground(card: Card, placed: dict[str, PlacedLayer], where: Where) -> Card:
    """The card, or its envelope laid open as a card that is not folded."""
    opened, one = placed.get(ENVELOPE), card.envelope
    if where != "envelope" or opened is None or one is None:
        return card
    base = Base(one.paper, one.face, fold="none") if one.paper is not None else None
    return replace(card, width=opened.width, height=opened.height, base=base)


def _layer(draft: Draft, layers: str, number: int, placed: PlacedLayer | None) -> dict[str, Any]:
    """What is shown of a layer."""
    here = f"{layers}/{number}"
    keys = draft.keys(here)
    paper = draft.value(f"{here}/paper")
    sized = [key for key in _SIZES if key in keys]
    reveal = draft.value(f"{here}/reveal")
    side = draft.value(f"{here}/where") or "outside"
    before = [draft.text_at(f"{layers}/{one}/name") or f"layer {one + 1}" for one in range(number)]
    belt = isinstance(draft.value(f"{here}/belt"), dict) or draft.shown_at(f"{here}/belt") == "true"
    wheres = {"outside": "on the front", "inside": "inside", "behind": "on the back"}
    if side == "envelope" or draft.value(layers.removesuffix("layers") + "envelope") is not None:
        wheres["envelope"] = "in the envelope"
    return {
        "name": draft.text_at(f"{here}/name") or f"layer {number + 1}",
        "at": here,
        "size": layer_size(placed, draft.unit) if placed is not None else "",
        "first": number == 0,
        "last": number + 1 not in draft.numbers(layers),
        "earlier": f"{layers}/{number - 1}",
        "paper": paper if isinstance(paper, str) else "",
        "options": _options(draft, f"{here}/paper"),
        "whole_choice": isinstance(paper, dict),
        "faces": _faces(draft, paper, f"{here}/face"),
        "sized": sized,
        "per_edge": isinstance(reveal, dict),
        "wrapped": isinstance(draft.value(f"{here}/wrap"), dict),
        "aslant": draft.text_at(f"{here}/angle") not in ("", "0"),
        "turns": "angle" in keys or {"size", "width", "height"} & set(keys),
        "thick": isinstance(draft.value(f"{here}/belt"), dict),
        "belt": belt,
        "band": belt or ("width" in keys) != ("height" in keys),
        "free": "reveal" not in keys,
        "round": "circle" in keys,
        "under": [ENVELOPE if side == "envelope" else ON_CARD, *dict.fromkeys(before)],
        "wheres": wheres,
        "side": side,
        "turn": draft.value(f"{here}/turn") or "",
        "middle": draft.value(f"{here}/middle") or "",
        "rare_fault": draft.has_fault(*(f"{here}/{key}" for key in _RARE)),
    }


def _options(draft: Draft, paper: str) -> list[str]:
    """The pointers of the papers that a layer may take, where each is one text."""
    options = [f"{paper}/one of/{number}" for number in draft.keys(f"{paper}/one of")]
    return options if all(isinstance(draft.value(one), str) for one in options) else []


def _pieces(draft: Draft) -> list[dict[str, Any]]:
    """What is shown of each piece that needs no card."""
    return [
        {
            "at": f"/pieces/{number}",
            "name": draft.text_at(f"/pieces/{number}/name") or f"piece {number + 1}",
            "paper": draft.value(f"/pieces/{number}/paper") or "",
            "faces": _faces(
                draft, draft.value(f"/pieces/{number}/paper"), f"/pieces/{number}/face"
            ),
            "round": draft.value(f"/pieces/{number}/circle") is not None,
        }
        for number in draft.numbers("/pieces")
    ]


def _faces(draft: Draft, paper: object, pointer: str) -> dict[str, str]:
    """The faces to choose between, where it matters which one shows."""
    prints = {face: draft.print_of(paper, face) for face in ("front", "back")}
    if draft.value(pointer) is None and "plain" in prints.values():
        return {}
    return {face: f"{face}, {words}" for face, words in prints.items()}
