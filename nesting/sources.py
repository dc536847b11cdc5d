"""Which sheets the layouts of a plan are cut from: what tells sheets apart, offcuts, covered middles."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Literal

from nesting.batch import Trimmer
from nesting.layouts import Layout, Source
from nesting.papers import BarcodeStrip, Edge, Edges, Paper, Sheet, Window
from nesting.plan import Plan
from nesting.sheets import full_size, starting_edges, strip_along, strip_of, without_strip_beyond
from nesting.units import Unit, size_words

#: Kind, full width and height, the edge of the strip, edge trim still on an offcut: what tells the
#: sheets of a paper apart.
SheetKey = tuple[str, int, int, Edge | None, Edges | None]
#: Windows, and from how many covered middles of each something is cut.
Middles = tuple[tuple[Window, int], ...]


def _kind_of(sheet: Sheet) -> Literal["sheet", "offcut", "middle"]:
    if sheet.windows:
        return "middle"
    return "offcut" if sheet.offcut else "sheet"


def source_of(sheet: Sheet, unit: Unit) -> Source:
    """What a layout that is cut from a sheet says of it."""
    name = size_words(sheet.width, sheet.height, unit)
    return Source(_kind_of(sheet), name, sheet.strip, sheet.trim)


def key_of_sheet(paper: Paper, sheet: Sheet) -> SheetKey:
    """The key of a sheet of a batch."""
    strip, kind = strip_of(paper, sheet), _kind_of(sheet)
    return kind, *full_size(paper, sheet), None if strip is None else strip.edge, sheet.trim


def key_of_source(paper: Paper, source: Source, width: int, height: int) -> SheetKey:
    """The key of a sheet of this full width and height."""
    strip = strip_along(paper, source.strip, whole=source.kind == "sheet")
    return source.kind, width, height, None if strip is None else strip.edge, source.trim


def key_of_layout(layout: Layout, paper: Paper) -> SheetKey:
    """The key of the sheet that a layout is cut from."""
    return key_of_source(paper, layout.source, layout.width, layout.height)


def strip_on(layout: Layout, paper: Paper) -> BarcodeStrip | None:
    """The barcode strip of the sheet that a layout is cut from."""
    return strip_along(paper, layout.source.strip, whole=layout.source.kind == "sheet")


def starting_corner(layout: Layout, paper: Paper, trimmer: Trimmer) -> tuple[Edge, Edge]:
    """The corner of the layout's sheet that all measures start from (``sheets.starting_edges``)."""
    return starting_edges(strip_on(layout, paper), trimmer.hand)


def nominal_size(layout: Layout, paper: Paper) -> tuple[int, int]:
    """Width and height of the layout's sheet without a barcode strip beyond them, in nm."""
    return without_strip_beyond(strip_on(layout, paper), layout.width, layout.height)


def sheet_of_layout(layout: Layout, paper: Paper) -> Sheet:
    """A layout's sheet as a batch lists it, without its price and how many there are.

    A covered middle is an offcut once it is cut out.
    """
    width, height = nominal_size(layout, paper)
    source = layout.source
    return Sheet(width, height, offcut=source.kind != "sheet", strip=source.strip, trim=source.trim)


def nominal_area(layout: Layout, paper: Paper) -> int:
    """Area of the layout's sheet without a barcode strip beyond it, in nm²."""
    width, height = nominal_size(layout, paper)
    return width * height


def offcuts_taken(plan: Plan) -> dict[int, tuple[int, ...]]:
    """By layout, the numbers of the offcuts in the stash that it is cut from, in order.

    Offcuts that are alike in all that matters go to the layouts in their order.
    """
    left: defaultdict[tuple[str, SheetKey], list[int]] = defaultdict(list)
    for paper in plan.asked.papers:
        for sheet in paper.sheets:
            left[paper.name, key_of_sheet(paper, sheet)] += sheet.numbers
    taken = {}
    for layout in plan.layouts:
        numbers = left[layout.paper, key_of_layout(layout, plan.asked.paper(layout.paper))]
        taken[layout.id] = tuple(numbers[: layout.alike])
        del numbers[: layout.alike]
    return taken


@lru_cache(maxsize=1)  # every page of the plan asks
def middles_taken(plan: Plan) -> Mapping[int, Middles]:
    """By layout, the windows whose covered middles it is cut from."""
    return share_middles(
        plan,
        (
            (layout.id, layout.paper, layout.width, layout.height, layout.alike)
            for layout in plan.layouts
            if layout.source.kind == "middle"
        ),
    )


def share_middles(plan: Plan, used: Iterable[tuple[int, str, int, int, int]]) -> dict[int, Middles]:
    """Share covered middles out to what is ``used``: its number, paper, width, height and how many.

    Of equal middles, those of pieces in the bags go first, then those of the designs that stand first
    in the batch.
    """
    hosts: Counter[tuple[str | None, str]] = Counter()
    bags: Counter[tuple[str | None, str]] = Counter()
    for piece in plan.pieces:
        for use in plan.as_cut(piece).uses:
            hosts[use.card, use.layer] = max(0, use.count - piece.in_bags)
            bags[use.card, use.layer] = min(use.count, piece.in_bags)
    begun = plan.asked.begun.middles if plan.asked.begun else ()
    there = {(one.paper, one.sheet): one.count for one in begun}
    left: dict[tuple[str, int, int], list[tuple[Window, int]]] = {}
    for one in plan.middles:
        windows = [(window, bags[window.card, window.layer]) for window in one.sheet.windows]
        kept, _ = _shared_out(windows, there.get((one.paper, one.sheet), 0))
        fresh = [(window, hosts[window.card, window.layer]) for window in one.sheet.windows]
        left[one.paper, one.sheet.width, one.sheet.height] = [*kept, *fresh]
    taken = {}
    for number, paper, width, height, count in used:
        own = left.setdefault((paper, width, height), [])
        taken[number], own[:] = _shared_out(own, count)
    return taken


def _shared_out(
    there: list[tuple[Window, int]], count: int
) -> tuple[Middles, list[tuple[Window, int]]]:
    """So many of what is there, from the first on, and what is left."""
    taken, left = [], []
    for window, hosts in there:
        now = min(hosts, count)
        count -= now
        if now:
            taken.append((window, now))
        left.append((window, hosts - now))
    return tuple(taken), left
