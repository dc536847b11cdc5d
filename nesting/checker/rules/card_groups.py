"""Which designs are counted together, what is asked and made of them, and what limits each alone."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from nesting.batch import Card
from nesting.checker.asked.equal import EqualPieces, kind_of
from nesting.checker.case import Case
from nesting.checker.rules.tallies import each_of, lacking_of
from nesting.papers import Paper


@dataclass(frozen=True, slots=True)
class CardGroup:
    """Designs of equal rank: the plan's ``counts`` of them, and the most of each (None: no limit).

    ``earlier`` has the sets cut before them, of any design; ``before`` those of their own. ``asked`` is
    None for as many as possible. ``even`` says that the fewest count, ``after_all`` that spare sets and
    loose pieces come before.
    """

    counts: dict[str, int]
    limits: dict[str, int | None]
    earlier: dict[str, int]
    before: dict[str, int]
    asked: int | None
    even: bool = False
    after_all: bool = False

    def reached(self, counts: Mapping[str, int]) -> int:
        """What counts: the sum, or the fewest of any."""
        return min(counts.values()) if self.even else sum(counts.values())

    def most(self, worth: Callable[[str], int], left: int) -> int | None:
        """What can be reached with so much value left over, by each one's worth; None: no limit.

        Cards of least value come first, or as many of each.
        """
        if self.even:
            return self._most_of_each(worth, left)
        most = sum(self.before.values())
        for name in sorted(self.counts, key=worth):
            limit, each = self.limits[name], worth(name)
            further = None if limit is None else limit - self.before[name]
            if each:
                further = left // each if further is None else min(further, left // each)
            if further is None:
                return None
            left -= further * each
            most += further
        return most

    def _most_of_each(self, worth: Callable[[str], int], left: int) -> int | None:
        values = {name: worth(name) for name in self.counts}
        limits = [limit for limit in self.limits.values() if limit is not None]
        if not limits and not any(values.values()):
            return None
        most = min(self.before.values())
        while all(most < limit for limit in limits) and left >= sum(
            value * max(0, most + 1 - self.before[name]) for name, value in values.items()
        ):
            most += 1
        return most


def card_groups_of(case: Case) -> list[CardGroup]:
    """The designs with a number, then those without; in both, the first ones alone, then the others.

    Where those without lack some of what is asked at least, that is a group before them.
    """
    told = {count.card: count.complete for count in case.plan.cards}
    complete = {card.name: told.get(card.name, 0) for card in case.asked.cards}
    numbered = {card.name: card.make for card in case.asked.cards if card.make is not None}
    groups = _in_order(case, dict(numbered), complete, {}, dict.fromkeys(numbered, 0), numbered)
    unnumbered = [card for card in case.asked.cards if card.make is None]
    least = {card.name: card.at_least for card in unnumbered}
    earlier = {name: complete[name] for name in numbered} | spares_made(case)
    before = {name: min(complete[name], number) for name, number in least.items()}
    if before != least:
        wanted = {name: number for name, number in least.items() if number}
        counts = {name: before[name] for name in wanted}
        none = dict.fromkeys(wanted, 0)
        asked = sum(wanted.values())
        groups.append(CardGroup(counts, dict(wanted), earlier, none, asked, after_all=True))
    earlier = {name: earlier.get(name, 0) + before.get(name, 0) for name in complete}
    limits = {card.name: most_cards(case, card) for card in unnumbered}
    limits = {n: None if most is None else max(most, least[n]) for n, most in limits.items()}
    at_most = {card.name: card.at_most for card in unnumbered}
    groups += _in_order(case, limits, complete, earlier, before, at_most, after_all=True)
    return groups


def _in_order(
    case: Case,
    limits: dict[str, int | None],
    complete: Mapping[str, int],
    earlier: Mapping[str, int],
    before: Mapping[str, int],
    asked: Mapping[str, int | None],
    *,
    after_all: bool = False,
) -> list[CardGroup]:
    """The groups of some designs: each that comes first by itself, then the others together.

    Where they are to be even and some are complete with the fewest made, the others are a group after.
    """
    first = [name for name in case.asked.first if name in limits]
    others = [name for name in limits if name not in first]
    groups: list[CardGroup] = []
    made, todo = dict(earlier), [*([name] for name in first), others]
    while todo:
        names = todo.pop(0)
        even = case.asked.aim == "even" and len(names) > 1
        known = [number for number in (asked[name] for name in names) if number is not None]
        if even:
            wanted = min(known, default=None)
        else:
            wanted = sum(known) if len(known) == len(names) else None
        counts = {name: complete[name] for name in names}
        if names:
            own = {name: limits[name] for name in names}
            base = {name: before[name] for name in names}
            groups.append(CardGroup(counts, own, dict(made), base, wanted, even, after_all))
        rest = _rest(groups[-1]) if even else []
        todo = [rest, *todo] if rest else todo
        done = [name for name in names if name not in rest]
        made |= {name: made.get(name, 0) + complete[name] - before[name] for name in done}
    return groups


def _rest(group: CardGroup) -> list[str]:
    """The designs that may have more than the fewest, where others may not."""
    fewest = group.reached(group.counts)
    rest = [n for n, limit in group.limits.items() if limit is None or limit > fewest]
    return rest if len(rest) < len(group.limits) else []


def at_most(case: Case) -> Case:
    """The case with as many of each piece asked for as any plan can take."""
    demand = _most_demand(case)
    cut = {id_: case.bags.get(kind_of(case.pieces[id_]), 0) for id_ in demand}
    to_cut = {id_: max(0, number - cut[id_]) for id_, number in demand.items()}
    return replace(case, demand=demand, to_cut=to_cut)


def most_of_kinds(case: Case) -> Counter[EqualPieces]:
    """How many of each kind any plan can take, in whichever ways it cuts the layers."""
    limits = _most_sets(case)
    counts: Counter[EqualPieces] = Counter()
    for card in case.batch.cards:
        sets = limits.get(card.name, (card.make or 0) + card.spares)
        for ways in case.ways[card.name].values():
            for part in (part for way in ways for part in way):
                counts[part.kind] += sets * part.each
    for kind, uses in case.wanted.items():
        counts[kind] += sum(use.count for use in uses if use.card is None)
    return counts


def _most_sets(case: Case) -> dict[str, int]:
    """The most sets of each design that has no number."""
    return {
        card.name: max(most_cards(case, card) or 0, card.at_least)
        for card in case.asked.cards
        if card.make is None
    }


def _most_demand(case: Case) -> dict[str, int]:
    """How many of each piece any plan can take, by id: designs without a number take their most."""
    limits = _most_sets(case)
    each = {card.name: each_of(card) for card in case.asked.cards}
    return {
        piece.id: sum(
            limits[use.card] * each[use.card][use.layer] if use.card in limits else use.count
            for use in uses
        )
        for piece, uses in case.matched
    }


def spares_made(case: Case) -> dict[str, int]:
    """The cards complete and the spare sets, together, of designs with spares."""
    sets = {}
    for card in case.batch.cards:
        if card.spares:
            asked = (card.make or 0) + card.spares
            uncut = lacking_of(case, card)
            lacking = (-(-uncut.get(layer, 0) // n) for layer, n in each_of(card).items())
            sets[card.name] = asked - max(lacking, default=0)
    return sets


def loose_cut(case: Case) -> dict[str, int]:
    """How many of each piece are cut as loose ones."""
    cut: Counter[str] = Counter()
    for piece, uses in case.matched:
        cut[piece.id] += sum(use.count for use in uses if use.card is None)
    for missing in case.plan.uncut:
        if missing.piece in cut:
            cut[missing.piece] -= sum(use.count for use in missing.uses if use.card is None)
    return dict(cut)


def most_cards(case: Case, card: Card) -> int | None:
    """How many cards of a design without a number there can be: what is said, and what areas allow."""
    limits = [card.at_most] if card.at_most is not None else []
    alone: Counter[str] = Counter()
    covered: Counter[str] = Counter()  # by what is in the bags
    for ways in case.ways[card.name].values():
        kinds = {part.kind for way in ways for part in way}
        areas = {kind: _area_that_holds(case, case.papers[kind.paper], kind) for kind in kinds}
        if None in areas.values():
            continue
        each = ways[0][0].each
        least = min(sum(_no_less_than(part.kind) for part in way) for way in ways)
        cut = sum(case.bags.get(kind, 0) * _no_less_than(kind) for kind in kinds)
        sources = {(kind.paper, kind.face) for kind in kinds}
        fit = sum(
            max(area or 0 for kind, area in areas.items() if (kind.paper, kind.face) == source)
            for source in sources
        )
        limits.append((fit + cut) // least // each)
        if len(sources) == 1:
            alone[ways[0][0].kind.paper] += each * least
            covered[ways[0][0].kind.paper] += cut
    for name, needed in alone.items():
        paper = case.papers[name]
        there = covered[name] + sum(
            (sheet.have or 0) * case.usable_area(paper, sheet) for sheet in paper.sheets
        )
        limits.append(there // needed)
    return min(limits, default=None)


def _area_that_holds(case: Case, paper: Paper, kind: EqualPieces) -> int | None:
    """The usable area of the sheets that hold a piece; None where these are without number."""
    total = 0
    for sheet in paper.sheets:
        if case.holds(paper, sheet, kind):
            if sheet.have is None:
                return None
            total += sheet.have * case.usable_area(paper, sheet)
    return total


def _no_less_than(kind: EqualPieces) -> int:
    """An area that each takes of its sheet: three quarters of a square for a circle, even in groups."""
    if kind.shape == "circle":
        return (kind.width + kind.die_allowance) ** 2 * 3 // 4
    return (kind.width + 2 * kind.die_allowance) * (kind.height + 2 * kind.die_allowance)
