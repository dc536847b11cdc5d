"""The sentences on a layout's page, and what other pages say in the same words."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.batch import Trimmer
from nesting.cutting.parallel_cuts import kept_offcuts
from nesting.draw.canvas.lettering import TIE, isolated
from nesting.draw.canvas.typefaces import SUBSTITUTES, is_drawable
from nesting.draw.sheet.bearings import has_arrow, has_directions
from nesting.draw.sheet.middle_words import piece_words
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Blank, EdgeTrim, Layout, Offcut, Pinwheel, Strip
from nesting.mark import mark_of
from nesting.papers import Paper, Sheet
from nesting.pieces import Piece
from nesting.plan import PaperFigures, Plan
from nesting.shares import Shares, shares
from nesting.sheets import full_size, strip_of
from nesting.sources import nominal_size, offcuts_taken, strip_on
from nesting.units import (
    Unit,
    enumerated,
    format_length,
    format_share,
    format_size,
    length_words,
    size_words,
)

DRAWN_SMALLER = "drawn smaller than life; do not measure from it"

SIZES_IN: dict[Unit, str] = {
    "in": "width x height, in inches",
    "mm": "width x height, in mm",
    "cm": "width x height, in cm",
}

#: What two heads of an arrow mean, wherever there are two.
TWO_HEADS = "the print runs along it and is right either way up"

#: One line for each kind of trimmer; its own instructions come first.
CAUTIONS: dict[str, str] = {
    "sliding": "Keep fingers off the rail and out of the blade's way.",
    "rotary": "The round blade is sharp at rest: lock or cover it between cuts.",
    "lever": "Keep both hands clear of the arm's whole swing, and lock it down when you stop.",
    "knife": "Cut away from the hand on the ruler, and cover the blade when you put it down.",
}


def mark_words(plan: Plan) -> str:
    """Say which plan a page belongs to."""
    after = f"; it goes on from {plan.after[-1].mark}" if plan.after else ""
    return f"Mark of this plan: {mark_of(plan)}{after}."


def caution(trimmer: Trimmer) -> str:
    """Say what to mind with this kind of trimmer, deferring to its own instructions."""
    tool = "knife" if trimmer.kind == "knife" else "trimmer"
    return f"{CAUTIONS[trimmer.kind]} The {tool}'s own instructions come first."


def piece_size(piece: Piece, unit: Unit) -> str:
    """A piece's size as seen upright: ``3 3/4 x 5``, ``2 1/2 circle``."""
    if piece.shape == "circle":
        return f"{format_length(piece.width, unit)} circle"
    return format_size(piece.width, piece.height, unit)


def underneath(piece: Piece, *, back_up: bool) -> str:
    """The face a piece shows, where it is underneath as the sheet lies; else nothing."""
    if back_up:
        return "front" if piece.face == "front" and piece.print != "plain" else ""
    return "back" if piece.face == "back" else ""


def face_words(subject: Subject) -> str:
    """Say which way the sheet lies: ``front up``, and whether it may lie any way round."""
    up = "back up" if subject.back_up else "front up"
    return up if has_directions(subject.plan, subject.layout) else f"{up}, any way round"


def sheet_words(subject: Subject) -> str:
    """Say the true size of the sheet, and where its strip is."""
    layout, paper, unit = subject.layout, subject.paper, subject.unit
    kind = {"sheet": "Sheet", "offcut": "Offcut", "middle": "Covered middle"}[layout.source.kind]
    numbers = offcuts_taken(subject.plan)[layout.id]
    if numbers:
        told = enumerated([str(number) for number in numbers])
        kind = f"Offcut{'s' * (len(numbers) > 1)} {told} from the stash,"
    words = f"{kind} {size_words(*nominal_size(layout, paper), unit)}"
    if layout.source.trim is not None:
        words += ", its edges still to be trimmed"
    strip = strip_on(layout, paper)
    if strip is None:
        return words
    width, edge = length_words(strip.width, unit), subject.seen(strip.edge)
    if strip.beyond_the_sheet:
        whole = size_words(layout.width, layout.height, unit)
        return f"{words} ({whole} with the {width} barcode strip at the {edge})"
    return f"{words}, including the {width} barcode strip at the {edge}"


def count_words(subject: Subject) -> Iterator[tuple[str, str]]:
    """For each piece on a layout: its letter, and its name, size and count against the need."""
    unit, layout = subject.unit, subject.layout
    here: Counter[str] = Counter()
    for placed in layout.blanks:
        if isinstance(placed.node, Blank):
            here[placed.node.piece] += max(1, len(placed.node.circles))
    for piece in subject.plan.pieces:
        if not here[piece.id]:
            continue
        alike = f" x {layout.alike} alike" if layout.alike > 1 else ""
        made = here[piece.id] * layout.alike
        back = ", back" if piece.face == "back" else ""
        words = (
            f"{isolated(piece.name)}, {piece_size(piece, unit)}{back}: "
            f"{here[piece.id]} here{alike} = {made}{TIE}of{TIE}{piece.demand}"
        )
        if piece.in_bags:
            words += f" ({piece.in_bags} in the bags)"
        yield piece.letter, words + _extra(subject, piece)


def _extra(subject: Subject, piece: Piece) -> str:
    """What else there is to know about a piece on a layout: score, die allowance, covered middle."""
    words = f"; {middle}" if (middle := piece_words(subject.plan, piece)) else ""
    if piece.score is not None:
        words += f"; score at {format_length(piece.score.at, subject.unit)}"
    if piece.scores:
        words += f"; {envelope_score_words(piece, subject.unit)}"
    if piece.die_allowance:
        words += f"; {die_words(piece, (subject.layout,), subject.unit)}"
    return words


def envelope_score_words(piece: Piece, unit: Unit) -> str:
    """Say where an envelope is scored, from the left and bottom edges of the upright piece."""
    ways = (("x", "left"), ("y", "bottom"))
    places = {
        edge: " and ".join(format_length(one.at, unit) for one in piece.scores if one.axis == axis)
        for axis, edge in ways
    }
    return f"score {', '.join(f'{at} from the {edge}' for edge, at in places.items())}"


def die_words(piece: Piece, layouts: Sequence[Layout], unit: Unit) -> str:
    """Say what a die or punch that finishes a piece needs, and how large the piece is cut for it.

    Circles that share a blank on one of the layouts are not cut to a size of their own.
    """
    allowance = 2 * piece.die_allowance
    blank = format_size(piece.width + allowance, piece.height + allowance, unit)
    round_it = length_words(piece.die_allowance, unit)
    nodes = [placed.node for layout in layouts for placed in layout.blanks]
    shared = any(
        isinstance(node, Blank) and node.piece == piece.id and len(node.circles) > 1
        for node in nodes
    )
    return f"{'' if shared else f'cut {blank}, '}{round_it} left all round for the die"


def kept_words(layouts: Sequence[Layout], paper: Paper, unit: Unit) -> str:
    """Say which offcuts of some layouts of a paper are kept; nothing where none is."""
    kept: Counter[str] = Counter()
    for layout in layouts:
        for sheet in kept_offcuts(layout, paper):
            kept[offcut_words(sheet, paper, unit)] += layout.alike
    if not kept:
        return ""
    parts = [size if n == 1 else f"{size} ({n} of them)" for size, n in kept.items()]
    between = "; " if any("," in size for size in kept) else ", "
    return f"{'Offcut' if kept.total() == 1 else 'Offcuts'} to keep: {between.join(parts)}."


def offcut_words(sheet: Sheet, paper: Paper, unit: Unit) -> str:
    """Say an offcut's size as a batch file has it, and what a barcode strip that is still on makes of it."""
    size, strip = format_size(sheet.width, sheet.height, unit), strip_of(paper, sheet)
    if strip is None:
        return size
    width = format_length(strip.width, unit)
    if strip.beyond_the_sheet:
        whole = format_size(*full_size(paper, sheet), unit)
        return f"{size}, with its barcode strip ({width}) {whole}"
    return f"{size}, including its barcode strip ({width})"


def legend_words(subject: Subject, *, leaders: bool = False) -> str:
    """Say what lines, shades and arrows in the picture stand for: only what is there."""
    plan, layout = subject.plan, subject.layout
    nodes = [placed.node for placed in layout.walk()]
    blanks = [(plan.piece(node.piece), node.turned) for node in nodes if isinstance(node, Blank)]
    names = {piece.name for piece, _ in blanks}
    hidden = {underneath(piece, back_up=subject.back_up) for piece, _ in blanks}
    uncut = [[leaf.node for leaf in part.leaves] for part in subject.whole.finished()]
    uncut = [part for part in uncut if len(part) > 1]
    said = {
        "Dot on a line: the cut stops there.": any(isinstance(n, Pinwheel) for n in nodes),
        "Dashed: an offcut to keep.": Offcut(keep=True) in nodes,
        "Long dashes: score here.": any(piece.score_lines for piece, _ in blanks),
        "Hatched: to the bin.": any(p.node == Offcut(keep=False) for p in layout.offcuts),
        "Shaded along an edge: edge trim.": any(isinstance(node, EdgeTrim) for node in nodes),
        "Dotted at the barcode strip: no cut, the strip names the paper.": any(
            Strip() in part and Offcut(keep=True) in part for part in uncut
        ),
        "Dotted in what goes to the bin: no cut.": any(
            Offcut(keep=True) not in part for part in uncut
        ),
        "Dotted lines lead from words to their part.": leaders,
        "Dotted in a blank: the piece without its die allowance.": any(
            piece.die_allowance and piece.shape == "rect" for piece, _ in blanks
        ),
        "What stays round a circle counts as waste.": any(
            piece.shape == "circle" for piece, _ in blanks
        ),
        "Small arrow: to the top of the piece.": any(
            has_arrow(piece, turned=turned) for piece, turned in blanks
        ),
        f"Arrow with two heads: {TWO_HEADS}.": any(
            subject.paper.face(name).print == "two-way" for name in subject.directed_faces
        ),
        SUBSTITUTES: not is_drawable(plan.asked.name, layout.paper, *names),
        "Back: the piece's face is underneath.": "back" in hidden,
        "Front: the piece's face is underneath.": "front" in hidden,
    }
    return " ".join(words for words, holds in said.items() if holds)


def layout_shares(subject: Subject) -> Shares:
    """The figures of one layout; a covered middle by itself is a sheet."""
    pieces, layout = {piece.id: piece for piece in subject.plan.pieces}, subject.layout
    if layout.source.kind == "middle":
        layout = replace(layout, source=replace(layout.source, kind="offcut"))
    return shares((layout,), pieces, subject.paper)


def share_words(figures: Shares | PaperFigures) -> str:
    """Say the shares in one sentence, such as ``In pieces 87.5 %, offcuts kept 12.5 %, waste 0 %.``."""
    kept, waste = round(figures.kept, 3), round(figures.waste, 3)
    return (
        f"In pieces {format_share(1 - kept - waste)}, offcuts kept {format_share(kept)}, "
        f"waste {format_share(waste)}."
    )
