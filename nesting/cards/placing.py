"""Where the layers of a card lie: sizes from reveals, places from the card's edges."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from math import floor

from nesting.batch import BASE, ENVELOPE, ON_CARD, At, Batch, Card, Fault, KeyPath, Layer
from nesting.cards.aslant import Ground, Point, Slant, box_round, lay_aslant
from nesting.cards.clashes import find_clashes
from nesting.nearest import Nearest
from nesting.papers import Edges
from nesting.units import neighbouring_marks


@dataclass(frozen=True, slots=True)
class PlacedLayer:
    """A layer's place on the card, in nm from the card's lower left corner, as it is seen.

    A circle is given by the square round it, what lies aslant by the upright rectangle round it, or, of
    a strip, round what it lies on. The ends of a wrapped layer lie behind and do not count. A layer of
    the envelope lies on that, open, its flap at the top.
    """

    layer: Layer
    x: int
    y: int
    width: int
    height: int
    slant: Slant | None = None

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

    def reveal_on(self, under: "PlacedLayer") -> Edges:
        """What shows of a layer underneath at each edge; below zero is how far it sticks out there."""
        return Edges(
            left=self.x - under.x,
            right=under.x + under.width - self.x - self.width,
            top=under.y + under.height - self.y - self.height,
            bottom=self.y - under.y,
        )

    @property
    def rectangle(self) -> Ground:
        """Itself as what another layer lies on; what lies aslant is no such ground."""
        return Ground(self.x, self.y, self.width, self.height, self.layer.circle is not None)

    @property
    def middle(self) -> tuple[float, float]:
        """What a layer on it is centred on."""
        return self.slant.middle if self.slant else self.rectangle.middle

    @property
    def corners(self) -> tuple[Point, ...]:
        """The corners of what is seen of it, or of the square round a circle."""
        return self.slant.outline if self.slant else self.rectangle.corners

    @property
    def whole(self) -> tuple[Point, ...]:
        """The corners of all of it laid flat, with what is folded behind."""
        if self.slant:
            return self.slant.whole
        behind, ground = self.behind, self.rectangle
        return Ground(
            ground.x - behind.left,
            ground.y - behind.bottom,
            ground.width + behind.left + behind.right,
            ground.height + behind.top + behind.bottom,
            ground.is_round,
        ).corners


def seen_from_behind(belt: PlacedLayer, card: Card) -> PlacedLayer:
    """A belt as it goes across the back of the card."""
    return replace(belt, x=card.width - belt.x - belt.width)


def belt_length(belt: PlacedLayer, batch: Batch) -> int:
    """How long a belt is cut: round the closed card and over itself by the lap, on the marks."""
    once = belt.width if belt.runs_across else belt.height
    least = 2 * (once + (belt.layer.belt or 0)) + batch.lap
    return neighbouring_marks(least, batch.trimmer.marks)[1]


def place(card: Card, nearest: Nearest) -> tuple[dict[str, PlacedLayer], list[Fault]]:
    """Place the layers of a card whose defaults are filled in, and find what cannot be placed.

    Returns
    -------
    tuple
        The card itself, its envelope as soon as that has a size, and the layers without a fault by
        name, from bottom to top; the faults.
    """
    placed = _grounds(card)
    lost: set[str] = set()  # layers with a fault: what lies on them is not a fault of its own
    faults: list[Fault] = []
    for number, layer in enumerate(card.layers):
        path: KeyPath = ("cards", card.name, "layers", number)
        over = layer.over or layer.ground
        under = placed.get(over)
        found: list[Fault] = []
        own = layer.name == BASE or (layer.name == ENVELOPE and card.envelope is not None)
        if own or layer.name in placed or layer.name in lost:
            found.append(_name_fault(path, layer.name, own=own))
        if layer.where == "envelope" and ENVELOPE not in placed:
            if card.envelope is None:
                found.append(_no_envelope_fault(path))
        elif under is None:
            if over not in lost:
                found.append(_over_fault(path, over, placed, nearest))
        elif not _same_side(layer, over, under):
            read = f"{layer.where}, over {over}, which lies {under.layer.where}"
            found.append(Fault((*path, "over"), read, "a layer on the same side of the card"))
        else:
            found.extend(_faults_on(path, layer, under))
        if under is None or found or layer.ground not in placed:
            lost.add(layer.name)
        else:
            placed[layer.name] = _placed_on(under, layer, placed[layer.ground])
        faults.extend(found)
    return placed, faults


def place_layers(card: Card) -> Mapping[str, PlacedLayer]:
    """Place the layers of a card that is free of faults, every default filled in.

    Returns
    -------
    Mapping
        The card itself, its envelope and its layers by name, from bottom to top.
    """
    placed = _grounds(card)
    for layer in card.layers:
        under = placed[layer.over or layer.ground]
        placed[layer.name] = _placed_on(under, layer, placed[layer.ground])
    return placed


def _grounds(card: Card) -> dict[str, PlacedLayer]:
    """The card itself, and its envelope laid open, on which layers lie."""
    grounds = {ON_CARD: PlacedLayer(Layer(ON_CARD, ""), 0, 0, card.width, card.height)}
    one = card.envelope
    if one is not None and one.width and one.height and one.folds:
        ground = Layer(ENVELOPE, "", where="envelope")
        grounds[ENVELOPE] = PlacedLayer(ground, 0, 0, one.width, one.height + one.folds.top)
    return grounds


def _same_side(layer: Layer, over: str, under: PlacedLayer) -> bool:
    """Whether a layer lies where the one underneath does; the card itself has three sides."""
    if over == ON_CARD:
        return layer.where != "envelope"
    return layer.where == under.layer.where


def _no_envelope_fault(path: KeyPath) -> Fault:
    expected = "an envelope of the card (envelope: true), or outside, inside or behind"
    return Fault((*path, "where"), "where: envelope", expected)


def _name_fault(path: KeyPath, name: str, *, own: bool) -> Fault:
    if own or name == ON_CARD:
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
    clashes = list(find_clashes(path, layer, under.layer))
    yield from clashes
    if layer.angle and not clashes and _slant_on(under, layer) is None:
        read = f"an aslant strip that misses {under.layer.name}, which it lies on"
        yield Fault((*path, "at"), read, "a place where it crosses what it lies on")
    if layer.reveal is None:
        return
    width, height = _inside(under, layer.reveal)
    if width <= 0 or height <= 0:
        yield Fault(
            (*path, "reveal"),
            "a reveal that leaves nothing of the layer",
            "a reveal of less than half of what lies underneath",
        )


def _inside(under: PlacedLayer, reveal: Edges) -> tuple[int, int]:
    """Width and height that a reveal leaves of what lies underneath."""
    return (
        under.width - reveal.left - reveal.right,
        under.height - reveal.top - reveal.bottom,
    )


def _placed_on(under: PlacedLayer, layer: Layer, ground: PlacedLayer) -> PlacedLayer:
    """A layer's rectangle: from the reveal, or from its size and ``at`` on the ground."""
    reveal = layer.reveal
    if reveal is not None:
        width, height = _inside(under, reveal)
        if layer.is_round_on(under.layer):
            layer = replace(layer, circle=width)
        return PlacedLayer(layer, under.x + reveal.left, under.y + reveal.bottom, width, height)
    if layer.angle and (slant := _slant_on(under, layer)):
        if slant.strip:
            return PlacedLayer(layer, under.x, under.y, under.width, under.height, slant)
        return PlacedLayer(layer, *box_round(slant.outline), slant)
    width = layer.circle or layer.width or under.width
    height = layer.circle or layer.height or under.height
    at = layer.at or At()
    if at.centre is not None:
        x, y = at.centre[0] - width // 2, at.centre[1] - height // 2
    else:
        across, up = under.middle
        x = _along(at.left, at.right, width, ground.width, floor(across - width / 2))
        y = _along(at.bottom, at.top, height, ground.height, floor(up - height / 2))
    return PlacedLayer(layer, x, y, width, height)


def _slant_on(under: PlacedLayer, layer: Layer) -> Slant | None:
    """How a layer that has an angle lies; None where it misses what it lies on."""
    centre = layer.at.centre if layer.at else None
    slant = lay_aslant(layer, under.rectangle, centre or under.middle)
    # The edges of what lies aslant itself are not measured along.
    return replace(slant, marks=()) if slant and under.slant else slant


def _along(low: int | None, high: int | None, size: int, ground: int, centred: int) -> int:
    """A layer's low edge on one axis: from the ground's low edge, from its high edge, or centred."""
    if low is not None:
        return low
    return centred if high is None else ground - high - size
