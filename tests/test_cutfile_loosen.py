"""A layout's pieces pulled apart: pinwheels keep their arms round the centre, with a gap at each line."""

from dataclasses import replace
from itertools import combinations

from cut_trees import layout, pinwheels
from hypothesis import given
from hypothesis import strategies as st
from plans import stopped_plan

from nesting.cutfile.loosen import loosened
from nesting.layouts import Blank


@given(st.data(), st.integers(3, 24), st.integers(3, 24), st.integers(0, 5))
def test_the_arms_of_a_pinwheel_are_pulled_apart(
    data: st.DataObject, width: int, height: int, gap: int
) -> None:
    """Every blank is there, at least the gap from every other, and no wider apart than its lines need."""
    cut = layout(data.draw(pinwheels(width, height, 0, 3)), width, height)
    plan = stopped_plan()
    pieces = tuple(
        replace(plan.pieces[0], id=one.node.piece, width=one.width, height=one.height)
        for one in cut.blanks
        if isinstance(one.node, Blank)
    )
    shapes, wide, high = loosened(replace(plan, pieces=pieces), cut, gap)
    assert sorted(shape.piece.id for shape in shapes) == sorted(piece.id for piece in pieces)
    for one, other in combinations(shapes, 2):
        across = max(one.x, other.x) - min(one.x + one.width, other.x + other.width)
        along = max(one.y, other.y) - min(one.y + one.height, other.y + other.height)
        assert max(across, along) >= gap
    assert all(shape.x >= 0 and shape.x + shape.width <= wide for shape in shapes)
    assert all(shape.y >= 0 and shape.y + shape.height <= high for shape in shapes)
    if not gap:
        assert (wide, high) <= (width, height)
