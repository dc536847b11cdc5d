"""One walk from what was asked to its pieces: defaults, places of layers, sizes, every fault."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Self

from nesting.batch import Batch, BatchError, Card, Fault, KeyPath, Piece
from nesting.filling import fill_in
from nesting.fitting import find_misfits, find_sheet_faults
from nesting.merging import Request, Taken, loose_request, merge, requests_of
from nesting.nearest import Nearest
from nesting.placing import PlacedLayer, place


@dataclass(frozen=True, slots=True)
class Resolved:
    """What a batch comes to; whatever needs its layers or pieces takes them from here.

    ``batch`` has every default filled in. ``placed`` has, for each card in order, the card itself
    and its layers by name, from bottom to top. ``requests`` are what all layers, bases and loose
    pieces ask for. Where there are ``faults``, all of these have what is free of them.
    """

    batch: Batch
    placed: tuple[Mapping[str, PlacedLayer], ...]
    requests: tuple[Request, ...]
    faults: tuple[Fault, ...]

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
    faces, designs put first that are not there, layers that cannot be placed, and last, pieces
    larger than every sheet. What has a fault is not looked at further, so none is told twice.
    """
    nearest = Nearest()
    faults = list(find_sheet_faults(batch))
    without = {fault.path[1] for fault in faults}  # papers with a sheet that gives nothing
    filled, unclear = fill_in(batch, nearest)
    faults += unclear
    faults += find_order_faults(batch.first, [card.name for card in batch.cards])
    placed = []
    for card in filled.cards:
        layers, misplaced = place(card, nearest)
        placed.append(layers)
        faults += misplaced
    requests = tuple(_sound_requests(filled, placed, faults))
    faults += find_misfits((one for one in requests if one.piece.paper not in without), batch)
    return Resolved(filled, tuple(placed), requests, tuple(faults))


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
    papers = batch.papers_by_name
    broken: dict[KeyPath, list[KeyPath]] = defaultdict(list)
    for fault in faults:
        broken[fault.path[:2]].append(fault.path[2:])
    for card, layers in zip(batch.cards, placed, strict=True):
        sound = _sound_part(card, broken.get(("cards", card.name), []))
        yield from requests_of(sound, layers, papers)
    for number, piece in enumerate(batch.pieces):
        if ("pieces", number) not in broken:
            yield loose_request(number, piece, papers)


def _sound_part(card: Card, faults: list[KeyPath]) -> Card:
    """A card without its base, if that has a fault, and without its layers from the first with one."""
    first = min((int(path[1]) for path in faults if path[0] == "layers"), default=None)
    base = None if any(path[0] == "base" for path in faults) else card.base
    return replace(card, base=base, layers=card.layers[:first])
