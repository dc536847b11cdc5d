"""The pieces of a paper arranged for a machine that needs no straight cuts."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.cutfile.bound import LeastSheets, SheetOffer, least_sheets
from nesting.cutfile.carrier import Area, CutFileError, Setup
from nesting.cutfile.fill import Want, area_of, fill_sheet, turns_along
from nesting.cutfile.loosen import loosened
from nesting.cutfile.shapes import PlacedPiece, Sheetful, count_pieces, shapes_of, sheetful_of
from nesting.cutfile.stock import Stock, middles_left, stock_of, within_reach
from nesting.cutfile.verify import find_misplaced
from nesting.errors import NestingError
from nesting.layouts import Layout
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
    stock = [one for one in stock_of(plan, paper) if setup.carries(one.width, one.height)]
    offers = [
        SheetOffer(room.width, room.height, one.count, one.free)
        for one in (*stock, *middles_left(plan, paper))
        if (room := within_reach(one, paper, setup)).width and room.height
    ]
    if not offers:
        read = f"{paper.name}: no sheet of it that fits on the carrier within the blade's reach"
        raise CutFileError(f"{read}; expected a larger --carrier or a smaller --edge")
    bound = least_sheets([(plan.piece(p), n) for p, n in wanted.items()], offers, setup.gap)
    found = _best(plan, paper, setup, wanted, stock, bound.value)
    rooms = [(one, within_reach(one, paper, setup)) for one in found]
    faults = tuple(find_misplaced(rooms, wanted, setup.gap))
    if faults:
        raise ArrangementError("\n".join(faults))
    planned = sum(layout.alike for layout in layouts if layout.source.kind == "sheet")
    return Arrangement(paper.name, paper.buy, found, planned, bound)


def _best(
    plan: Plan,
    paper: Paper,
    setup: Setup,
    wanted: Counter[str],
    stock: Sequence[Stock],
    least: int,
) -> tuple[Sheetful, ...]:
    """The plan's layouts or, where that takes fewer sheets, the best of some arrangements."""
    found = _as_planned(plan, paper, setup)
    best = [] if found is None else [found]
    worth = {piece: area_of(plan.piece(piece)) for piece in wanted}
    for _ in range(_ROUNDS):
        if best and _cost(best[0])[1] <= least:
            break
        other = _arranged(plan, paper, setup, wanted, stock, worth)
        best = [min(*best, other, key=_cost)] if best else [other]
        worth = _corrected(worth, other)
    return best[0]


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


def _corrected(worth: dict[str, int], found: Sequence[Sheetful]) -> dict[str, int]:
    """Pieces on sheets that came out badly filled are worth more the next time.

    Sequential value correction (Mukhacheva and others 2000; Belov and Scheithauer 2007).
    """
    count: Counter[str] = Counter()
    dearness: dict[str, float] = dict.fromkeys(worth, 0.0)
    for one in found:
        filled = sum(area_of(shape.piece) for shape in one.shapes) / (one.width * one.height)
        for piece, number in count_pieces(one.shapes).items():
            count[piece] += number * one.alike
            dearness[piece] += number * one.alike / filled
    return {piece: int(value * dearness[piece] / count[piece]) for piece, value in worth.items()}


def _arranged(
    plan: Plan,
    paper: Paper,
    setup: Setup,
    wanted: Counter[str],
    stock: Sequence[Stock],
    worth: dict[str, int],
) -> tuple[Sheetful, ...]:
    """Sheet after sheet, each filled as well as can be, and as many alike as what is left allows."""
    planned = [loosened(plan, layout, setup.gap) for layout in plan.layouts_of(paper.name)]
    left = +wanted
    reach = [within_reach(one, paper, setup) for one in stock]
    rooms = [(room.width, room.height) for room in reach]
    turns = {p: turns_along(plan.piece(p), paper.grain_axis, rooms) for p in wanted}
    found: list[Sheetful] = []
    for one, room in zip(stock, reach, strict=True):
        count = one.count
        while left and (count is None or count):
            wants = [Want(plan.piece(p), number, worth[p], turns[p]) for p, number in left.items()]
            known = [
                s for s, width, height in planned if width <= room.width and height <= room.height
            ]
            shapes = fill_sheet(wants, room.width, room.height, setup.gap, known)
            if not shapes:
                break
            taken = count_pieces(shapes)
            alike = min(left[piece] // number for piece, number in taken.items())
            alike = alike if count is None else min(alike, count)
            count = None if count is None else count - alike
            left -= Counter({piece: number * alike for piece, number in taken.items()})
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
        raise CutFileError(*_too_large(plan, paper, left, stock, setup))
    return tuple(found)


def _too_large(
    plan: Plan, paper: Paper, left: Counter[str], stock: Sequence[Stock], setup: Setup
) -> list[str]:
    """Which pieces no sheet within reach has room for, and what to do."""
    unit = plan.asked.unit
    rooms = [within_reach(one, paper, setup) for one in stock]
    largest = max(rooms, key=lambda room: room.width * room.height)
    room = size_words(largest.width, largest.height, unit)
    return [
        f"{paper.name}: {piece.letter} {piece.name} on the {room} of a sheet that the blade "
        "reaches; expected a piece that fits, a smaller --edge or a larger --carrier"
        for piece in map(plan.piece, left)
    ]


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


def pulled_apart(
    plan: Plan, layout: Layout, room: Area, gap: int
) -> tuple[PlacedPiece, ...] | None:
    """A layout's shapes with the gap between them, in the upper left of some room; None without room."""
    shapes, width, height = loosened(plan, layout, gap)
    if width > room.width or height > room.height:
        return None
    return tuple(shape.moved(room.x, room.y + room.height - height) for shape in shapes)


def anew_on_one_sheet(
    wants: Sequence[Want], room: Area, gap: int
) -> tuple[PlacedPiece, ...] | None:
    """All of what is wanted on one sheet, or None where no way is found."""
    shapes = fill_sheet(wants, room.width, room.height, gap)
    if count_pieces(shapes) != Counter({want.piece.id: want.count for want in wants}):
        return None
    return tuple(shape.moved(room.x, room.y) for shape in shapes)
