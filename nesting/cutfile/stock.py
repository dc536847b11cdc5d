"""What a paper's pieces can be arranged on: the plan's own sheets first, then further ones."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from nesting.cutfile.carrier import Area, Setup, mounting_of
from nesting.cutfile.shapes import Sheetful
from nesting.layouts import Layout, Source
from nesting.papers import Paper, Sheet
from nesting.plan import Plan
from nesting.sheets import full_size, taken_off
from nesting.sources import key_of_sheet, key_of_source, source_of


@dataclass(frozen=True, slots=True)
class Stock:
    """Sheets alike; ``count`` None is without limit, ``further`` are beyond those of the plan."""

    source: Source
    width: int
    height: int
    count: int | None
    to_buy: bool
    further: bool

    @property
    def free(self) -> bool:
        """Whether it is no whole sheet, and so not counted."""
        return self.source.kind != "sheet"


def stock_of(plan: Plan, paper: Paper) -> list[Stock]:
    """Offcuts first, as they are free; then the plan's sheets, the ones to buy last; then others."""
    counts: Counter[tuple[Source, int, int, bool]] = Counter()
    for layout in plan.layouts_of(paper.name):
        kind = (layout.source, layout.width, layout.height)
        counts[*kind, False] += layout.alike - layout.to_buy
        counts[*kind, True] += layout.to_buy
    stock = [
        Stock(source, width, height, count, to_buy, further=False)
        for (source, width, height, to_buy), count in counts.items()
        if count
    ]
    stock.extend(_further(plan, paper, counts))
    stock.sort(key=lambda one: (not one.free, one.further, one.to_buy, -one.width * one.height))
    return stock


def middles_left(plan: Plan, paper: Paper) -> Iterator[Stock]:
    """Covered middles that the plan is not cut from, no fewer than there are: a bound counts them."""
    used: Counter[tuple[int, int]] = Counter()
    for layout in plan.layouts_of(paper.name):
        if layout.source.kind == "middle":
            used[layout.width, layout.height] += layout.alike
    for one in plan.middles:
        width, height = one.sheet.width, one.sheet.height
        left = one.count - used[width, height]
        if one.paper == paper.name and left:
            source = source_of(one.sheet, plan.asked.unit)
            yield Stock(source, width, height, left, to_buy=False, further=True)


def _further(
    plan: Plan, paper: Paper, used: Counter[tuple[Source, int, int, bool]]
) -> Iterator[Stock]:
    """What the plan leaves of the sheets at hand, and sheets that are not there yet."""
    unit = plan.asked.unit
    have: dict[tuple[Source, int, int], int | None] = {}
    for sheet in paper.sheets:  # of one size there may be several entries
        kind = source_of(sheet, unit), *full_size(paper, sheet)
        before = have.get(kind, 0)
        have[kind] = None if sheet.have is None or before is None else before + sheet.have
    for kind, count in have.items():
        left = None if count is None else count - used[*kind, False]
        if left is None or left > 0:
            yield Stock(*kind, left, to_buy=False, further=True)
        if count is not None and kind[0].kind == "sheet":
            yield Stock(*kind, None, to_buy=True, further=True)


def within_reach(one: Stock | Layout | Sheetful, paper: Paper, setup: Setup) -> Area:
    """The part of a sheet that pieces may lie on: strip and edge trim off, and within reach."""
    width, height = one.width, one.height
    usable = Area(0, 0, width, height)
    key = key_of_source(paper, one.source, width, height)
    sheet = next((sheet for sheet in paper.sheets if key_of_sheet(paper, sheet) == key), None)
    if sheet is not None:
        usable = _taken_off(usable, paper, sheet)
    reach = mounting_of(usable, width, height, setup).reach
    x, y = max(usable.x, reach.x), max(usable.y, reach.y)
    right = min(usable.x + usable.width, reach.x + reach.width)
    top = min(usable.y + usable.height, reach.y + reach.height)
    return Area(x, y, max(0, right - x), max(0, top - y))


def _taken_off(box: Area, paper: Paper, sheet: Sheet) -> Area:
    """The sheet without its barcode strip and edge trim."""
    x, y, width, height = box.x, box.y, box.width, box.height
    for edge, off, _ in taken_off(paper, sheet, 0):
        if edge in ("left", "right"):
            x, width = x + off * (edge == "left"), width - off
        else:
            y, height = y + off * (edge == "bottom"), height - off
    return Area(x, y, width, height)
