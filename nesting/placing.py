"""Where the layers of a card lie: sizes from reveals, places from the card's edges."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.batch import BASE, ON_CARD, At, Card, Edges, Fault, KeyPath, Layer
from nesting.clashes import find_clashes
from nesting.nearest import Nearest


@dataclass(frozen=True, slots=True)
class PlacedLayer:
    """A layer's place on the card, in nm from the card's lower left corner, as it is seen.

    A circle is given by the square round it. The ends of a wrapped layer lie behind and do not
    count.
    """

    layer: Layer
    x: int
    y: int
    width: int
    height: int

    @property
    def runs_across(self) -> bool:
        """Whether its ends are left and right, and not top and bottom.

        They are those of the axis that was left to what is underneath, where just one was, and else
        those of the longer side.
        """
        layer = self.layer
        if (layer.width is None) != (layer.height is None):
            return layer.width is None
        return self.width >= self.height

    @property
    def behind(self) -> Edges:
        """How much is folded behind at each edge."""
        wrap = self.layer.wrap
        if isinstance(wrap, Edges):
            return wrap
        return Edges(left=wrap, right=wrap) if self.runs_across else Edges(top=wrap, bottom=wrap)

    @property
    def whole(self) -> tuple[int, int, int, int]:
        """Its rectangle laid flat, with what is folded behind: lower left corner, width, height."""
        behind = self.behind
        return (
            self.x - behind.left, self.y - behind.bottom,
            self.width + behind.left + behind.right, self.height + behind.top + behind.bottom,
        )  # fmt: skip


def place(card: Card, nearest: Nearest) -> tuple[dict[str, PlacedLayer], list[Fault]]:
    """Place the layers of a card whose defaults are filled in, and find what cannot be placed.

    Returns
    -------
    tuple
        The card itself and the layers without a fault by name, from bottom to top; the faults.
    """
    placed = {ON_CARD: _ground(card)}
    lost: set[str] = set()  # layers with a fault: what lies on them is not a fault of its own
    faults: list[Fault] = []
    for number, layer in enumerate(card.layers):
        path: KeyPath = ("cards", card.name, "layers", number)
        over = layer.over or ON_CARD
        under = placed.get(over)
        found: list[Fault] = []
        if layer.name in placed or layer.name in lost or layer.name == BASE:
            found.append(_name_fault(path, layer.name))
        if under is None:
            if over not in lost:
                found.append(_over_fault(path, over, placed, nearest))
        elif over != ON_CARD and under.layer.where != layer.where:
            read = f"{layer.where}, over {over}, which lies {under.layer.where}"
            found.append(Fault((*path, "over"), read, "a layer on the same side of the card"))
        else:
            found.extend(_faults_on(path, layer, under))
        if under is None or found:
            lost.add(layer.name)
        else:
            placed[layer.name] = _placed_on(under, layer, card)
        faults.extend(found)
    return placed, faults


def place_layers(card: Card) -> Mapping[str, PlacedLayer]:
    """Place the layers of a card that is free of faults, every default filled in.

    Returns
    -------
    Mapping
        The card itself and its layers by name, from bottom to top.
    """
    placed = {ON_CARD: _ground(card)}
    for layer in card.layers:
        placed[layer.name] = _placed_on(placed[layer.over or ON_CARD], layer, card)
    return placed


def _ground(card: Card) -> PlacedLayer:
    """The card itself, on which its layers lie."""
    return PlacedLayer(Layer(ON_CARD, ""), 0, 0, card.width, card.height)


def _name_fault(path: KeyPath, name: str) -> Fault:
    if name in (BASE, ON_CARD):
        return Fault(
            (*path, "name"), f"a layer named {name!r}", f"another name: {name} is the card's own"
        )
    return Fault(
        (*path, "name"), f"a second layer named {name!r}", "a name for each layer of a card"
    )


def _over_fault(path: KeyPath, over: str, placed: Collection[str], nearest: Nearest) -> Fault:
    hint = nearest.words(over, placed)
    expected = f"a layer that stands earlier in the list; {hint}"
    return Fault((*path, "over"), f"over: {over!r}", expected)


def _faults_on(path: KeyPath, layer: Layer, under: PlacedLayer) -> Iterator[Fault]:
    """What is wrong with a layer on what it lies on."""
    yield from find_clashes(path, layer, under.layer)
    if layer.reveal is None:
        return
    width, height = _inside(under, layer.reveal)
    if width <= 0 or height <= 0:
        yield Fault(
            (*path, "reveal"),
            "a reveal that leaves nothing of the layer",
            "a reveal of less than half of what lies underneath",
        )


def _is_round(layer: Layer, under: PlacedLayer) -> bool:
    """A reveal on a circle is a circle, too."""
    return layer.circle is not None or (layer.reveal is not None and under.layer.circle is not None)


def _inside(under: PlacedLayer, reveal: Edges) -> tuple[int, int]:
    """Width and height that a reveal leaves of what lies underneath."""
    return (
        under.width - reveal.left - reveal.right,
        under.height - reveal.top - reveal.bottom,
    )


def _placed_on(under: PlacedLayer, layer: Layer, card: Card) -> PlacedLayer:
    """A layer's rectangle: from the reveal, or from its size and ``at``."""
    if layer.reveal is not None:
        width, height = _inside(under, layer.reveal)
        if _is_round(layer, under):
            layer = replace(layer, circle=width)
        x, y = under.x + layer.reveal.left, under.y + layer.reveal.bottom  # type: ignore[union-attr]
        return PlacedLayer(layer, x, y, width, height)
    width = layer.circle or layer.width or under.width
    height = layer.circle or layer.height or under.height
    at = layer.at or At()
    if at.centre is not None:
        x, y = at.centre[0] - width // 2, at.centre[1] - height // 2
    else:
        x = _along(at.left, at.right, width, card.width, under.x + (under.width - width) // 2)
        y = _along(at.bottom, at.top, height, card.height, under.y + (under.height - height) // 2)
    return PlacedLayer(layer, x, y, width, height)


def _along(low: int | None, high: int | None, size: int, card: int, centred: int) -> int:
    """A layer's low edge on one axis: from the card's low edge, from its high edge, or centred."""
    if low is not None:
        return low
    return centred if high is None else card - high - size
