"""The checker cuts a sheet again as its stroke table says, sharing no code with what orders the table."""

from collections.abc import Iterator
from dataclasses import replace

from cut_trees import layouts, paper
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.batch import BarcodeStrip, Batch, Trimmer
from nesting.checker.recut import cut_again
from nesting.cutting.parallel_cuts import Part, whole_part
from nesting.cutting.strokes import steps_of
from nesting.plan import Layout

TRIMMERS = st.builds(
    Trimmer,
    marks=st.just(1),
    narrowest_hold=st.integers(0, 8),
    repeat=st.sampled_from(["same ruler setting", "descending marks"]),
    hand=st.sampled_from(["left", "right"]),
)


@given(layouts(), TRIMMERS, st.none() | st.sampled_from(["left", "right", "top", "bottom"]))
@settings(max_examples=400)
def test_after_each_step_the_same_parts_are_on_the_table(
    cut: Layout, trimmer: Trimmer, strip: str | None
) -> None:
    """Every part with its place, and which parts the next step takes, as the table has them."""
    edge = None if strip is None else BarcodeStrip(strip, 1, beyond_the_sheet=False)  # type: ignore[arg-type]
    own = paper(barcode_strip=edge)
    batch = Batch("Orchard market", "in", (own,), trimmer=trimmer)
    cut = replace(cut, alike=1)
    states = cut_again(cut, own, trimmer)
    steps = steps_of(cut, batch)
    assert len(states) == len(steps) + 1
    parts = {whole_part(cut).rectangle: whole_part(cut)}
    for state, step in zip(states, (*steps, None), strict=True):
        found = [tuple(part.rect) for part in state.parts]
        assert sorted(found) == sorted(one for part in parts.values() for one in rectangles(part))
        if step is None:
            assert state.in_hand == ()
            break
        taken = {one for stroke in step.strokes[:: step.times] for one in rectangles(stroke.whole)}
        assert {tuple(part.rect) for part in state.in_hand} == taken
        for stroke in step.strokes:
            del parts[stroke.whole.rectangle]
            for part in (stroke.taken, stroke.rest):
                if part.leaves or part.parts:  # the first stroke of a pinwheel takes nothing
                    parts[part.rectangle] = part


def rectangles(part: Part) -> Iterator[tuple[int, int, int, int]]:
    """The rectangle of a part; those of what is left of a pinwheel, which is none itself."""
    for one in part.parts if part.joined else (part,):
        yield one.rectangle
