"""Whole cards where paper is short: what is left uncut for them, and that no plan makes more."""

from collections import Counter
from collections.abc import Iterator, Mapping

from nesting.batch import Card
from nesting.checker.asked.equal import EqualPieces, kind_of
from nesting.checker.asked.wanted import papers_of, used_as_at_hand
from nesting.checker.case import Case
from nesting.checker.fault import PlanFault
from nesting.checker.rules.card_groups import (
    CardGroup,
    at_most,
    card_groups_of,
    loose_cut,
    most_of_kinds,
)
from nesting.checker.rules.proofs import find_fuller_sheets
from nesting.checker.rules.tallies import each_of, total_of, uncut_of
from nesting.papers import Paper
from nesting.plan import WholeCards


def check_unmade(case: Case) -> Iterator[PlanFault]:
    """Pieces of cards that will not be made are not cut, of any paper; those of cards made are.

    Fewer are left uncut where the bags hold more of a piece than the cards made take.
    """
    complete = {count.card: count.complete for count in case.plan.cards}
    for card in case.batch.cards:
        make = card.make or 0
        made = complete.get(card.name, make)
        if made >= make:
            continue
        uncut = uncut_of(case, card)
        for layer, each in each_of(card).items():
            unmade = each * (make + card.spares - made)
            idle = _most_idle(case, card, layer)
            of_ends = {sum(way[end] for way in uncut[layer]) for end in (0, -1)}
            for missing in sorted(of_ends):
                if not unmade - idle <= missing <= unmade:
                    said = f"{missing} of {layer} are left uncut; of the cards not made it is"
                    yield PlanFault("uncut", card.name, f"{said} {unmade}.")


def _most_idle(case: Case, card: Card, layer: str) -> int:
    """How many pieces for a layer may lie in the bags with no card to go on: of those not cut any more."""
    cut = {blank.piece for one in case.sheets for blank, _ in one.blanks}
    return sum(
        case.in_bags(piece.id)
        for piece, uses in case.matched
        if piece.id not in cut and any((use.card, use.layer) == (card.name, layer) for use in uses)
    )


def check_whole_cards(case: Case) -> Iterator[PlanFault]:
    """Each entry counts right, and no plan makes more cards than it says."""
    entries, groups = case.plan.whole_cards, card_groups_of(case)
    unnumbered = any(card.make is None for card in case.asked.cards)
    if (entries or unnumbered) and [entry.cards for entry in entries] != [
        tuple(group.counts) for group in groups
    ]:
        said = "its entries are not the first designs and the others, those with a number first."
        yield PlanFault("whole cards", "plan", said)
        return
    for entry, group in zip(entries, groups, strict=False):
        where = ", ".join(entry.cards)
        if entry.of != ("each" if group.even else "all"):
            yield PlanFault("whole cards", where, f"it counts {entry.of} of them.")
            continue
        asked, made = group.asked, group.reached(group.counts)
        if (entry.asked, entry.made) != (asked, made):
            numbers = _out_of(entry.made, entry.asked), _out_of(made, asked)
            said = f"it says {numbers[0]}; the plan makes {numbers[1]}."
            yield PlanFault("whole cards", where, said)
        if entry.most < made or (asked is not None and entry.most > asked):
            said = f"{entry.most} are said to be possible; the plan makes {_out_of(made, asked)}."
            yield PlanFault("whole cards", where, said)
        for said in _find_gaps(case, entry, group):
            yield PlanFault("whole cards", where, said)


def check_one_more(case: Case) -> Iterator[PlanFault]:
    """What one more sheet would give is said of every size that counts, and of every design."""
    at_most = {
        card.name: card.at_most if card.make is None else card.make for card in case.asked.cards
    }
    at_hand = used_as_at_hand(case.asked)
    used = papers_of(case.asked.cards) | {piece.paper for piece in case.asked.pieces}
    counted = [
        (paper.name, sheet.width, sheet.height)
        for paper in case.asked.papers
        if paper.name in at_hand or (paper.name in used and not paper.buy)
        for sheet in dict.fromkeys(paper.sheets)
        if not sheet.offcut and sheet.have is not None
    ]
    complete = {count.card: count.complete for count in case.plan.cards}
    # Spare sets and loose pieces, which come before cards without a number, are not in ``made``.
    alone = not case.asked.pieces and not any(card.spares for card in case.asked.cards)
    lacking = bool(case.plan.uncut)
    told = [(more.paper, more.width, more.height) for more in case.plan.one_more]
    if told and told != counted:
        said = "it is not said of each size of the sheets that limit what is made."
        yield PlanFault("one more", "plan", said)
    for more in case.plan.one_more:
        where = f"one more sheet of {more.paper}"
        if more.made.keys() != at_most.keys():
            said = f"its designs are not those of the batch: {', '.join(at_most)}."
            yield PlanFault("one more", where, said)
        for name, made in more.made.items():
            most = at_most.get(name)
            if made < 0 or (most is not None and made > most):
                yield PlanFault("one more", where, f"it would give {made} of {name}.")
        changes = [made - complete.get(name, 0) for name, made in more.made.items()]
        gives, takes = any(one > 0 for one in changes), any(one < 0 for one in changes)
        if more.better and not lacking and not gives:
            yield PlanFault("one more", where, "it is said to help, and gives no card more.")
        if alone and not more.better and gives and not takes:
            yield PlanFault("one more", where, "it is said not to help, and gives more cards.")


def _out_of(made: int, asked: int | None) -> str:
    return f"{made} of {'as many as possible' if asked is None else asked}"


def _find_gaps(case: Case, entry: WholeCards, group: CardGroup) -> Iterator[str]:
    """What is missing in the proof that no more cards can be made."""
    if entry.by not in ("asked", "area", "values", "search"):
        yield f"{entry.by!r} is no kind of proof."
        return
    by_numbers = group.most(lambda _: 0, 0)
    if entry.by == "search" and entry.cuts != "edge-to-edge":
        yield "patterns with cuts that stop are not all searched for."
    if entry.by == "search" or (by_numbers is not None and entry.most >= by_numbers):
        return
    if entry.by == "asked":
        yield f"{entry.most} is not what is asked for, {'no number' if by_numbers is None else by_numbers}."
        return
    # What is made is fewer than what the proof speaks of, and circles in groups take less room.
    case = at_most(case)
    if entry.by == "area":
        proofs = [
            _most_by_area(case, paper, group) for paper in _limited(case) if _is_counted(paper)
        ]
        most = min((number for number in proofs if number is not None), default=None)
    else:
        faults = list(_find_wrong_values(case, entry))
        yield from faults
        if faults:
            return
        papers = {held.paper for held in entry.held}
        claims = {(h.paper, h.width, h.height): h.value for h in entry.held}
        held = sum(
            claims[name, sheet.width, sheet.height] * (sheet.have or 0)
            for name in papers
            for sheet in case.papers[name].sheets
        )
        valued = {one.id: kind_of(one) for one in (*case.plan.unchosen, *case.plan.pieces)}
        worth = {valued[id_]: value for id_, value in entry.values.items()}
        most = _most(case, group, worth, held + _bagged(case, worth))
    if most is None or entry.most < most:
        proof = "nothing" if most is None else most
        yield f"no more than {entry.most} are said to be possible; the proof is of {proof}."


def _limited(case: Case) -> Iterator[Paper]:
    """The papers that cannot be bought."""
    return (paper for paper in case.papers.values() if not paper.buy)


def _is_counted(paper: Paper) -> bool:
    """Whether no sheets of it are there in plenty."""
    return total_of(sheet.have for sheet in paper.sheets) is not None


def _most_by_area(case: Case, paper: Paper, group: CardGroup) -> int | None:
    """How many cards the usable area of one paper allows."""
    area = sum(case.usable_area(paper, sheet) * (sheet.have or 0) for sheet in paper.sheets)
    most = most_of_kinds(case)
    left = {kind: most[kind] - case.bags.get(kind, 0) for kind in case.kinds_of(paper)}
    worth = {
        kind: case.least_area(paper, kind, number) for kind, number in left.items() if number > 0
    }
    return _most(case, group, worth, area + _bagged(case, worth))


def _bagged(case: Case, worth: Mapping[EqualPieces, int]) -> int:
    """What the pieces in the bags are worth, as many as can be asked for."""
    most = most_of_kinds(case)
    return sum(value * min(case.bags.get(kind, 0), most[kind]) for kind, value in worth.items())


def _most(case: Case, group: CardGroup, worth: Mapping[EqualPieces, int], held: int) -> int | None:
    """How many cards of a group the value held allows, after what is made before them."""
    cards = {card.name: card for card in case.batch.cards}
    left = held - sum(
        _worth(case, cards[name], worth) * number for name, number in group.earlier.items()
    )
    if group.after_all:
        left -= sum(
            worth.get(kind_of(case.pieces[id_]), 0) * number
            for id_, number in loose_cut(case).items()
            if number
        )
    return group.most(lambda name: _worth(case, cards[name], worth), max(0, left))


def _worth(case: Case, card: Card, worth: Mapping[EqualPieces, int]) -> int:
    """The least value of the pieces of one card: of each layer, in its cheapest way."""
    return sum(
        min(sum(part.each * worth.get(part.kind, 0) for part in way) for way in ways)
        for ways in case.ways[card.name].values()
    )


def _plenty_of(paper: Paper) -> set[tuple[int, int]]:
    """The sizes of its sheets that are there in plenty."""
    return {(sheet.width, sheet.height) for sheet in paper.sheets if sheet.have is None}


def _find_wrong_values(case: Case, entry: WholeCards) -> Iterator[str]:
    """Why values, and what sheets are said to hold of them, are no proof."""
    numbers = [*entry.values.values(), *(held.value for held in entry.held)]
    if any(not isinstance(number, int) or number < 0 for number in numbers):
        yield "the proof needs whole numbers of 0 or more."
        return
    limited = {paper.name: paper for paper in _limited(case)}
    claims: dict[str, dict[tuple[int, int], int]] = {}
    for held in entry.held:
        claims.setdefault(held.paper, {})[held.width, held.height] = held.value
    counted = Counter((held.paper, held.width, held.height) for held in entry.held)
    for name, sizes in claims.items():
        if name not in limited or any(sizes.get(size) for size in _plenty_of(limited[name])):
            yield f"the proof counts the sheets of {name!r}, which is not limited."
            return
        if sizes.keys() != {(s.width, s.height) for s in limited[name].sheets}:
            yield f"the proof does not have exactly one value for each size of {name!r}."
            return
    if any(number > 1 for number in counted.values()):
        yield "the proof has two values for a size of sheet."
        return
    papers = {piece.id: piece.paper for piece in (*case.plan.unchosen, *case.plan.pieces)}
    for id_ in entry.values:
        if papers.get(id_) not in claims:
            yield f"the proof gives a value to {id_!r}, which is no piece of its papers."
            return
    for name, sizes in claims.items():
        stopped = entry.cuts == "stopped"
        yield from find_fuller_sheets(case, entry.values, limited[name], sizes, stopped=stopped)
