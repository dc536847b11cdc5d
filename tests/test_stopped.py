"""Stopped cuts: the strokes of a pinwheel, made again on a sheet painted square by square."""

from dataclasses import replace

import pytest
from cut_trees import BIN, KEEP, layout, layouts, paper
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import inches

from nesting.batch import Batch, Trimmer
from nesting.cutting.steps import Stop, Stroke
from nesting.cutting.strokes import effort, steps_of
from nesting.layouts import Blank, Cut, Layout, Node, Pinwheel
from nesting.papers import Edge

MAT = Blank("mat")
Square = tuple[int, int]


def batch(**trimmer: object) -> Batch:
    """A batch with the paper of ``cut_trees``, measured in single nm."""
    plain = Trimmer(marks=1, narrowest_hold=0, can_stop=True, **trimmer)  # type: ignore[arg-type]
    return Batch("Orchard market", "in", (paper(),), trimmer=plain)


def wheel(*, tight: bool = True, way: str = "anticlockwise") -> Node:
    """Four of 5 x 7, or of 4 1/2 x 6 1/2 with an offcut on the inner side of two arms, round a centre."""
    if tight:
        lines = inches("5"), inches("7")
        return Pinwheel(way, lines, lines, MAT, MAT, MAT, MAT, BIN)  # type: ignore[arg-type]
    at = inches("4 1/2")
    lying = inches("1")
    return Pinwheel(
        "anticlockwise",
        (at, inches("6 1/2")),
        (at, inches("7 1/2")),
        MAT,
        Cut("y", inches("1"), BIN, MAT),
        MAT,
        Cut("x", lying, BIN, Cut("y", lying, BIN, MAT)),
        BIN,
    )


def sheet(tree: Node) -> Layout:
    """A sheet of 12 x 12."""
    return layout(tree, inches("12"), inches("12"))


def told(cut: Layout) -> list[tuple[int, Edge, Stop | None]]:
    """Of each step the ruler setting, the edge it is measured from, and where it stops."""
    return [(step.setting, step.measured, step.stop) for step in steps_of(cut, batch())]


def test_four_of_5_x_7_take_two_stopped_strokes_of_five() -> None:
    """The order of the trade: cut 7 in and stop; turn, cut 5 until it meets; the others run through.

    Common practice, no source. Measured from the outer edges, all is cut at one ruler setting.
    """
    five = inches("5")
    assert told(sheet(wheel())) == [
        (five, "bottom", Stop(inches("7"), 0, meets=False)),
        (five, "right", Stop(five, inches("2"), meets=True)),
        (five, "left", None),
        (five, "top", None),
        (five, "right", None),
    ]
    steps = steps_of(sheet(wheel()), batch())
    assert [step.last.taken.rectangle for step in steps] == [
        (0, 0, 0, 0),
        (0, 0, inches("7"), five),
        (0, five, five, inches("7")),
        (five, inches("7"), inches("7"), five),
        (five, five, inches("2"), inches("2")),
    ]
    assert effort([sheet(wheel())], batch()).strokes == 5


def test_the_mirror_image_is_cut_the_other_way_round() -> None:
    """Clockwise, the arm on the left is met by the line of the bottom one."""
    edges = [measured for _, measured, _ in told(sheet(wheel(way="clockwise")))]
    assert edges == ["bottom", "left", "right", "top", "left"]


def test_the_first_stroke_overruns_where_there_is_room() -> None:
    """Of four arms, that one is cut free first whose line runs into an offcut to the bin."""
    first = steps_of(sheet(wheel(tight=False)), batch())[0]
    assert (first.measured, first.stop) == (
        "bottom",
        Stop(inches("6 1/2"), inches("1"), meets=False),
    )


def test_an_offcut_to_keep_is_not_overrun() -> None:
    """Where it is kept, there is nothing to spare, and a line between two blanks harms neither."""
    five, seven = inches("5"), inches("7")
    arm = Cut("x", inches("1"), KEEP, MAT)
    tree = Pinwheel("anticlockwise", (five, seven), (five, seven), MAT, MAT, MAT, arm, BIN)
    stop = steps_of(sheet(tree), batch())[0].stop
    assert stop == Stop(seven, 0, meets=False)
    between = replace(tree, right=Cut("y", five, MAT, BIN))
    stop = steps_of(sheet(between), batch())[0].stop
    assert stop == Stop(seven, five, meets=False)


def test_equal_pinwheels_are_cut_together() -> None:
    """Two alike on one sheet: each step has a stroke on both, and a stack of two takes them at once."""
    tree = Cut("x", inches("6"), small := small_wheel(), small)
    steps = steps_of(sheet(tree), batch())
    assert [len(step.strokes) for step in steps] == [1, 2, 2, 2, 2, 2]
    assert effort([sheet(tree)], batch()).strokes == 11
    assert effort([sheet(tree)], batch(stack=2)).strokes == 6


def small_wheel() -> Node:
    """A pinwheel of 6 x 12."""
    return Pinwheel(
        "clockwise", (inches("2"), inches("4")), (inches("4"), inches("8")), MAT, MAT, MAT, MAT, MAT
    )


@given(layouts(), st.sampled_from(["left", "right"]))
@settings(max_examples=300)
def test_each_stroke_frees_what_it_is_said_to(cut: Layout, hand: str) -> None:
    """Painted square by square: no stroke cuts into a leaf, and each frees exactly what falls.

    Neighbouring squares hang together until a stroke runs between them; a blade with a width takes
    its squares away.
    """
    steps = steps_of(cut, batch(hand=hand, cut_width=cut.cut_width))
    paper_left = {(x, y) for x in range(cut.width) for y in range(cut.height)}
    apart: set[frozenset[Square]] = set()
    for step in steps:
        for stroke in step.strokes:
            in_hand = squares(stroke) & paper_left
            band, pairs = blade(stroke, cut.cut_width)
            paper_left -= band & in_hand
            apart |= pairs
            for part in (stroke.taken, stroke.rest):
                own = covered((part.joined and part.parts) or (part,)) & paper_left
                if own:
                    assert component(own, apart) == own or part.joined
                    if not part.joined:
                        assert not any(
                            neighbour in paper_left - own
                            for square in own
                            for neighbour in beside(square)
                            if frozenset((square, neighbour)) not in apart
                        )
    for leaf in cut.walk():
        if not isinstance(leaf.node, Cut | Pinwheel):
            inside = {
                (x, y)
                for x in range(leaf.x, leaf.x + leaf.width)
                for y in range(leaf.y, leaf.y + leaf.height)
            }
            assert inside <= paper_left
            assert component(inside, apart) == inside


def squares(stroke: Stroke) -> set[Square]:
    """The unit squares of the part that a stroke is made on."""
    whole = stroke.whole
    if not whole.joined:
        return covered((whole,))
    right = max(part.x + part.width for part in whole.parts)
    top = max(part.y + part.height for part in whole.parts)
    return {(x, y) for x in range(whole.x, right) for y in range(whole.y, top)}


def covered(parts: tuple[object, ...]) -> set[Square]:
    """The unit squares of some rectangles."""
    return {
        (x, y)
        for part in parts
        for x in range(part.x, part.x + part.width)  # type: ignore[attr-defined]
        for y in range(part.y, part.y + part.height)  # type: ignore[attr-defined]
    }


def blade(stroke: Stroke, cut_width: int) -> tuple[set[Square], set[frozenset[Square]]]:
    """The squares that a stroke takes away, and the pairs of neighbours that it parts."""
    across = stroke.axis
    along = "y" if across == "x" else "x"
    low, high = stroke.whole.low(along), stroke.whole.high(along)
    if stroke.line is not None:
        low, high = stroke.line.low, stroke.line.high
    lines = range(low, high)

    def square(at: int, line: int) -> Square:
        return (at, line) if across == "x" else (line, at)

    band = {square(stroke.at + n, line) for n in range(cut_width) for line in lines}
    pairs = {
        frozenset((square(stroke.at - 1, line), square(stroke.at, line)))
        for line in lines
        if not cut_width
    }
    return band, pairs


def beside(square: Square) -> list[Square]:
    """The four squares beside one."""
    x, y = square
    return [(x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)]


def component(own: set[Square], apart: set[frozenset[Square]]) -> set[Square]:
    """The squares of a set that hang together with one of them."""
    if not own:
        return set()
    todo = [min(own)]
    found = set(todo)
    while todo:
        square = todo.pop()
        for other in beside(square):
            if other in own - found and frozenset((square, other)) not in apart:
                found.add(other)
                todo.append(other)
    return found


@pytest.mark.parametrize("cut_width", [0, 1])
def test_the_first_arm_is_free_after_the_second_stroke(cut_width: int) -> None:
    """And not before: a part that stopped strokes leave hanging would tear."""
    lines = (3, 6)
    tree = Pinwheel("anticlockwise", lines, lines, MAT, MAT, MAT, MAT, MAT)
    cut = layout(tree, 10, 10, cut_width=cut_width)
    one, two, *_ = steps_of(cut, batch(cut_width=cut_width))
    assert one.last.taken.rectangle[2:] == (0, 0)
    assert two.last.falls.rectangle == (0, 0, 6, 3)
