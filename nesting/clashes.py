"""What is asked of one layer that does not go together: one fault for each clash."""

from collections.abc import Iterator

from nesting.batch import ON_CARD, At, Fault, KeyPath, Layer


def find_clashes(path: KeyPath, layer: Layer, under: Layer) -> Iterator[Fault]:
    """Find what does not go together in a layer that lies on another, its defaults filled in."""
    is_round = layer.circle is not None or (layer.reveal is not None and under.circle is not None)
    if layer.belt is not None:
        yield from _belt_clashes(path, layer)
    elif layer.wrap and is_round:
        yield Fault((*path, "wrap"), "wrap on a circle", "no wrap: a circle has no ends")
    reveal = layer.reveal
    if (
        reveal is not None
        and under.circle is not None
        and len({reveal.left, reveal.right, reveal.top, reveal.bottom}) > 1
    ):
        yield Fault((*path, "reveal"), "a reveal per edge on a circle", "one reveal all round")


def _belt_clashes(path: KeyPath, belt: Layer) -> Iterator[Fault]:
    """What does not go with a closed band round the whole card."""
    if belt.where != "outside":
        expected = "where: outside: a belt goes round the closed card"
        yield Fault((*path, "where"), f"a belt with where: {belt.where}", expected)
    if belt.over != ON_CARD:
        expected = f"over: {ON_CARD}, or none: a belt goes round the whole card"
        yield Fault((*path, "over"), f"a belt over {belt.over}", expected)
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
