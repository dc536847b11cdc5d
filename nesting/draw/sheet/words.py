"""The sentences on a page; nothing is drawn here."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from nesting.batch import Batch, Trimmer
from nesting.cutting.parallel_cuts import kept_offcuts
from nesting.draw.canvas.lettering import TIE, isolated
from nesting.draw.canvas.typefaces import SUBSTITUTES, is_drawable
from nesting.draw.sheet.bearings import has_arrow, has_directions
from nesting.draw.sheet.joint_words import cut_ways, joint_words
from nesting.draw.sheet.middle_words import piece_words
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Blank, EdgeTrim, Layout, Offcut, Pinwheel, Strip
from nesting.lying import offcuts_taken
from nesting.mark import mark_of
from nesting.papers import Paper, Sheet
from nesting.pieces import Piece
from nesting.plan import PaperFigures, Plan, WholeCards
from nesting.prices import format_price
from nesting.shares import Shares, shares
from nesting.sheets import full_size, strip_of
from nesting.sources import nominal_area, nominal_size, strip_on
from nesting.units import (
    Unit,
    counted,
    enumerated,
    format_area,
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
        kind += f"{'s' * (len(numbers) > 1)} number {', '.join(map(str, numbers))} of the stash,"
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
    return f"{words}, of which {width} at the {edge} is the barcode strip"


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

    Circles of which several share a blank on one of the layouts are not cut to a size of their own.
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
    return f"{size}, of which {width} is its barcode strip"


def legend_words(subject: Subject, *, leaders: bool = False) -> str:
    """Say what the marks in the picture stand for: only what is there."""
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


def source_words(plan: Plan, paper: str) -> Iterator[str]:
    """Say which sheets of a paper to buy, and how many offcuts at hand and covered middles are used."""
    unit = plan.asked.unit
    buy: Counter[str] = Counter()
    used: Counter[str] = Counter()
    for layout in plan.layouts_of(paper):
        size = nominal_size(layout, plan.asked.paper(paper))
        buy[size_words(*size, unit)] += layout.to_buy
        used[layout.source.kind] += layout.alike
    sheets = [f"{counted(n, 'sheet')} of {size}" for size, n in buy.items() if n]
    if sheets:
        yield f"To buy: {' and '.join(sheets)}."
    if used["offcut"]:
        yield f"Also used: {counted(used['offcut'], 'offcut')} at hand."
    if used["middle"]:
        yield f"Also used: {counted(used['middle'], 'covered middle')}."


def bound_words(figures: PaperFigures, trimmer: Trimmer) -> str:
    """Say what is proven about a paper's need, and under which rules."""
    bound = figures.bound
    found = "found by search" if bound.by == "search" else "proven"
    cuts, other = "edge-to-edge cuts", ""
    if trimmer.stops and bound.holds_for_stopped:
        cuts = "edge-to-edge or stopped cuts"
    elif trimmer.stops:
        other = "; one with stopped cuts may"
    if bound.of == "cost":
        if figures.proven:
            return f"{found.capitalize()}: no plan of {cuts} costs less{other}."
        return f"Not proven: a plan of {cuts} that costs less may exist."
    if figures.proven:
        return f"{found.capitalize()}: no plan of {cuts} needs fewer new sheets{other}."
    least = f"{bound.value} sheet{'s are' if bound.value != 1 else ' is'}"
    found += f", with {cuts}" if other else ""
    return f"At least {least} needed ({found}); this plan needs {figures.needed}."


def stopping_lines(saved: Mapping[str, int]) -> Iterator[str]:
    """Say for each paper how many sheets fewer it takes where a cut may end inside the sheet."""
    for paper, sheets in saved.items():
        yield f"{isolated(paper)}, with stopped cuts: {counted(sheets, 'sheet')} fewer (trimmer: can stop)."


def whole_cards_words(plan: Plan) -> Iterator[str]:
    """Say how many whole cards are made where paper limits them, what is proven, and what limits them."""
    open_ = {card.name for card in plan.asked.cards if card.make is None}
    least = any(card.at_least for card in plan.asked.cards)
    for number, entry in enumerate(plan.whole_cards):
        as_many = entry.cards[0] in open_ and not _is_least(plan, number)
        if entry.made == entry.asked and not as_many:
            continue
        cards = _entry_words(plan, entry, number, as_many=as_many)
        all_together = len(_own_cards(plan, number)) == len(entry.cards)
        each = " of each" if entry.of == "each" and all_together else ""
        found = "found by search" if entry.by == "search" else "proven"
        no_plan = "no plan of edge-to-edge cuts"
        if plan.asked.trimmer.stops and entry.holds_for_stopped:
            no_plan = "no plan of edge-to-edge or stopped cuts"
        if as_many and least:  # others may make more
            no_plan += " with what is asked at least"
        if as_many and entry.made == entry.asked:
            yield f"{cards}; no more are asked for."
        elif entry.proven:
            yield f"{cards}; {found}: {no_plan} makes {entry.made + 1}{each}."
        elif entry.by != "asked" and (entry.asked is None or entry.most < entry.asked):
            more = f"{found}: {no_plan} makes {entry.most + 1}{each}"
            yield f"{cards} were found; {more}."
        else:
            yield f"{cards} were found; more may be possible."
    yield from _one_more_words(plan)


def _own_cards(plan: Plan, number: int) -> list[str]:
    """The designs of an entry that none after it counts again, as there may be more of them."""
    later = {name for entry in plan.whole_cards[number + 1 :] for name in entry.cards}
    return [name for name in plan.whole_cards[number].cards if name not in later]


def _is_least(plan: Plan, number: int) -> bool:
    """Whether an entry is for what is asked at least: one for all there can be comes after it."""
    return plan.whole_cards[number].of == "all" and not _own_cards(plan, number)


def _entry_words(plan: Plan, entry: WholeCards, number: int, *, as_many: bool) -> str:
    """How many cards are made of the designs that are counted together."""
    if as_many:
        complete = {count.card: count.complete for count in plan.cards}
        own = _own_cards(plan, number)
        counts = [f"{complete[name]} of {isolated(name)}" for name in own]
        return f"As many as possible: {enumerated(counts)}"
    cards = f"{entry.made} of {entry.asked} cards"
    if entry.of == "each":
        cards = f"of each design {cards} or more"
    if _is_least(plan, number):
        return f"Of what is asked at least: {cards}"
    if entry.cards[0] in plan.asked.first:
        return f"{isolated(entry.cards[0])}, which comes first: {cards}"
    return f"The other designs: {cards}" if number else f"{cards[0].upper()}{cards[1:]}"


def _one_more_words(plan: Plan) -> Iterator[str]:
    """Say which paper limits how many cards can be made, and what one more sheet of it would give."""
    complete = {count.card: count.complete for count in plan.cards}
    open_ = {card.name for card in plan.asked.cards if card.make is None}
    for more in plan.one_more:
        if not more.better:
            continue
        sheets = plan.asked.paper(more.paper).sheets
        sizes = {(sheet.width, sheet.height) for sheet in sheets if not sheet.offcut}
        size = size_words(more.width, more.height, plan.asked.unit)
        which = f", {size}," if len(sizes) > 1 else ""
        counts = [
            f"{number} of {isolated(card)}"
            for card, number in more.made.items()
            if number != complete[card] or card in open_
        ]
        least = "" if more.proven else " or more"
        yield (
            f"Limited by {isolated(more.paper)}: one more sheet{which} would give "
            f"{enumerated(counts)}{least}."
        )
    if plan.one_more and not any(more.better for more in plan.one_more):
        found = "" if all(more.proven for more in plan.one_more) else " that was found"
        yield f"No single sheet more, of any paper, makes more cards{found}."


def choice_words(plan: Plan) -> Iterator[str]:
    """Say which papers were chosen for which cards and what has to be bought of them, and joints."""
    for card in plan.asked.cards:
        for layer in card.layers:
            if layer.choice is None:
                continue
            taken: Counter[str] = Counter()
            for way in cut_ways(plan, card, layer.name):
                taken[_face_of(plan, way.pieces[0])] += way.sets
            said = ", ".join(f"{sets} of {face}" for face, sets in taken.items())
            yield f"{isolated(card.name)}, {isolated(layer.name)}: {said}."
    yield from joint_words(plan)
    chosen = plan.chosen
    if chosen is None or not chosen.value:
        return
    words, at_least = _cost_words(plan, chosen.value), _cost_words(plan, chosen.least)
    if chosen.least == chosen.value:
        yield f"To buy of the papers to choose from: {words}. Found by search: no choice needs less."
    else:
        yield f"To buy of the papers to choose from: {words}. Found by search: any choice needs {at_least} or more."


def _cost_words(plan: Plan, cost: int) -> str:
    """A number of sheets, or what some come to, as the plan counts what is bought of a choice."""
    chosen = plan.chosen
    if chosen is None or chosen.of == "sheets":
        return counted(cost, "sheet")
    if chosen.of == "price":
        return f"sheets for {format_price(cost)}"
    layers = [layer for card in plan.asked.cards for layer in card.layers if layer.choice]
    names = {option.paper for layer in layers for option in layer.options}
    bought = sum(
        layout.to_buy * nominal_area(layout, plan.asked.paper(layout.paper))
        for layout in plan.layouts
        if layout.paper in names
    )
    return f"{format_area(Fraction(bought * cost, chosen.value), plan.asked.unit)} of sheets"


def _face_of(plan: Plan, piece: Piece) -> str:
    """A paper by its name, and its face where more than one is printed or to choose."""
    faces = {other.face for other in plan.pieces if other.paper == piece.paper} | {piece.face}
    printed = plan.asked.paper(piece.paper).printed_faces
    if len(faces) == 1 and (len(printed) < 2 and piece.face == "front"):
        return isolated(piece.paper)
    return f"{isolated(piece.paper)} ({piece.face})"


def unmade_words(plan: Plan, card: str) -> str:
    """Say what of a card is not cut."""
    return ", ".join(
        f"{use.count} of {plan.piece(uncut.piece).letter} {isolated(use.name)}"
        for uncut in plan.uncut
        for use in uncut.uses
        if use.card == card and use.count
    )


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
    return ", ".join(f"{isolated(card)}{TIE}{count}" for card, count in cards.items())
