"""What fits on the carrier and what the blade reaches; the messages say which and how to mend it."""

import pytest
from cutfile_cases import base_batch, circle, plan_of_batch, plum_batch, rectangle
from hypothesis import given
from hypothesis import strategies as st
from plans import inches

from nesting.cutfile import CutFileError, cut_file
from nesting.cutfile.carrier import Area, Setup, lie_on_carrier, mounting_of
from nesting.cutfile.document import sheetfuls_of
from nesting.papers import BarcodeStrip

QUARTER = inches("1/4")


def refused(*sizes: str, **setup: object) -> str:
    """The message about a plan of two of each size from 12 x 12 in."""
    plan = plan_of_batch(plum_batch(*(rectangle(size, 2) for size in sizes)))
    with pytest.raises(CutFileError) as error:
        sheetfuls_of(plan, plan.layouts, Setup(**setup))  # type: ignore[arg-type]
    return str(error.value)


def test_a_sheet_too_large_for_the_carrier_is_named() -> None:
    """The sheet, the carrier and what would do; turned, where that would."""
    said = refused("3 x 4", carrier=(inches("8"), inches("11")))
    assert said == (
        "layout 1 (plum dots): the sheet of 12 x 12 in on a carrier of 8 x 11 in; expected a larger "
        "carrier, or a plan with the sheet cut to fit it"
    )
    plan = plan_of_batch(plum_batch(rectangle("3 x 4", 2), sheet="8 1/2 x 11"))
    with pytest.raises(CutFileError, match="expected the carrier turned, 9 x 12 in"):
        sheetfuls_of(plan, plan.layouts, Setup(carrier=(inches("12"), inches("9"))))


def test_a_barcode_strip_counts() -> None:
    """A strip beyond the sheet makes it too long for a carrier of the nominal size; that is said."""
    batch = plum_batch(rectangle("3 x 4", 2), barcode_strip=BarcodeStrip())
    plan = plan_of_batch(batch)
    with pytest.raises(CutFileError, match=r"12 x 12 1/2 in on .* without its barcode strip"):
        cut_file(plan.layouts[0], plan, carrier=(inches("12"), inches("12")))


def test_blanks_out_of_reach_are_named_with_their_edges() -> None:
    """A full row of six leaves the blade no way to its ends; all layouts are told in one go."""
    plan = plan_of_batch(
        plum_batch(rectangle("4 x 5 1/4", 6), rectangle("12 x 1 1/2", 4, name="band"))
    )
    with pytest.raises(CutFileError) as error:
        sheetfuls_of(plan, plan.layouts, Setup(edge=QUARTER))
    assert len(error.value.messages) == len(plan.layouts)
    text = str(error.value)
    assert "at the left, right and top of the sheet" in text
    assert "band" in text
    assert "11 1/2 x 11 1/2 in of 12 x 12 in with an edge of" in text
    for mend in ("smaller edge", "larger carrier", "no straight cuts", "edge trim"):
        assert mend in text


def test_an_exact_fit_on_the_reach_is_no_fault() -> None:
    """A carrier with an edge of 1/4 in more than the sheet all round reaches all of it."""
    plan = plan_of_batch(plum_batch(rectangle("6 x 6", 4)))
    setup = Setup(carrier=(inches("12 1/2"), inches("12 1/2")), edge=QUARTER)
    (sheetful,) = sheetfuls_of(plan, plan.layouts, setup)
    lie = lie_on_carrier(sheetful, setup)
    assert (lie.right, lie.down) == (QUARTER, QUARTER)
    assert (lie.reach.width, lie.reach.height) == (sheetful.width, sheetful.height)
    tight = Setup(carrier=(inches("12 1/2"), inches("12 1/2") - 1), edge=QUARTER)
    with pytest.raises(CutFileError, match="at the bottom of the sheet"):
        sheetfuls_of(plan, plan.layouts, tight)


def test_a_sheet_is_laid_where_the_blade_reaches_its_pieces() -> None:
    """On a carrier without room to spare the sheet moves only as far as its pieces need."""
    plan = plan_of_batch(plum_batch(circle("2", 4)))
    for back_up in (False, True):
        setup = Setup(carrier=(inches("12 1/4"), inches("12 1/4")), edge=QUARTER, back_up=back_up)
        (sheetful,) = sheetfuls_of(plan, plan.layouts, setup)
        assert all(map(lie_on_carrier(sheetful, setup).reach.holds, sheetful.shapes))


@given(
    wanted=st.tuples(*[st.integers(0, 6)] * 2, *[st.integers(1, 6)] * 2),
    spare=st.tuples(st.integers(0, 5), st.integers(0, 5)),
    edge=st.integers(0, 4),
    back_up=st.booleans(),
)
def test_no_place_on_the_carrier_reaches_more(
    wanted: tuple[int, int, int, int], spare: tuple[int, int], edge: int, back_up: bool
) -> None:
    """Of all places, tried one by one, none brings more of the wanted box within reach."""
    box, (width, height) = Area(*wanted), (12, 12)
    setup = Setup(carrier=(width + spare[0], height + spare[1]), edge=edge, back_up=back_up)
    lie = mounting_of(box, width, height, setup)
    seen = box.mirrored(width) if back_up else box

    def reached(offset: int, low: int, size: int, free: int) -> int:
        start, end = edge - offset, 12 + free - edge - offset
        return max(0, min(end, 12, low + size) - max(start, 0, low))

    across = [reached(o, seen.x, seen.width, spare[0]) for o in range(spare[0] + 1)]
    down = height - seen.y - seen.height
    along = [reached(o, down, seen.height, spare[1]) for o in range(spare[1] + 1)]
    assert across[lie.right] == max(across)
    assert along[lie.down] == max(along)
    right, top = lie.reach.x + lie.reach.width, lie.reach.y + lie.reach.height
    assert across[lie.right] == max(0, min(right, box.x + box.width) - max(lie.reach.x, box.x))
    assert along[lie.down] == max(0, min(top, box.y + box.height) - max(lie.reach.y, box.y))


def test_layouts_pulled_apart_lie_within_reach() -> None:
    """With a gap the pieces move anyhow, so they move out of the lost edge too."""
    plan = plan_of_batch(base_batch())
    layout = plan.layouts_of("plum dots")[0]
    setup = Setup(gap=inches("1/16"), edge=inches("1/8"))
    (sheetful,) = sheetfuls_of(plan, [layout], setup)
    assert all(map(lie_on_carrier(sheetful, setup).reach.holds, sheetful.shapes))
