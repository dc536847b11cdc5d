"""The checker cuts a sheet again as its stroke table says, sharing no code with what orders the table."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from cut_trees import BIN, layout, layouts, paper
from hypothesis import example, given, settings
from hypothesis import strategies as st

from nesting.batch import Batch, Trimmer
from nesting.checker.cutting.recut import cut_again
from nesting.checker.cutting.slabs import Slab
from nesting.cutting.parallel_cuts import Part, whole_part
from nesting.cutting.strokes import steps_of
from nesting.layouts import Blank, Cut, Layout, Pinwheel
from nesting.papers import BarcodeStrip

TRIMMERS = st.builds(
    Trimmer,
    marks=st.just(1),
    narrowest_hold=st.integers(0, 8),
    repeat=st.sampled_from(["same ruler setting", "descending marks"]),
    hand=st.sampled_from(["left", "right"]),
)


WHEEL = Pinwheel("clockwise", (1, 2), (1, 2), *[Blank("2 x 1")] * 4, BIN)


@example(layout(Cut("x", 3, WHEEL, WHEEL), 6, 3), Trimmer(marks=1, narrowest_hold=0), None)
@given(layouts(), TRIMMERS, st.none() | st.sampled_from(["left", "right", "top", "bottom"]))
@settings(max_examples=400)
def test_after_each_stroke_the_same_parts_are_on_the_table(
    cut: Layout, trimmer: Trimmer, strip: str | None
) -> None:
    """Every part with its place, and which of them the next stroke and its step take, as the table has it."""
    edge = None if strip is None else BarcodeStrip(strip, 1, beyond_the_sheet=False)  # type: ignore[arg-type]
    own = paper(barcode_strip=edge)
    batch = Batch("Orchard market", "in", (own,), trimmer=trimmer)
    cut = replace(cut, alike=1)
    states = cut_again(cut, own, trimmer)
    steps = steps_of(cut, batch)
    strokes = [(n, stroke) for n, step in enumerate(steps, 1) for stroke in step.strokes]
    parts = {whole_part(cut).rectangle: whole_part(cut)}
    for state, (number, stroke) in zip(states[:-1], strokes, strict=True):
        assert rects(state.parts) == sorted(one for p in parts.values() for one in rectangles(p))
        assert (state.step, rects(state.taken)) == (number, sorted(rectangles(stroke.whole)))
        step = steps[number - 1]
        taken = [one for first in step.strokes[:: step.times] for one in rectangles(first.whole)]
        assert rects(state.step_takes) == sorted(taken)
        del parts[stroke.whole.rectangle]
        for part in (stroke.taken, stroke.rest):
            if part.leaves or part.parts:  # the first stroke of a pinwheel takes nothing
                parts[part.rectangle] = part
    last = states[-1]
    assert rects(last.parts) == sorted(one for p in parts.values() for one in rectangles(p))
    assert (last.step, last.taken, last.step_takes) == (len(steps) + 1, (), ())


def rects(slabs: Iterable[Slab]) -> list[tuple[int, ...]]:
    """The rectangles of some parts, and whether they still hang together with others."""
    return sorted((*part.rect, part.joined) for part in slabs)


def rectangles(part: Part) -> Iterator[tuple[int, ...]]:
    """The rectangle of a part; those of what is left of a pinwheel, which is none itself."""
    for one in part.parts if part.joined else (part,):
        yield *one.rectangle, part.joined
