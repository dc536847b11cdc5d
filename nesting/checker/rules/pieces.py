"""The plan answers this batch, with the pieces that the batch comes to."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from nesting.checker.asked.cut_already import NOTHING_BEGUN
from nesting.checker.asked.equal import kind_of
from nesting.checker.case import Case
from nesting.checker.fault import PlanFault, layer_name, named_use, repeated
from nesting.checker.rules.ways import uses_of
from nesting.pieces import Piece, Use
from nesting.units import size_words


def check_asked(case: Case) -> Iterator[PlanFault]:
    """The plan answers this batch, every default said; what to prefer changes nothing that is asked."""
    if replace(case.plan.asked, prefer=case.asked.prefer) != case.asked:
        said = f"it was made for another batch than {case.batch.name!r}, or another state of it."
        yield PlanFault("asked", "plan", said)


def check_choices(case: Case) -> Iterator[PlanFault]:
    """Where a layer can be cut in several ways, every card has one; papers are alike where asked.

    Of two ends there are as many, or one of them would be seen to be missing.
    """
    for card in case.batch.cards:
        for layer in card.layers:
            ways = case.ways[card.name][layer.name]
            if len(ways) == 1:
                continue
            where = f"{card.name}, {layer.name}"
            counts = [[uses_of(case, card, part) for part in way] for way in ways]
            if any(len(set(own)) > 1 for own in counts):
                yield PlanFault(
                    "choice", where, "of two ends that belong together, one is lacking."
                )
            taken = {
                (way[0].kind.paper, way[0].kind.face)
                for way, own in zip(ways, counts, strict=True)
                if any(own)
            }
            total, asked = (
                sum(own[0] for own in counts),
                ((card.make or 0) + card.spares) * layer.each,
            )
            if total != asked:
                what = "papers are chosen" if layer.choice is not None else "ways are chosen"
                said = f"{what} for {total} pieces; {asked} are asked for."
                yield PlanFault("choice", where, said)
            if layer.choice is not None and layer.choice.alike == "all" and len(taken) > 1:
                yield PlanFault("choice", where, "different papers are chosen; one is asked for.")
            lacking = [
                use.count
                for missing in case.plan.uncut
                for use in missing.uses
                if (use.card, use.layer) == (card.name, layer.name)
            ]
            if any(count % layer.each for count in (*(own[0] for own in counts), *lacking)):
                yield PlanFault(
                    "choice", where, "the pieces of one card are from different papers."
                )


def find_unasked(case: Case) -> Iterator[PlanFault]:
    """Pieces that nobody asks for: of a size like none, rows of circles would come to no end."""
    for piece in case.unasked:
        size = size_words(piece.width, piece.height, case.batch.unit)
        said = f"no piece of {size} like it is asked for, or it stands twice."
        yield PlanFault("piece", f"piece {piece.letter} {piece.name}", said)
    possible = {kind for paper in case.papers.values() for kind in case.kinds_of(paper)}
    for piece in case.plan.unchosen:
        if kind_of(piece) not in possible or kind_of(piece) in case.wanted:
            said = "no way that is not taken asks for it."
            yield PlanFault("unchosen", f"piece {piece.id}", said)


def check_unchosen(case: Case) -> Iterator[PlanFault]:
    """Of pieces of ways that are not taken, nothing more is said."""
    ids = {piece.id for piece in case.plan.pieces}
    for piece in case.plan.unchosen:
        where = f"piece {piece.id}"
        if piece.id in ids:
            yield PlanFault("unchosen", where, "another piece has this id.")
        if piece.demand or piece.uses or piece.letter or piece.in_bags:
            yield PlanFault("unchosen", where, "it has a letter, or is asked for.")
        ids.add(piece.id)


def check_pieces(case: Case) -> Iterator[PlanFault]:
    """The list of pieces is what the cards and loose pieces come to."""
    for piece, uses in case.matched:
        where = f"piece {piece.letter} {piece.name}"
        yield from _find_wrong_names(piece, uses)
        yield from _find_wrong_bags(case, piece)
        demand = sum(use.count for use in uses)
        if piece.demand != demand:
            said = f"the plan says {piece.demand} are needed; the batch asks for {demand}."
            yield PlanFault("piece", where, said)
        if Counter(piece.uses) != Counter(uses):
            asked = "; ".join(f"{named_use(use)}: {use.count}" for use in uses)
            said = f"what it is for differs from the batch, which has {asked}."
            yield PlanFault("piece", where, said)
    for kind, uses in case.lacking.items():
        size = size_words(kind.width, kind.height, case.batch.unit)
        said = f"a piece of {size} from {kind.paper!r} is asked for and not in the plan."
        yield PlanFault("piece", named_use(uses[0]), said)
    for id_ in repeated(piece.id for piece in case.plan.pieces):
        yield PlanFault("piece", f"piece {id_}", "two pieces have this id.")
    for letter in repeated(piece.letter for piece in case.plan.pieces):
        yield PlanFault("piece", f"piece {letter}", "two pieces have this letter.")


def _find_wrong_bags(case: Case, piece: Piece) -> Iterator[PlanFault]:
    """A count in the bags, or a letter, that is not the one from the plans before."""
    where = f"piece {piece.letter} {piece.name}"
    in_bags = case.in_bags(piece.id)
    if piece.in_bags != in_bags:
        said = (
            f"the plan says {piece.in_bags} are in the bags; of those cut before it is {in_bags}."
        )
        yield PlanFault("piece", where, said)
    letters = {kind_of(one): one.letter for one in (case.batch.begun or NOTHING_BEGUN).pieces}
    own = letters.get(kind_of(piece))
    if own is not None and piece.letter != own:
        yield PlanFault("piece", where, f"its letter was {own} before.")
    if own is None and piece.letter in letters.values():
        yield PlanFault("piece", where, "its letter was that of another piece before.")


def _find_wrong_names(piece: Piece, uses: list[Use]) -> Iterator[PlanFault]:
    """A name that is not that of the layers it is for, a letter that is none."""
    where = f"piece {piece.letter} {piece.name}"
    name = " / ".join(dict.fromkeys(layer_name(use) for use in uses))
    if piece.name != name:
        yield PlanFault("piece", where, f"its name is that of something else; it is for {name}.")
    if not re.fullmatch("[A-Z]+", piece.letter):
        yield PlanFault(
            "piece", where, f"{piece.letter!r} is not a letter, or several, from A to Z."
        )
