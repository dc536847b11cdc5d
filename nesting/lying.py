"""How an offcut lies: turned until its print is the right way up, and which one a layout takes."""

from collections import defaultdict

from nesting.batch import Edge, Paper, Sheet, StripEdge
from nesting.plan import Plan, SheetKey, key_of_layout, key_of_sheet

#: The edges as a clock's hand passes them.
_ROUND: tuple[Edge, ...] = ("top", "right", "bottom", "left")


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
    quarters = (_ROUND.index(to) - _ROUND.index(top)) % 4
    if strip != "none":
        strip = _ROUND[(_ROUND.index(strip) + quarters) % 4]
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
