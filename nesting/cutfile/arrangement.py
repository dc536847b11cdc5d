"""The pieces of a paper arranged for a machine that needs no straight cuts."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.cutfile.bound import LeastSheets, SheetOffer, least_sheets
from nesting.cutfile.carrier import Area, CutFileError, Setup
from nesting.cutfile.fill import Want, area_of, fill_sheet, wants_of
from nesting.cutfile.loosen import loosened, pulled_apart
from nesting.cutfile.shapes import Sheetful, count_pieces, shapes_of, sheetful_of
from nesting.cutfile.stock import Stock, middles_left, stock_of, within_reach
from nesting.cutfile.verify import find_misplaced
from nesting.errors import NestingError
from nesting.papers import Paper
from nesting.plan import Plan
from nesting.units import size_words

#: How often all sheets are filled anew.
_ROUNDS = 4


class ArrangementError(NestingError, RuntimeError):
    """An arrangement failed its own check: a mistake of this tool, not of the plan."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The sheets of one paper, whole ones counted.

    ``planned`` is what the plan for the trimmer takes, ``bound`` holds for any arrangement at
    all; ``to_buy`` counts the sheets that are not at hand, and ``again`` says whether the paper
    can be bought again.
    """

    paper: str
    again: bool
    sheetfuls: tuple[Sheetful, ...]
    planned: int
    bound: LeastSheets

    @property
    def needed(self) -> int:
        """How many whole sheets it takes."""
        return sum(one.alike for one in self.sheetfuls if one.source.kind == "sheet")

    @property
    def to_buy(self) -> int:
        """How many of them are not at hand."""
        return sum(one.to_buy for one in self.sheetfuls)


def arrange(plan: Plan, paper: Paper, setup: Setup) -> Arrangement:
    """Arrange what the plan cuts from a paper on as few sheets as are found.

    The plan's own layouts are among what is tried, pulled apart where a gap is asked for: without
    a gap and with the whole sheet in reach no arrangement takes more whole sheets than the plan.

    Parameters
    ----------
    plan
        The plan for the trimmer.
    paper
        One of its papers.
    setup
        Gap, carrier and edge to keep.

    Raises
    ------
    CutFileError
        A piece fits on no sheet of the paper within the blade's reach.
    ArrangementError
        shapely finds a fault in what was arranged.
    """
    layouts = plan.layouts_of(paper.name)
    wanted: Counter[str] = Counter()
    for layout in layouts:
        for piece, count in count_pieces(shapes_of(plan, layout)).items():
            wanted[piece] += count * layout.alike
    pieces = [(plan.piece(piece), count) for piece, count in wanted.items()]
    stock = [
        (one, within_reach(one, paper, setup))
        for one in stock_of(plan, paper)
        if setup.carries(one.width, one.height)
    ]
    if not any(room.width and room.height for _, room in stock):
        read = f"{paper.name}: no sheet of it that fits on the carrier within the blade's reach"
        raise CutFileError(f"{read}; expected a larger carrier or a smaller edge")
    middles = [(one, within_reach(one, paper, setup)) for one in middles_left(plan, paper)]
    offers = [
        SheetOffer(room.width, room.height, one.count, one.free)
        for one, room in (*stock, *middles)
        if room.width and room.height
    ]
    bound = least_sheets(pieces, offers, setup.gap)
    as_planned = _as_planned(plan, paper, setup)
    tried = [] if as_planned is None else [as_planned]
    wants = wants_of(pieces, paper.grain_axis, [room for _, room in stock])
    for _ in range(_ROUNDS):
        if tried and min(map(_cost, tried))[1] <= bound.value:
            break
        tried.append(_arranged(plan, paper, wants, stock, setup.gap))
        wants = _corrected(wants, tried[-1])
    found = min(tried, key=_cost)
    rooms = [(one, within_reach(one, paper, setup)) for one in found]
    faults = tuple(find_misplaced(rooms, wanted, setup.gap))
    if faults:
        raise ArrangementError("\n".join(faults))
    planned = sum(layout.alike for layout in layouts if layout.source.kind == "sheet")
    return Arrangement(paper.name, paper.buy, found, planned, bound)


def _cost(sheetfuls: Sequence[Sheetful]) -> tuple[int, int, int]:
    """Sheets to buy, whole sheets, their area."""
    whole = [one for one in sheetfuls if one.source.kind == "sheet"]
    return (
        sum(one.to_buy for one in whole),
        sum(one.alike for one in whole),
        sum(one.alike * one.width * one.height for one in whole),
    )


def _as_planned(plan: Plan, paper: Paper, setup: Setup) -> tuple[Sheetful, ...] | None:
    """The plan's layouts, pulled apart by the gap; None where one of them has no room for that."""
    sheetfuls = []
    for layout in plan.layouts_of(paper.name):
        if not setup.carries(layout.width, layout.height):
            return None
        room = within_reach(layout, paper, setup)
        shapes = shapes_of(plan, layout)
        if setup.gap or not all(map(room.holds, shapes)):
            apart = pulled_apart(plan, layout, room, setup.gap)
            if apart is None:
                return None
            shapes = apart
        sheetfuls.append(sheetful_of(layout, shapes))
    return tuple(sheetfuls)


def _corrected(wants: Sequence[Want], found: Sequence[Sheetful]) -> list[Want]:
    """Pieces on sheets that came out badly filled are worth more the next time.

    Sequential value correction (Mukhacheva and others 2000; Belov and Scheithauer 2007).
    """
    count: Counter[str] = Counter()
    dearness: defaultdict[str, float] = defaultdict(float)
    for one in found:
        filled = sum(area_of(shape.piece) for shape in one.shapes) / (one.width * one.height)
        for piece, number in count_pieces(one.shapes).items():
            count[piece] += number * one.alike
            dearness[piece] += number * one.alike / filled
    return [
        replace(want, worth=int(want.worth * dearness[want.piece.id] / count[want.piece.id]))
        for want in wants
    ]


def _arranged(
    plan: Plan,
    paper: Paper,
    wants: Sequence[Want],
    stock: Sequence[tuple[Stock, Area]],
    gap: int,
) -> tuple[Sheetful, ...]:
    """Sheet after sheet, each filled as well as can be, and as many alike as what is left allows."""
    planned = [loosened(plan, layout, gap) for layout in plan.layouts_of(paper.name)]
    left = list(wants)
    found: list[Sheetful] = []
    for one, room in stock:
        known = [s for s, *size in planned if size[0] <= room.width and size[1] <= room.height]
        count = one.count
        while left and (count is None or count):
            shapes = fill_sheet(left, room.width, room.height, gap, known)
            if not shapes:
                break
            taken = count_pieces(shapes)
            many = [want.count // taken[want.piece.id] for want in left if taken[want.piece.id]]
            alike = min(many) if count is None else min(*many, count)
            count = None if count is None else count - alike
            after = (
                replace(want, count=want.count - taken[want.piece.id] * alike) for want in left
            )
            left = [want for want in after if want.count]
            found.append(
                Sheetful(
                    number=0,
                    paper=paper.name,
                    source=one.source,
                    width=one.width,
                    height=one.height,
                    alike=alike,
                    to_buy=alike if one.to_buy else 0,
                    shapes=tuple(shape.moved(room.x, room.y) for shape in shapes),
                )
            )
    if left:
        largest = max((room for _, room in stock), key=lambda room: room.width * room.height)
        words = size_words(largest.width, largest.height, plan.asked.unit)
        raise CutFileError(
            *(
                f"{paper.name}: {want.piece.letter} {want.piece.name} on the {words} of a sheet that "
                "the blade reaches; expected a piece that fits, a smaller edge or a larger carrier"
                for want in left
            )
        )
    return tuple(found)


def numbered(arrangements: Sequence[Arrangement]) -> tuple[Arrangement, ...]:
    """The arrangements with their sheets numbered from 1, one paper after the other."""
    number = 0
    out = []
    for arrangement in arrangements:
        sheetfuls = []
        for sheetful in arrangement.sheetfuls:
            number += 1
            sheetfuls.append(replace(sheetful, number=number))
        out.append(replace(arrangement, sheetfuls=tuple(sheetfuls)))
    return tuple(out)
