"""An independent baseline: rectpack's guillotine packers, at their best.

rectpack knows no demand and no direction per piece, so pieces are given one by one, turned
beforehand where their direction is fixed. Its default of merging free rectangles gives layouts
that cannot be cut edge to edge, so merging is off.
"""

from itertools import product

from nesting.pack.model.problem import Problem

_HEURISTICS = [
    f"Guillotine{choice}{split}"
    for choice in ("Bssf", "Blsf", "Baf")
    for split in ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas")
]
_SORTINGS = ("AREA", "PERI", "DIFF", "SSIDE", "LSIDE", "RATIO", "NONE")


def best_of_rectpack(problem: Problem) -> int:
    """Find the fewest sheets over 18 guillotine variants and 7 sortings.

    Only for a paper with one size of sheet. Where some pieces may turn and others not, those that
    may are tried both ways.
    """
    width, height = problem.sizes[0].width, problem.sizes[0].height
    shapes = [kind.shapes for kind in problem.kinds]
    turning = all(len(own) > 1 or own[0].width == own[0].height for own in shapes)
    ways: list[list[tuple[int, int]]] = []
    for last in (False, True):
        rectangles = []
        for kind in problem.kinds:
            shape = kind.shapes[-1 if last else 0]
            rectangles += [(shape.width, shape.height)] * kind.demand
        if rectangles not in ways and not (turning and ways):
            ways.append(rectangles)
    counts = [
        _pack(rectangles, (width, height), heuristic, sorting, turning)
        for rectangles, heuristic, sorting in product(ways, _HEURISTICS, _SORTINGS)
    ]
    in_full = [count for count in counts if count is not None]
    if not in_full:
        raise ValueError("rectpack placed no plan in full")
    return min(in_full)


def _pack(
    rectangles: list[tuple[int, int]],
    sheet: tuple[int, int],
    heuristic: str,
    sorting: str,
    turning: bool,
) -> int | None:
    """How many sheets one variant takes, or None where it left something out without a word."""
    import rectpack

    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BFF,
        pack_algo=getattr(rectpack, heuristic),
        sort_algo=getattr(rectpack, f"SORT_{sorting}"),
        rotation=turning,
    )
    for number, rectangle in enumerate(rectangles):
        packer.add_rect(*rectangle, rid=number)
    packer.add_bin(*sheet, count=len(rectangles), merge=False)
    packer.pack()
    placed = sum(len(sheet_) for sheet_ in packer)
    return len(packer) if placed == len(rectangles) else None
