"""What is said of covered middles: the pieces they are cut out of, where, how many, and when."""

from collections import Counter
from collections.abc import Iterator

from nesting.draw.canvas.lettering import TIE, isolated
from nesting.layouts import Layout
from nesting.papers import Window
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.sources import middles_taken
from nesting.units import Unit, format_length, format_size


def window_words(plan: Plan, layout: Layout) -> Iterator[str]:
    """Say which pieces the covered middles of a layout are cut out of, and where; else nothing."""
    for window, count in middles_taken(plan).get(layout.id, ()):
        host = host_of(plan, window)
        made = plan.as_cut(host).demand
        many = f"{count} of the {made}" if count < made else f"{count}"
        yield (
            f"Cut it out of {many} {host.letter}, {isolated(window.layer)} of {isolated(window.card)}, "
            "with knife and steel rule, once that is cut and before anything is glued on: "
            f"{_place_words(window, plan.asked.unit)} as seen on the card."
        )


def host_words(plan: Plan, card: str, layer: str) -> Iterator[str]:
    """Say of a layer on a card how its middle is cut out, and that it stays whole where others do not."""
    windows = [
        (window, count, layout)
        for layout, taken in middles_taken(plan).items()
        for window, count in taken
    ]
    own = [one for one in windows if (one[0].card, one[0].layer) == (card, layer)]
    if own:
        window, count, unit = own[0][0], sum(count for _, count, _ in own), plan.asked.unit
        size = format_size(window.width, window.height, unit)
        made = sum(_counts(plan.as_cut(host_of(plan, window)), card, layer))
        which = f"of {count} of {made}; the others stay whole" if count < made else f"of all {made}"
        yield (
            f"before gluing, cut its middle out {which}: {size}, {_place_words(window, unit)} "
            f"(for {_layouts(one[2] for one in own)})"
        )
    elif any(sum(_counts(host_of(plan, window), card, layer)) for window, _, _ in windows):
        yield "stays whole"


def window_of(plan: Plan, card: str, layer: str) -> Window | None:
    """The window that is cut in a layer on some cards of a design; None where it stays whole."""
    windows = (window for taken in middles_taken(plan).values() for window, _ in taken)
    return next((one for one in windows if (one.card, one.layer) == (card, layer)), None)


def piece_words(plan: Plan, piece: Piece) -> str:
    """Say of a piece out of how many its middle is cut, for which card; nothing where it stays."""
    cut: Counter[str] = Counter()
    for taken in middles_taken(plan).values():
        for window, count in taken:
            if host_of(plan, window) == piece:
                cut[window.card] += count
    if not cut:
        return ""
    words = ", ".join(f"{count} for {isolated(card)}" for card, count in cut.items())
    rest = plan.as_cut(piece).demand - cut.total()
    return f"middle to cut out before gluing: {words}" + ("; the others stay whole" if rest else "")


def host_of(plan: Plan, window: Window) -> Piece:
    """The piece that a window is cut in."""
    return next(piece for piece in plan.pieces if any(_counts(piece, window.card, window.layer)))


def _counts(piece: Piece, card: str, layer: str) -> list[int]:
    return [use.count for use in piece.uses if (use.card, use.layer) == (card, layer)]


def _place_words(window: Window, unit: Unit) -> str:
    x, y = format_length(window.x, unit), format_length(window.y, unit)
    return (
        f"{x}{TIE}from{TIE}the{TIE}left and {y}{TIE}from{TIE}the{TIE}bottom{TIE}edge of the piece"
    )


def _layouts(numbers: Iterator[int]) -> str:
    told = sorted(set(numbers))
    return f"layout{'s' * (len(told) > 1)} {', '.join(map(str, told))}"
