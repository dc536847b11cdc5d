"""One walk from what was asked to its pieces: defaults, places of layers, sizes, every fault."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Self

from nesting.batch import Batch, BatchError, Card, Fault, KeyPath
from nesting.cards.clashes import find_turned_prints
from nesting.cards.enclosing import enclose
from nesting.cards.filling import fill_in
from nesting.cards.fitting import find_misfits, find_sheet_faults, without_misfits
from nesting.cards.joining import hiding_words, joints_of
from nesting.cards.merging import Request, Taken, loose_request, merge, nameless, requests_of
from nesting.cards.most_cards import most_by_area
from nesting.cards.placing import PlacedLayer, place
from nesting.nearest import Nearest
from nesting.pieces import Piece


@dataclass(frozen=True, slots=True)
class Resolved:
    """What a batch comes to; whatever needs its layers or pieces takes them from here.

    ``batch`` has every default filled in. ``placed`` has, for each card in order, the card itself
    and its layers by name, from bottom to top. ``requests`` are what all layers, bases and loose
    pieces ask for. Where there are ``faults``, all of these have what is free of them. ``most`` has,
    for designs without a number, one that no plan exceeds, or what is asked at least if that is more;
    they ask for so many until they are ``counted``.
    """

    batch: Batch
    placed: tuple[Mapping[str, PlacedLayer], ...]
    requests: tuple[Request, ...]
    faults: tuple[Fault, ...]
    most: Mapping[str, int] = field(default_factory=dict)

    def sound(self) -> Self:
        """Itself, where it is free of faults.

        Raises
        ------
        BatchError
            It is not; every fault is in it.
        """
        if self.faults:
            raise BatchError(self.faults)
        return self

    def counted(self, numbers: Mapping[str, int]) -> Self:
        """The same with numbers for the designs without one, and nothing bought of their papers."""
        requests = tuple(
            replace(one, sets=numbers.get(one.card or "", one.sets)) for one in self.requests
        )
        cards = tuple(
            replace(card, make=numbers[card.name], at_most=None, at_least=0)
            if card.name in numbers
            else card
            for card in self.batch.cards
        )
        papers = tuple(replace(paper, buy=self.batch.may_buy(paper)) for paper in self.batch.papers)
        batch = replace(self.batch, cards=cards, papers=papers)
        return replace(self, batch=batch, requests=requests, most={})

    def pieces(self, taken: Taken | None = None) -> tuple[Piece, ...]:
        """Every piece to be cut, equal ones merged, in the order of the file.

        A layer asks for ``(make + spares) x each`` pieces, a base for one per card and spare.
        Where there are papers to choose from, ``taken`` says how many sets take which; all the
        first, where it does not.
        """
        return merge(self.requests, taken or {}, self._begun)

    def candidates(self) -> tuple[Piece, ...]:
        """The same with every one of the papers to choose from taken for all sets."""
        return merge(self.requests, None, self._begun)

    @property
    def _begun(self) -> tuple[Piece, ...]:
        return self.batch.begun.pieces if self.batch.begun else ()


def resolve(batch: Batch) -> Resolved:
    """Fill in defaults, place layers, work out sizes, and collect every fault on the way.

    Faults are those beyond the shape of a file: sheets that cannot be cut, unknown papers, missing
    faces, designs put first that are not there, layers that cannot be placed, numbers of cards that
    do not go together, pieces larger than every sheet, and last, as many as possible of a design that
    nothing limits. What has a fault is not looked at further, so none is told twice.
    """
    nearest = Nearest()
    faults = list(find_sheet_faults(batch))
    without = {fault.path[1] for fault in faults}  # papers with a sheet that gives nothing
    if batch.trimmer.kind == "lever" and batch.trimmer.can_stop:
        expected = "no: a lever cuts from edge to edge"
        faults.append(Fault(("trimmer", "can stop"), "can stop with a lever", expected))
    filled, unclear = fill_in(batch, nearest)
    faults += unclear
    faults += find_order_faults(batch.first, [card.name for card in batch.cards])
    placed, cards, papers = [], [], filled.papers_by_name
    for asked in filled.cards:
        card, unenclosed = enclose(asked, batch)
        for number, layer in enumerate(card.layers):
            path: KeyPath = ("cards", card.name, "layers", number)
            faults += find_turned_prints(path, layer, papers)
        layers, misplaced = place(card, nearest)
        cards.append(card)
        placed.append(layers)
        faults += misplaced
        faults += unenclosed
        faults += _find_number_faults(card)
    filled = replace(filled, cards=tuple(cards))
    faults += _find_unjoinable(filled, placed, faults)
    requests = tuple(without_misfits(_sound_requests(filled, placed, faults), filled))
    faults += find_misfits((one for one in requests if one.piece.paper not in without), batch)
    most: dict[str, int] = {}
    for card in filled.cards:
        if card.make is None:
            most[card.name] = _most_of(card, requests, filled, faults)
    requests = tuple(replace(one, sets=most.get(one.card or "", one.sets)) for one in requests)
    return Resolved(filled, tuple(placed), requests, tuple(faults), most)


def _find_unjoinable(
    batch: Batch, placed: Sequence[Mapping[str, PlacedLayer]], faults: Iterable[Fault]
) -> list[Fault]:
    """Find layers that must be cut as two ends and have no joint that the layers above hide.

    A card with another fault in its layers is not looked at: what hides a joint may be missing.
    """
    faulty = {fault.path[:3] for fault in faults}
    expected = f"a layer above that hides {hiding_words(batch)}"
    return [
        Fault(
            ("cards", card.name, "layers", number, "join"),
            f"join: a joint of {layer.name} that would be seen",
            expected,
        )
        for card, layers in zip(batch.cards, placed, strict=True)
        if ("cards", card.name, "layers") not in faulty
        for number, layer in enumerate(card.layers)
        if layer.join == "must" and not joints_of(layers, layer.name, batch)
    ]


def _find_number_faults(card: Card) -> Iterator[Fault]:
    """Find limits beside a number of cards, and what does not go with as many as possible."""
    path: KeyPath = ("cards", card.name)
    if card.make is not None:
        if card.at_most is not None:
            yield Fault((*path, "at most"), f"at most {card.at_most} beside a number", _OPEN)
        if card.at_least:
            yield Fault((*path, "at least"), f"at least {card.at_least} beside a number", _OPEN)
        return
    if card.spares:
        expected = "no spares: every set that can be cut is a card"
        yield Fault((*path, "spares"), f"spares of {card.name}, made as many as possible", expected)
    if card.at_most is not None and card.at_least > card.at_most:
        said = f"at least {card.at_least} and at most {card.at_most}"
        yield Fault((*path, "at least"), said, f"at most {card.at_least} or more")


#: What a limit on the number of cards goes with.
_OPEN = "as many as possible in place of that"


def _most_of(card: Card, requests: Sequence[Request], batch: Batch, faults: list[Fault]) -> int:
    """A number of cards of a design that no plan exceeds, or what is asked at least if that is more."""
    own = [one for one in requests if one.card == card.name]
    begun = batch.begun.pieces if batch.begun else ()
    bags = {nameless(piece): piece.in_bags for piece in begun}
    limits = [most_by_area(own, batch.papers_by_name, batch.trimmer, bags), card.at_most]
    known = [limit for limit in limits if limit is not None]
    if not known and not any(fault.path[:2] == ("cards", card.name) for fault in faults):
        said = f"as many as possible of {card.name!r}, and no paper limits the number"
        expected = "at most: N beside it, or a number at hand (have) of one of its papers"
        faults.append(Fault(("cards", card.name, "make"), said, expected))
    return max(min(known, default=0), card.at_least)


def find_order_faults(first: Sequence[str], names: Collection[str]) -> Iterator[Fault]:
    """Find the designs put first that are none of these names, or stand twice."""
    nearest = Nearest()
    known = dict.fromkeys(names)
    seen: set[str] = set()
    for number, name in enumerate(first):
        if name not in known:
            expected = f"one of the cards; {nearest.words(name, known)}"
            yield Fault(("first", number), f"card {name!r}", expected)
        elif name in seen:
            yield Fault(("first", number), f"card {name!r} twice", "each card once")
        seen.add(name)


def _sound_requests(
    batch: Batch, placed: Sequence[Mapping[str, PlacedLayer]], faults: list[Fault]
) -> Iterator[Request]:
    """What everything asks for that has no fault and stands on nothing that has one."""
    broken: dict[KeyPath, list[KeyPath]] = defaultdict(list)
    for fault in faults:
        broken[fault.path[:2]].append(fault.path[2:])
    for card, layers in zip(batch.cards, placed, strict=True):
        sound = _sound_part(card, broken.get(("cards", card.name), []))
        yield from requests_of(sound, layers, batch)
    papers = batch.papers_by_name
    for number, piece in enumerate(batch.pieces):
        if ("pieces", number) not in broken:
            yield loose_request(number, piece, papers)


def _sound_part(card: Card, faults: list[KeyPath]) -> Card:
    """A card without its base and envelope, if these have a fault, and its layers from the first with one.

    Without an envelope, nothing lies in it.
    """
    first = min((int(path[1]) for path in faults if path[0] == "layers"), default=None)
    base = None if any(path[0] == "base" for path in faults) else card.base
    whole = card.envelope is not None and card.envelope.width is not None
    wrong = any(path[0] == "envelope" for path in faults) or not whole
    envelope = None if wrong else card.envelope
    layers = tuple(
        layer for layer in card.layers[:first] if envelope is not None or layer.where != "envelope"
    )
    return replace(card, base=base, layers=layers, envelope=envelope)
