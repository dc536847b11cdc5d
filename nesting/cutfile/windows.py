"""Windows in a cut file: the shapes on a sheet that covered middles are cut out of, and where."""

from collections.abc import Sequence
from dataclasses import replace

from nesting.cutfile.shapes import PlacedPiece, Sheetful
from nesting.draw.sheet.bearings import right_and_up
from nesting.papers import Window
from nesting.plan import Plan
from nesting.sources import share_middles

#: By a sheet's number and a piece's id: the windows in the first of its shapes there.
Windows = dict[tuple[int, str], list[Window]]


def windows_of(plan: Plan, sheetfuls: Sequence[Sheetful]) -> tuple[Windows, int]:
    """Say which shapes of some sheets have a window: as many as covered middles are cut from.

    Sheets that are cut alike have their windows alike.

    Returns
    -------
    tuple
        The windows, and how many have to be cut by hand, as they would be in some of the sheets alike.
    """
    middles = [one for one in sheetfuls if one.source.kind == "middle"]
    taken = share_middles(plan, [(m.number, m.paper, m.width, m.height, m.alike) for m in middles])
    left: dict[Window, int] = {}
    for windows in taken.values():
        for window, count in windows:
            left[window] = left.get(window, 0) + count
    hosts = {
        window: piece.id
        for window in left
        for piece in plan.pieces
        if any((use.card, use.layer) == (window.card, window.layer) for use in piece.uses)
    }
    found: Windows = {}
    for sheetful in sheetfuls:
        room = [shape.piece.id for shape in sheetful.shapes]
        for window, host in hosts.items():
            own = found.setdefault((sheetful.number, host), [])
            many = min(room.count(host) - len(own), left[window] // sheetful.alike)
            own += [window] * many
            left[window] -= many * sheetful.alike
    return found, sum(left.values())


def with_windows(sheetful: Sheetful, windows: Windows) -> Sheetful:
    """The sheet with its windows in the first shapes of their pieces."""
    own = {
        id_: list(found) for (number, id_), found in windows.items() if number == sheetful.number
    }
    shapes = tuple(
        replace(shape, window=own[shape.piece.id].pop(0)) if own.get(shape.piece.id) else shape
        for shape in sheetful.shapes
    )
    return replace(sheetful, shapes=shapes)


def window_corners(shape: PlacedPiece) -> tuple[tuple[int, int], ...]:
    """The corners of a shape's window on the sheet, front up, round from one of them; none without one."""
    window = shape.window
    if window is None:
        return ()
    right, up = right_and_up(shape.piece, turned=shape.turned)
    off = 0 if shape.is_round else shape.piece.die_allowance  # from the edge of what is cut
    ends = {}
    for way, low, size in (
        (right, window.x + off, window.width),
        (up, window.y + off, window.height),
    ):
        along = 0 if way[0] else 1
        start, whole = (shape.x, shape.width) if way[0] else (shape.y, shape.height)
        first = start + low if way[along] > 0 else start + whole - low - size
        ends[along] = first, first + size
    (left, far), (bottom, top) = ends[0], ends[1]
    return (left, top), (far, top), (far, bottom), (left, bottom)
