"""Counts: what is cut and uncut against what is asked for, whole cards, sheets at hand and to buy."""

from collections import Counter
from collections.abc import Iterable, Iterator
from math import gcd

from nesting.batch import BASE, ENVELOPE, Card
from nesting.checker.asked.costs import counts_sheets
from nesting.checker.asked.equal import EqualPieces, kind_of
from nesting.checker.asked.parts import options_of
from nesting.checker.case import Case
from nesting.checker.cutting.sheets import SheetIdentity, identity_of_layout, identity_of_sheet
from nesting.checker.fault import PlanFault, repeated
from nesting.papers import Edge, Paper
from nesting.pieces import Piece, Use
from nesting.units import size_words


def check_demand(case: Case) -> Iterator[PlanFault]:
    """What is cut, what is listed as uncut and what is in the bags are together what is asked for."""
    cut: Counter[str] = Counter()
    for one in case.sheets:
        for blank, _ in one.blanks:
            cut[blank.piece] += one.layout.alike * max(1, len(blank.circles))
    uncut: Counter[str] = Counter()
    for missing in case.plan.uncut:
        uncut[missing.piece] += missing.count
    for id_, demand in case.demand.items():
        in_bags = case.in_bags(id_)
        if cut[id_] + uncut[id_] + in_bags != demand:
            piece = case.pieces[id_]
            bags = f", {in_bags} are in the bags" if in_bags else ""
            said = (
                f"{cut[id_]} are cut and {uncut[id_]} listed as uncut{bags}; {demand} are needed."
            )
            yield PlanFault("demand", f"piece {piece.letter} {piece.name}", said)


def check_uncut(case: Case) -> Iterator[PlanFault]:
    """What is listed as uncut is asked for, adds up, and has a paper that is short to blame."""
    lacking = _cards_lacking(case)
    for missing in case.plan.uncut:
        piece = case.pieces.get(missing.piece)
        if piece is None:
            yield PlanFault("uncut", missing.piece, "no piece of the plan has this id.")
            continue
        where = f"piece {piece.letter} {piece.name}"
        paper = case.papers[piece.paper]
        if not _may_be_short(case, piece):
            whole = [use for use in missing.uses if use.card not in lacking]
            if whole and paper.buy:
                said = f"it is left uncut, and more {paper.name!r} can be bought."
                yield PlanFault("uncut", where, said)
            elif whole:
                said = f"it is left uncut, and there is enough of {paper.name!r}."
                yield PlanFault("uncut", where, said)
        if missing.count < 1 or any(use.count < 1 for use in missing.uses):
            yield PlanFault("uncut", where, "a count of less than 1 is listed as uncut.")
        if missing.count != sum(use.count for use in missing.uses):
            said = "what the uncut ones are for does not add up to their count."
            yield PlanFault("uncut", where, said)
        if by_use(missing.uses) - by_use(case.wanted.get(kind_of(piece), [])):
            yield PlanFault("uncut", where, "more are uncut for a card or layer than it asks for.")
    for id_ in repeated(missing.piece for missing in case.plan.uncut):
        yield PlanFault("uncut", str(id_), "it is listed as uncut twice.")


def _cards_lacking(case: Case) -> set[str | None]:
    """The designs that lack cards for want of a paper that may be short."""
    incomplete = {count.card for count in case.plan.cards if count.complete < count.asked}
    return {
        use.card
        for missing in case.plan.uncut
        if missing.piece in case.pieces and _may_be_short(case, case.pieces[missing.piece])
        for use in missing.uses
        if use.card in incomplete
    }


def _may_be_short(case: Case, piece: Piece) -> bool:
    """Whether a piece's paper cannot be bought and what is at hand may not be all that is needed.

    Where sheets differ in cost, their number says nothing about whether those at hand suffice, but
    one in plenty that holds the piece does.
    """
    paper = case.papers[piece.paper]
    if paper.buy:
        return False
    have = total_of(sheet.have for sheet in paper.sheets if case.holds(paper, sheet, piece))
    needed = sum(f.needed for f in case.plan.papers if f.paper == paper.name)
    return have is not None and (not counts_sheets(paper) or needed > have)


def by_use(uses: Iterable[Use]) -> Counter[tuple[str | None, str, Edge | None]]:
    """The counts of some uses by card, layer and end."""
    counts: Counter[tuple[str | None, str, Edge | None]] = Counter()
    for use in uses:
        counts[use.card, use.layer, use.end] += use.count
    return counts


def uncut_of(case: Case, card: Card) -> dict[str, list[tuple[int, ...]]]:
    """By layer of a card, for every way to cut it, how many of each of its parts are listed as uncut."""
    uncut: Counter[tuple[EqualPieces, str, Edge | None]] = Counter()
    for missing in case.plan.uncut:
        if missing.piece in case.pieces:
            for use in missing.uses:
                if use.card == card.name:
                    uncut[kind_of(case.pieces[missing.piece]), use.layer, use.end] += use.count
    return {
        layer: [tuple(uncut[part.kind, layer, part.end] for part in way) for way in ways]
        for layer, ways in case.ways[card.name].items()
    }


def lacking_of(case: Case, card: Card) -> dict[str, int]:
    """How many of each layer of a card are lacking: where they are two ends, one lacks with either."""
    return {
        layer: sum(max(parts) for parts in ways) for layer, ways in uncut_of(case, card).items()
    }


def check_cards(case: Case) -> Iterator[PlanFault]:
    """The number of complete cards is the number for which all pieces are cut."""
    cards = {card.name: card for card in case.batch.cards}
    asked = {card.name: card for card in case.asked.cards}
    if [count.card for count in case.plan.cards] != list(cards):
        yield PlanFault(
            "cards", "plan", f"its cards are not those of the batch: {', '.join(cards)}."
        )
    for count in case.plan.cards:
        card = cards.get(count.card)
        if card is None:
            continue
        if count.asked != card.make:
            said = f"the plan says {count.asked} are asked for; the batch says {card.make}."
            yield PlanFault("cards", card.name, said)
        complete = _complete(card, lacking_of(case, card))
        yield from _find_wrong_numbers(asked[card.name], count.asked, complete)
        if count.complete != complete:
            said = f"the plan says {count.complete} are complete; the pieces cut give {complete}."
            yield PlanFault("cards", card.name, said)


def _find_wrong_numbers(card: Card, number: int, complete: int) -> Iterator[PlanFault]:
    """Where a design without a number has more cards, or fewer, than it may."""
    if card.make is not None:
        return
    if card.at_most is not None and complete > card.at_most:
        said = f"{complete} are made; at most {card.at_most} are asked for."
        yield PlanFault("cards", card.name, said)
    if number != max(complete, card.at_least):
        said = f"the plan says {number} are asked for; {complete} are made"
        yield PlanFault("cards", card.name, f"{said}, at least {card.at_least} asked for.")


def each_of(card: Card) -> dict[str, int]:
    """How many pieces one card takes of each layer, of its base, and of an envelope that is cut."""
    each = {layer.name: layer.each for layer in card.layers}
    if card.base is not None:
        each[BASE] = 1
    if card.envelope is not None and card.envelope.paper is not None:
        each[ENVELOPE] = 1
    return each


def _complete(card: Card, lacking: dict[str, int]) -> int:
    """How many cards can be completed, given the layer with most lacking; spare sets are used first."""
    sets = (card.make or 0) + card.spares
    left = [(n * sets - lacking.get(layer, 0)) // n for layer, n in each_of(card).items()]
    return min([card.make or 0, *left])


def sheet_counts(case: Case, paper: Paper) -> dict[SheetIdentity, tuple[int, int]]:
    """By key of sheet, how many are cut: at hand, and to buy."""
    counts: dict[SheetIdentity, tuple[int, int]] = {}
    for one in case.sheets_of(paper.name):
        key = identity_of_layout(one.layout, paper)
        at_hand, bought = counts.get(key, (0, 0))
        to_buy = one.layout.to_buy
        counts[key] = at_hand + one.layout.alike - to_buy, bought + to_buy
    return counts


def check_at_hand(case: Case) -> Iterator[PlanFault]:
    """No more sheets are cut than there are; none is bought that is there or cannot be bought."""
    for paper in case.papers.values():
        for key, (at_hand, bought) in sheet_counts(case, paper).items():
            kind, width, height, *_ = key
            where = f"{paper.name}, {size_words(width, height, case.batch.unit)}"
            have = _have(paper, key)
            if have is not None and at_hand > have:
                said = f"{at_hand} sheets are cut as if at hand; there are {have}."
                yield PlanFault("at hand", where, said)
            if not bought:
                continue
            if kind != "sheet":
                what = "a covered middle" if kind == "middle" else f"an {kind}"
                yield PlanFault("to buy", where, f"{what} cannot be bought.")
            elif not paper.buy:
                said = f"{bought} sheets are to buy, and it cannot be bought."
                yield PlanFault("to buy", where, said)
            if have is None or at_hand < have:
                said = f"{bought} sheets are to buy while some at hand are not used."
                yield PlanFault("to buy", where, said)


def _have(paper: Paper, key: SheetIdentity) -> int | None:
    """How many sheets of a key are at hand; None is plenty."""
    haves = [sheet.have for sheet in paper.sheets if identity_of_sheet(paper, sheet) == key]
    return total_of(haves)


def total_of(haves: Iterable[int | None]) -> int | None:
    """The sum of numbers at hand; None, plenty, if any of them is."""
    total = 0
    for have in haves:
        if have is None:
            return None
        total += have
    return total


def check_chosen(case: Case) -> Iterator[PlanFault]:
    """For papers to choose from, what has to be bought is counted right and not below its bound.

    That no other choice needs less is taken on trust.
    """
    of, each = _choice_costs(case)
    value = sum(
        bought * each.get((name, key), 0)
        for name, paper in case.papers.items()
        for key, (_, bought) in sheet_counts(case, paper).items()
    )
    chosen = case.plan.chosen
    if chosen is None:
        return
    if chosen.of != of:
        yield PlanFault("chosen", "plan", f"the papers chosen are not counted in {chosen.of}.")
    if chosen.value != value:
        said = f"the papers chosen are said to take {chosen.value} to buy; it is {value}."
        yield PlanFault("chosen", "plan", said)
    if chosen.least > chosen.value:
        said = f"no choice is said to need less than {chosen.least}; this one needs {chosen.value}."
        yield PlanFault("chosen", "plan", said)


def _choice_costs(case: Case) -> tuple[str, dict[tuple[str, SheetIdentity], int]]:
    """The unit in which sheets to buy of papers to choose from are counted, and each one's cost."""
    layers = [layer for card in case.batch.cards for layer in card.layers if layer.choice]
    names = {option.paper for layer in layers for option in options_of(layer)}
    sheets = [
        (paper, sheet)
        for paper in case.papers.values()
        for sheet in paper.sheets
        if paper.name in names and paper.buy and not sheet.offcut
    ]
    costs = [sheet.price or 0 for _, sheet in sheets]
    of = "price"
    if not all(costs) or not sheets:
        areas = [sheet.width * sheet.height for _, sheet in sheets]
        costs = [area // gcd(*areas) for area in areas]
        of = "area" if any(cost > 1 for cost in costs) else "sheets"
    keys = [(paper.name, identity_of_sheet(paper, sheet)) for paper, sheet in sheets]
    return of, dict(zip(keys, costs, strict=True))
