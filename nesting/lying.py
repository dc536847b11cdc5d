"""How an offcut lies, with its print the right way up; which offcuts and middles a layout takes."""

from collections import Counter, defaultdict
from collections.abc import Iterable

from nesting.papers import CLOCKWISE, Edge, Paper, Sheet, StripEdge, Window
from nesting.plan import Plan
from nesting.sources import SheetKey, key_of_layout, key_of_sheet


def top_of(paper: Paper) -> Edge:
    """The edge of a sheet that is the top of its print: of the front, unless only the back has one."""
    only_back = paper.back.directed and not paper.front.directed
    return paper.back.up if only_back else paper.front.up


def turned(
    width: int, height: int, strip: StripEdge, top: Edge, to: Edge
) -> tuple[int, int, StripEdge]:
    """Size and edge of the strip after turning a sheet, front up, so that its top comes to an edge.

    Examples
    --------
    >>> turned(5, 7, "bottom", "left", "top")
    (7, 5, 'left')
    """
    quarters = (CLOCKWISE.index(to) - CLOCKWISE.index(top)) % 4
    if strip != "none":
        strip = CLOCKWISE[(CLOCKWISE.index(strip) + quarters) % 4]
    return (height, width, strip) if quarters % 2 else (width, height, strip)


def numbers_of(sheet: Sheet) -> tuple[int, ...]:
    """The numbers that equal offcuts have in the stash."""
    numbers = (sheet.name or "").split(", ")
    return tuple(int(one) for one in numbers if one.isascii() and one.isdigit())


def offcuts_taken(plan: Plan) -> dict[int, tuple[int, ...]]:
    """By layout, the numbers of the offcuts in the stash that it is cut from, in order.

    Offcuts that are alike in all that matters go to the layouts in their order.
    """
    left: defaultdict[tuple[str, SheetKey], list[int]] = defaultdict(list)
    for paper in plan.asked.papers:
        for sheet in paper.sheets:
            left[paper.name, key_of_sheet(paper, sheet)] += numbers_of(sheet)
    taken = {}
    for layout in plan.layouts:
        numbers = left[layout.paper, key_of_layout(layout, plan.asked.paper(layout.paper))]
        taken[layout.id] = tuple(numbers[: layout.alike])
        del numbers[: layout.alike]
    return taken


#: Windows, and from how many covered middles of each something is cut.
Middles = tuple[tuple[Window, int], ...]


def middles_taken(plan: Plan) -> dict[int, Middles]:
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
    uncut = {(use.card, use.layer): use.count for one in plan.uncut for use in one.uses}
    hosts: Counter[tuple[str | None, str]] = Counter()
    bags: Counter[tuple[str | None, str]] = Counter()
    for piece in plan.pieces:
        for use in piece.uses:
            made = use.count - uncut.get((use.card, use.layer), 0)
            hosts[use.card, use.layer] = max(0, made - piece.in_bags)
            bags[use.card, use.layer] = min(made, piece.in_bags)
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
