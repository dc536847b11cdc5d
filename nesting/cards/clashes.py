"""What is asked of one layer that does not go together: one fault for each clash."""

from collections.abc import Iterator, Mapping

from nesting.batch import ON_CARD, At, Fault, KeyPath, Layer
from nesting.papers import EDGES, Edges, Paper

#: A right angle, in thousandths of a degree.
_UPRIGHT = 90_000


def find_clashes(path: KeyPath, layer: Layer, under: Layer) -> Iterator[Fault]:
    """Find what does not go together in a layer that lies on another, its defaults filled in."""
    if layer.angle and layer.belt is None:
        yield from _aslant_clashes(path, layer, under)
    elif under.angle:
        yield from _clashes_on_aslant(path, layer, under)
    is_round = layer.is_round_on(under)
    if layer.belt is not None:
        yield from _belt_clashes(path, layer)
    elif layer.wrap and is_round:
        yield Fault((*path, "wrap"), "wrap on a circle", "no wrap: a circle has no ends")
    if layer.join != "never":
        yield from _join_clashes(path, layer, is_round=is_round)
    reveal = layer.reveal
    if reveal is not None and under.circle is not None and not reveal.even:
        yield Fault((*path, "reveal"), "a reveal per edge on a circle", "one reveal all round")


def find_turned_prints(path: KeyPath, layer: Layer, papers: Mapping[str, Paper]) -> Iterator[Fault]:
    """Find a print that is to stand upright on an aslant layer: each paper of it that has one."""
    if layer.print != "upright" or not layer.angle:
        return
    for option in layer.options:
        paper = papers.get(option.paper)
        if paper is not None and paper.face(option.face or paper.default_face).print != "plain":
            read = f"'print: upright' on an aslant layer of {paper.name}, which is printed"
            expected = "no print: cuts run along the sheet's edges, so a print turns with its layer"
            yield Fault((*path, "print"), read, expected)


def _aslant_clashes(path: KeyPath, layer: Layer, under: Layer) -> Iterator[Fault]:
    """What does not go with an angle."""
    if abs(layer.angle) >= _UPRIGHT:
        expected = "less than 90: what runs the other way has its width for its height"
        yield Fault((*path, "angle"), "an angle of 90 degrees or more", expected)
        return
    missing = [layer.width, layer.height].count(None)
    for key, value in (("circle", layer.circle), ("reveal", layer.reveal)):
        if value is not None:
            expected = "one of them: aslant lies what has a height, a width or a size"
            yield Fault((*path, "angle"), f"'angle' beside {key!r}", expected)
            return
    if missing == 2:
        expected = "a height, a width or a size beside it"
        yield Fault((*path, "angle"), "'angle' without a size", expected)
        return
    at = layer.at or At()
    for key in EDGES:
        if getattr(at, key) is not None:
            expected = "centre: X x Y, or no place: what lies aslant has no edge to measure to"
            yield Fault((*path, "at", key), f"{key!r} in the place of an aslant layer", expected)
    if missing == 1:
        yield from _strip_clashes(path, layer, under)
    elif layer.wrap:
        expected = "its height or its width alone: then it runs across what it lies on"
        yield Fault((*path, "wrap"), "'wrap' of an aslant layer with a size", expected)


def _strip_clashes(path: KeyPath, strip: Layer, under: Layer) -> Iterator[Fault]:
    """What does not go with a strip that is as long as what it lies on takes."""
    if under.angle:
        read = f"an aslant strip over {under.name}, which lies aslant itself"
        expected = "a size, or over: a layer that stands upright"
        yield Fault((*path, "over"), read, expected)
    ends = ("left", "right") if strip.width is None else ("bottom", "top")
    wrap = strip.wrap if isinstance(strip.wrap, Edges) else Edges()
    for edge in EDGES:
        if edge not in ends and getattr(wrap, edge):
            expected = f"{ends[0]} or {ends[1]}, where its ends are"
            yield Fault((*path, "wrap", edge), f"{edge!r} in the wrap of an aslant strip", expected)


def _clashes_on_aslant(path: KeyPath, layer: Layer, under: Layer) -> Iterator[Fault]:
    """What cannot be said of an upright layer that lies on an aslant one."""
    lies = f"{under.name}, which lies aslant"
    if layer.reveal is not None:
        expected = "a height or width of its own, the same angle, and over: what that lies on"
        yield Fault((*path, "reveal"), f"a reveal on {lies}", expected)
    elif layer.circle is None and None in (layer.width, layer.height):
        expected = "a size: only upright layers have a full extent"
        yield Fault((*path, "over"), f"no width or no height over {lies}", expected)
    elif layer.wrap:
        yield Fault((*path, "wrap"), f"'wrap' round {lies}", "no wrap, or over: an upright layer")


def _belt_clashes(path: KeyPath, belt: Layer) -> Iterator[Fault]:
    """What does not go with a closed band round the whole card."""
    if belt.where != "outside":
        expected = "where: outside: a belt goes round the closed card"
        yield Fault((*path, "where"), f"a belt with where: {belt.where}", expected)
    if belt.over != ON_CARD:
        expected = f"over: {ON_CARD}, or none: a belt goes round the whole card"
        yield Fault((*path, "over"), f"a belt over {belt.over}", expected)
    if belt.angle:
        expected = "one of them: a band that goes round the card closes only where it is straight"
        yield Fault((*path, "angle"), "'angle' beside 'belt'", expected)
    if belt.wrap:
        expected = "one of them: the ends of a belt meet behind, or under a layer"
        yield Fault((*path, "wrap"), "'wrap' beside 'belt'", expected)
    if (belt.width is None) == (belt.height is None):
        yield Fault(
            (*path, "belt"),
            "a belt without one of width and height alone",
            "its height, to go round from left to right, or its width, to go round over the top: "
            "its length is worked out from the card",
        )
        return
    at = belt.at or At()
    across = ("left", "right") if belt.height is not None else ("top", "bottom")
    for key in (*across, "centre"):
        if getattr(at, key) is not None:
            free = "top or bottom" if belt.height is not None else "left or right"
            yield Fault(
                (*path, "at", key),
                f"{key!r} in the place of a belt",
                f"{free} alone: the other way it goes all round",
            )


def _join_clashes(path: KeyPath, layer: Layer, *, is_round: bool) -> Iterator[Fault]:
    """What does not go with a layer that is cut as two ends."""
    here = (*path, "join")
    if layer.angle:
        expected = "one of them: a joint is cut across the length of what lies straight"
        yield Fault(here, "'join' beside 'angle'", expected)
    if is_round:
        yield Fault(here, "join on a circle", "no joint: a circle has no ends")
    if layer.die_allowance:
        expected = "one of them: a die finishes a piece in one"
        yield Fault(here, "'join' beside 'die allowance'", expected)
    if layer.each > 1:
        expected = "one of them: only of one to a card is it known what hides it"
        yield Fault(here, f"'join' beside 'each: {layer.each}'", expected)
