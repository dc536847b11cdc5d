"""The sentences about a whole plan: what is proven and made, what was chosen, what to buy, what is not cut."""

from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction

from nesting.batch import Batch, Trimmer
from nesting.cards.enclosing import called
from nesting.draw.canvas.lettering import TIE, brief, isolated
from nesting.draw.sheet.joint_words import cut_ways, joint_words
from nesting.needs import envelopes_to_buy
from nesting.pieces import Piece
from nesting.plan import PaperFigures, Plan, WholeCards
from nesting.prices import format_price
from nesting.sources import nominal_area, nominal_size
from nesting.units import (
    counted,
    enumerated,
    format_area,
    format_size,
    size_words,
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


def envelopes_words(plan: Plan) -> Iterator[str]:
    """Say which envelopes to buy, one size a sentence, and for which cards."""
    for one in envelopes_to_buy(plan):
        cards = " and ".join(map(isolated, one.cards))
        yield f"{counted(one.count, 'envelope')} {called(one.width, one.height, plan.asked.unit)}, for {cards}"


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


def proof_sentences(plan: Plan) -> list[str]:
    """Say what is proven about each paper's need, together where it is the same."""
    proofs: dict[str, list[str]] = {}
    for figures in plan.papers:
        proofs.setdefault(bound_words(figures, plan.asked.trimmer), []).append(brief(figures.paper))
    return [_said_of(", ".join(papers), words) for words, papers in proofs.items()]


def _said_of(papers: str, words: str) -> str:
    """``Proven for pear toss: no plan ...``."""
    found, colon, said = words.partition(": ")
    return f"{found} for {papers}: {said}" if colon else f"{papers}: {words}"


def stopping_lines(saved: Mapping[str, int]) -> Iterator[str]:
    """Say for each paper how many sheets fewer it takes where a cut may end inside the sheet."""
    for paper, sheets in saved.items():
        fewer = counted(sheets, "sheet")
        yield f"{isolated(paper)}: {fewer} fewer with a trimmer that can stop a cut part-way."


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
            said = ", ".join(f"{sets} of {face}" for face, sets in taken.items() if sets)
            if said:
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
