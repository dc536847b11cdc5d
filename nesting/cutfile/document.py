"""From a layout to its document: shapes where they lie, lines by what they are, SVG."""

from collections.abc import Callable, Iterable

from nesting.batch import Batch
from nesting.cutfile.carrier import CutFileError, Setup, find_misfit, find_out_of_reach
from nesting.cutfile.fill import fill_sheet, wants_of
from nesting.cutfile.letters import letter_strokes
from nesting.cutfile.loosen import loosened, pulled_apart
from nesting.cutfile.shapes import PlacedPiece, Sheetful, count_pieces, shapes_of, sheetful_of
from nesting.cutfile.shared_lines import LineRun, edges, joined
from nesting.cutfile.stock import within_reach
from nesting.cutfile.svg import Drawing, Ring, Trace, write_svg
from nesting.cutfile.windows import window_corners, windows_of, with_windows
from nesting.draw.sheet.bearings import score_lines
from nesting.layouts import Layout
from nesting.plan import Plan
from nesting.units import length_words, size_words


def cut_file(
    layout: Layout,
    plan: Plan,
    *,
    gap: int = 0,
    carrier: tuple[int, int] | None = None,
    edge: int = 0,
    back_up: bool = False,
    lettering: bool = False,
) -> bytes:
    """Write one layout as a true-scale SVG document for a cutting machine.

    Parameters
    ----------
    layout
        One of ``plan.layouts``.
    plan
        The plan it is of.
    gap
        Distance between the outlines of pieces, in nm, each of them then closed; 0 leaves the
        pieces where the plan has them and draws a shared edge once.
    carrier
        Width and height of the carrier in nm; as large as the sheet by default.
    edge
        What the blade cannot reach along each edge of the carrier, in nm.
    back_up
        Whether the back of the sheet faces the blade: everything is then mirrored.
    lettering
        Whether to draw each piece's letter.

    Returns
    -------
    bytes
        The document, UTF-8, as large as the sheet.

    Raises
    ------
    CutFileError
        The sheet does not fit on the carrier, the blade does not reach all pieces, or there is no
        room for the gap.

    Examples
    --------
    In a notebook, ``IPython.display.SVG(cut_file(plan.layouts[0], plan))`` shows it.

    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> b'width="304.8mm"' in cut_file(plan.layouts_of("russet dots")[0], plan)
    True
    """
    setup = Setup(gap, carrier, edge, back_up=back_up, lettering=lettering)
    (sheetful,) = sheetfuls_of(plan, (layout,), setup)
    return write_svg(drawing_of(sheetful, plan, setup))


def sheetfuls_of(plan: Plan, layouts: Iterable[Layout], setup: Setup) -> tuple[Sheetful, ...]:
    """The sheets of some layouts, pulled apart where a gap is asked for.

    Raises
    ------
    CutFileError
        With every reason why one of them cannot be cut.
    """
    sheetfuls: list[Sheetful] = []
    faults: list[str] = []
    unit = plan.asked.unit
    for layout in layouts:
        sheetful = sheetful_of(layout, shapes_of(plan, layout))
        misfit = find_misfit(sheetful, setup, plan.asked)
        if misfit is None and setup.gap:
            shapes = _with_gap(plan, layout, setup)
            if shapes is None:
                faults.append(_no_room(plan, layout, setup))
            sheetful = sheetful_of(layout, shapes or ())
        faults.extend([misfit] if misfit else find_out_of_reach(sheetful, setup, unit))
        sheetfuls.append(sheetful)
    if faults:
        raise CutFileError(*faults)
    whole_plan = [sheetful_of(layout, shapes_of(plan, layout)) for layout in plan.layouts]
    windows = windows_of(plan, whole_plan)[0]
    return tuple(with_windows(sheetful, windows) for sheetful in sheetfuls)


def _with_gap(plan: Plan, layout: Layout, setup: Setup) -> tuple[PlacedPiece, ...] | None:
    """A layout's shapes with the gap between them: pulled apart, or arranged anew; else None."""
    paper = plan.asked.paper(layout.paper)
    room = within_reach(layout, paper, setup)
    apart = pulled_apart(plan, layout, room, setup.gap)
    if apart is not None:
        return apart
    counts = count_pieces(loosened(plan, layout, setup.gap)[0])
    pieces = [(plan.piece(id_), count) for id_, count in counts.items()]
    wants = wants_of(pieces, paper.grain_axis, [room])
    shapes = fill_sheet(wants, room.width, room.height, setup.gap)
    if count_pieces(shapes) != counts:
        return None
    return tuple(shape.moved(room.x, room.y) for shape in shapes)


def _no_room(plan: Plan, layout: Layout, setup: Setup) -> str:
    unit = plan.asked.unit
    shapes, width, height = loosened(plan, layout, setup.gap)
    room = within_reach(layout, plan.asked.paper(layout.paper), setup)
    gap = length_words(setup.gap, unit)
    takes, has = (size_words(*size, unit) for size in ((width, height), (room.width, room.height)))
    return (
        f"layout {layout.id} ({layout.paper}): {len(shapes)} pieces with a gap of {gap} take {takes} "
        f"of the {has} there are; expected a smaller gap, or no straight cuts, which "
        "arranges the pieces anew, and takes another sheet where one does not suffice"
    )


def drawing_of(sheetful: Sheetful, plan: Plan, setup: Setup) -> Drawing:
    """The lines of a sheet by what they are, as it lies under the blade."""
    width, shapes = sheetful.width, sheetful.shapes

    def seen(x: int) -> int:
        return width - x if setup.back_up else x

    def lines(runs: Iterable[LineRun]) -> tuple[Trace, ...]:
        return tuple(Trace(tuple((seen(x), y) for x, y in run.ends)) for run in joined(runs))

    scores = (
        LineRun(axis, at, *_across(shape, axis))
        for shape in shapes
        for axis, at in score_lines(shape.piece, shape.placed, turned=shape.turned)
    )
    letters = (
        Trace(stroke)
        for shape in shapes
        for stroke in letter_strokes(shape, width, mirrored=setup.back_up)
    )
    windows = (
        Trace(
            tuple((seen(x), y) for x, y in window_corners(shape)), True, f"{_name(shape)}, middle"
        )
        for shape in shapes
        if shape.window
    )
    rings = (
        Ring(seen(shape.centre[0]), shape.centre[1], shape.piece.width, _name(shape))
        for shape in shapes
        if shape.is_round
    )
    straight = (
        (_closed(shape, seen) for shape in shapes if not shape.is_round)
        if setup.gap
        else lines(edges(shapes))
    )
    return Drawing(
        title=_title(sheetful, plan.asked, setup),
        made_by=plan.tool,
        width=width,
        height=sheetful.height,
        unit=plan.asked.unit,
        lines={
            "lettering": tuple(letters) if setup.lettering else (),
            "score-lines": lines(scores),
            "windows": tuple(windows),
            "outlines": (*rings, *straight),
        },
    )


def _across(shape: PlacedPiece, axis: str) -> tuple[int, int]:
    """From where to where a line across a shape runs."""
    if axis == "x":
        return shape.y, shape.y + shape.height
    return shape.x, shape.x + shape.width


def _closed(shape: PlacedPiece, seen: Callable[[int], int]) -> Trace:
    """The whole outline of a rectangle."""
    left, right = sorted((seen(shape.x), seen(shape.x + shape.width)))
    low, top = shape.y, shape.y + shape.height
    return Trace(((left, top), (right, top), (right, low), (left, low)), True, _name(shape))


def _name(shape: PlacedPiece) -> str:
    return f"{shape.piece.letter} {shape.piece.name}"


def _title(sheetful: Sheetful, asked: Batch, setup: Setup) -> str:
    size = size_words(sheetful.width, sheetful.height, asked.unit)
    face = "back up" if setup.back_up else "front up"
    alike = f", cut {sheetful.alike} alike" if sheetful.alike > 1 else ""
    return f"{asked.name}, sheet {sheetful.number}: {sheetful.paper}, {size}, {face}{alike}"
