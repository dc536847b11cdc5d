"""The sentences on a page: no drawing here, only what is said."""

from collections import Counter
from collections.abc import Iterator

from nesting.batch import Batch, Piece, Trimmer
from nesting.draw.bearings import strip_on
from nesting.draw.lettering import isolated
from nesting.plan import (
    Blank,
    EdgeTrim,
    Layout,
    Offcut,
    PaperFigures,
    Plan,
    Shares,
    nominal_size,
    shares,
)
from nesting.units import Unit, format_length, format_size, with_unit

DRAWN_SMALLER = "drawn smaller than life; do not measure from it"

#: One line for each kind of trimmer; its own instructions come first.
CAUTIONS: dict[str, str] = {
    "sliding": "Keep fingers off the rail and out of the blade's way.",
    "rotary": "The round blade is sharp at rest: lock or cover it between cuts.",
    "lever": "Keep both hands clear of the arm's whole swing, and lock it down when you stop.",
    "knife": "Cut away from the hand on the ruler, and cover the blade when you put it down.",
}


def caution(trimmer: Trimmer) -> str:
    """Say what to mind with this kind of trimmer, deferring to its own instructions."""
    tool = "knife" if trimmer.kind == "knife" else "trimmer"
    return f"{CAUTIONS[trimmer.kind]} The {tool}'s own instructions come first."


def piece_size(piece: Piece, unit: Unit) -> str:
    """A piece's size as seen upright: ``3 3/4 x 5``, ``2 1/2 circle``."""
    if piece.shape == "circle":
        return f"{format_length(piece.width, unit)} circle"
    return format_size(piece.width, piece.height, unit)


def face_words(plan: Plan, layout: Layout) -> str:
    """Say which way the sheet lies: ``front up``, and whether the print has a direction."""
    paper = plan.asked.paper(layout.paper)
    print_ = paper.front.print
    direction = {"plain": ", no direction", "four-way": ", any way round"}.get(print_, "")
    return f"front up{direction}"


def sheet_words(plan: Plan, layout: Layout) -> str:
    """Say the true size of the sheet, and where its strip is."""
    unit = plan.asked.unit
    paper = plan.asked.paper(layout.paper)
    kind = {"sheet": "Sheet", "offcut": "Offcut", "middle": "Covered middle"}[layout.source.kind]
    words = f"{kind} {with_unit(format_size(*nominal_size(layout, paper), unit), unit)}"
    strip = strip_on(layout, paper)
    if strip is None:
        return words
    width = with_unit(format_length(strip.width, unit), unit)
    if strip.beyond_the_sheet:
        whole = with_unit(format_size(layout.width, layout.height, unit), unit)
        return f"{words} ({whole} with the {width} barcode strip at the {strip.edge})"
    return f"{words}, of which {width} at the {strip.edge} is the barcode strip"


def count_words(plan: Plan, layout: Layout) -> Iterator[tuple[str, str]]:
    """For each piece on a layout: its letter, and its name, size and count against the need."""
    unit = plan.asked.unit
    here: Counter[str] = Counter()
    for placed in layout.blanks:
        if isinstance(placed.node, Blank):
            here[placed.node.piece] += max(1, len(placed.node.circles))
    for piece in plan.pieces:
        if not here[piece.id]:
            continue
        alike = f" x {layout.alike} alike" if layout.alike > 1 else ""
        made = here[piece.id] * layout.alike
        back = ", back" if piece.face == "back" else ""
        words = (
            f"{isolated(piece.name)}, {piece_size(piece, unit)}{back}: "
            f"{here[piece.id]} here{alike} = {made} of {piece.demand}"
        )
        yield piece.letter, words + _extra(piece, unit)


def _extra(piece: Piece, unit: Unit) -> str:
    """What else there is to know about a piece: its score, its die allowance."""
    words = ""
    if piece.score is not None:
        words += f"; score at {format_length(piece.score.at, unit)}"
    if piece.die_allowance:
        allowance = 2 * piece.die_allowance
        blank = format_size(piece.width + allowance, piece.height + allowance, unit)
        words += (
            f"; cut {blank}, {format_length(piece.die_allowance, unit)} die allowance all round"
        )
    return words


def kept_words(plan: Plan, layout: Layout) -> str:
    """Say which offcuts are kept; nothing where none is."""
    kept = Counter(
        format_size(placed.width, placed.height, plan.asked.unit)
        for placed in layout.offcuts
        if placed.node == Offcut(keep=True)
    )
    if not kept:
        return ""
    parts = [f"{f'{n} of ' if n > 1 else ''}{size}" for size, n in kept.items()]
    return f"{'Offcut' if kept.total() == 1 else 'Offcuts'}: {', '.join(parts)} keep."


def legend_words(plan: Plan, layout: Layout) -> str:
    """Say what the marks in the picture stand for."""
    nodes = [placed.node for placed in layout.walk()]
    pieces = [plan.piece(node.piece) for node in nodes if isinstance(node, Blank)]
    words = []
    if any(placed.node == Offcut(keep=False) for placed in layout.offcuts):
        words.append("Hatched: to the bin.")
    if any(isinstance(node, EdgeTrim) for node in nodes):
        words.append("Shaded along an edge: edge trim.")
    if any(piece.print in ("one-way", "two-way") for piece in pieces):
        words.append("Small arrow: to the top of the piece.")
    if any(piece.face == "back" for piece in pieces):
        words.append("Back: the piece's face is underneath.")
    return " ".join(words)


def layout_shares(plan: Plan, layout: Layout) -> Shares:
    """The figures of one layout."""
    pieces = {piece.id: piece for piece in plan.pieces}
    return shares((layout,), pieces, plan.asked.paper(layout.paper))


def share_words(figures: Shares | PaperFigures) -> str:
    """Say the shares in one sentence, such as ``In pieces 87.5 %, offcuts kept 12.5 %, waste 0 %.``."""
    kept, waste = round(figures.kept * 1000), round(figures.waste * 1000)
    return (
        f"In pieces {_percent(1000 - kept - waste)}, offcuts kept {_percent(kept)}, "
        f"waste {_percent(waste)}."
    )


def _percent(thousandths: int) -> str:
    whole, tenth = divmod(thousandths, 10)
    return f"{whole}.{tenth} %" if tenth else f"{whole} %"


def bound_words(figures: PaperFigures) -> str:
    """Say what is proven about a paper's need, and under which rules."""
    bound = figures.bound
    found = "found by search" if bound.by == "search" else "proven"
    if bound.of == "cost":
        if figures.proven:
            return f"{found.capitalize()}: no plan of edge-to-edge cuts costs less."
        return "Not proven: a plan of edge-to-edge cuts that costs less may exist."
    if figures.proven:
        return f"{found.capitalize()}: no plan of edge-to-edge cuts needs fewer new sheets."
    least = f"{bound.value} sheet{'s are' if bound.value != 1 else ' is'}"
    return f"At least {least} needed ({found}); this plan needs {figures.needed}."


def keep_words(batch: Batch) -> str:
    """Say from which size an offcut is kept."""
    sizes = " or ".join(format_size(*size, batch.unit) for size in batch.keep_from)
    return f"An offcut is kept from {sizes} {batch.unit}; anything smaller goes to the bin."


def use_words(piece: Piece) -> str:
    """Say which cards a piece is for."""
    cards = Counter[str]()
    for use in piece.uses:
        cards[use.card or "loose"] += use.count
    if set(cards) == {"loose"}:
        return "loose"
    return ", ".join(f"{isolated(card)} {count}" for card, count in cards.items())
