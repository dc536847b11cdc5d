"""Easy trees: fewest strokes and ruler settings for the same blanks, one big offcut instead."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pack_cases import MM, Case, asked, problem_of, sheet_batch, solved

from nesting.batch import Batch, Hand, Prefer, Trimmer
from nesting.bench.equal_trees import EqualTrees
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.cutting.strokes import effort
from nesting.layouts import Offcut
from nesting.pack import Rounds, solve
from nesting.pack.answer import layouts_of
from nesting.pack.cut_trees.arranging import Arranged, Arranging
from nesting.pack.cut_trees.big_offcut import gathered, with_one
from nesting.pack.cut_trees.easy_trees import find_ways, ways_of
from nesting.pack.cut_trees.preference import preference_words
from nesting.pack.cut_trees.sheet_groups import Alike
from nesting.pack.cut_trees.usable_area import Room, room_of
from nesting.pack.model.pattern import Leaf, Pattern, grouped, leaves
from nesting.pack.model.problem import Shape
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.papers import BarcodeStrip, Turn
from nesting.plan import Plan
from nesting.typed_lengths import parse_length

LIMIT = Rounds(20)
PREFERENCES: tuple[Prefer, ...] = ("easy-cutting", "big-offcut")
TURNS: st.SearchStrategy[Turn] = st.sampled_from(["never", "may", "must"])


def inches(*lengths: str) -> list[int]:
    """Lengths in nm."""
    return [parse_length(length, "in") for length in lengths]


def effort_of(plan: Plan, paper: str = "pear toss") -> tuple[int, int]:
    """Cuts and ruler settings of all sheets of a paper."""
    took = effort(plan.layouts_of(paper), plan.asked)
    return took.strokes, took.ruler_settings


def largest_offcut(plan: Plan) -> int:
    """The area of the largest kept offcut, in nm²."""
    kept = [p for one in plan.layouts for p in one.offcuts if p.node == Offcut(keep=True)]
    return max((placed.width * placed.height for placed in kept), default=0)


@st.composite
def cases(draw: st.DrawFn) -> Batch:
    """Up to four kinds from one size of sheet, with and without a cut width, a longest cut, a strip."""
    size = st.integers(6, 60)
    pieces = [
        (draw(size), draw(size), draw(st.integers(1, 6)), draw(TURNS))
        for _ in range(draw(st.integers(1, 4)))
    ]
    case = Case(
        ((draw(st.integers(60, 90)), draw(st.integers(60, 90)), None),),
        tuple(pieces),
        cut_width=draw(st.sampled_from([0, 0, 1, 3])),
        longest=draw(st.sampled_from([None, None, 90])),
    )
    batch = case.batch()
    strip = draw(
        st.sampled_from([None, BarcodeStrip("bottom", 4 * MM), BarcodeStrip("left", 4 * MM)])
    )
    hand = draw(st.sampled_from(["right", "left"]))
    trimmer = replace(batch.trimmer, hand=hand, narrowest_hold=0)
    paper = replace(batch.papers[0], barcode_strip=strip)
    keep_from = ((10 * MM, 20 * MM),)
    batch = replace(batch, papers=(paper,), trimmer=trimmer, keep_from=keep_from)
    assume(not resolve(batch).faults)
    return resolve(batch).batch


def arranging_of(batch: Batch) -> tuple[Arranging, Search]:
    """The trees of a batch of one paper, to choose from."""
    search = Search(problem_of(batch), "0")
    for _ in improve(search):
        if search.rounds >= 10:
            break
    return Arranging(search.best, search.problem, batch), search


def on_sheets(sheets: tuple[Alike, ...]) -> Counter[tuple[int, bool]]:
    """How many blanks of each kind and turn lie on some sheets."""
    found: Counter[tuple[int, bool]] = Counter()
    for one in sheets:
        for leaf in leaves(one.patterns[0]):
            found[leaf.kind, leaf.shape.turned] += one.alike
    return found


def test_six_panels_rows_first() -> None:
    """Six 4 x 5 1/4 from 12 x 12: 6 strokes and 2 ruler settings (the trade's count, rows first)."""
    plan = solved(sheet_batch("12 x 12", asked("4 x 5 1/4", 6, "never")))
    assert effort_of(plan) == (6, 2)
    assert [layout.alike for layout in plan.layouts] == [1]


def test_columns_where_they_take_fewer() -> None:
    """The same lying down: columns first, 6 strokes and 2 ruler settings again."""
    plan = solved(sheet_batch("12 x 12", asked("5 1/4 x 4", 6, "never")))
    assert effort_of(plan) == (6, 2)


def test_equal_strips_lie_in_rows() -> None:
    """The packer may lay strips both ways, round a sheet: all one way they take 12 strokes, not 20."""
    strips = asked("219 x 20 mm", 8), asked("166 x 12 mm", 2)
    plan = solved(sheet_batch("305 x 305 mm", *strips))
    assert effort_of(plan)[0] == 12


def test_the_strip_stays_on_the_offcut() -> None:
    """With a strip below the last row of six panels: its offcut lies beside it, 6 strokes all the same."""
    strip = BarcodeStrip("bottom", *inches("1/2"))
    batch = sheet_batch("12 x 12", asked("4 x 5 1/4", 6, "never"), barcode_strip=strip)
    assert effort_of(solved(batch)) == (6, 2)


def test_settings_are_shared_over_the_layouts() -> None:
    """Two sizes that each fill their own sheets take no setting that the other size has already."""
    batch = sheet_batch("12 x 12", asked("4 x 6", 6, "never"), asked("3 x 4", 12, "never"))
    plan = solved(batch)
    assert len(plan.layouts) == 2
    assert effort_of(plan)[1] == 3


def test_what_needs_no_setting_lies_last() -> None:
    """3 x 4 and 4 x 4 from 11 x 4: two of 4 and what is over, 4 wide too, leave 3 for the end."""
    plan = solved(sheet_batch("11 x 4", asked("4 x 4", 1, "never"), asked("3 x 4", 1, "never")))
    assert effort_of(plan) == (2, 1)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_no_offcut_lies_beside_a_strip_at_the_low_end(hand: Hand) -> None:
    """60 x 60 with the strip at the bottom, where 6, 6 and 36 and their cuts of 3 leave no more than a cut."""
    case = Case(((60, 60, None),), ((6, 6, 2, "never"), (6, 36, 1, "never")), cut_width=3)
    batch = case.batch()
    paper = replace(batch.papers[0], barcode_strip=BarcodeStrip("bottom", 4 * MM))
    trimmer = replace(batch.trimmer, hand=hand, narrowest_hold=0)
    took_what_was_chosen(resolve(replace(batch, papers=(paper,), trimmer=trimmer)).batch)


@given(cases())
@settings(max_examples=20)
def test_trees_take_what_was_chosen(batch: Batch) -> None:
    """Strokes and ruler settings counted while choosing are those of the stored trees."""
    took_what_was_chosen(batch)


def took_what_was_chosen(batch: Batch) -> None:
    """Count what the stored trees take."""
    arranging, search = arranging_of(batch)
    pieces = {piece.id: piece for piece in resolve(batch).pieces()}
    for arranged in arranging.both():
        layouts = layouts_of(arranged, search.problem, batch, pieces)
        took = effort(layouts, batch)
        assert took.strokes == arranged.strokes
        assert took.ruler_settings <= arranged.ruler_settings


@given(cases())
@settings(max_examples=20)
def test_nothing_but_the_cuts_changes(batch: Batch) -> None:
    """Easy cutting keeps sheets and counts; no way takes more strokes than the packer's own.

    A piece is only turned as an equal one on its sheet is.
    """
    arranging, _ = arranging_of(batch)
    before = arranging.sheets
    easy, big = arranging.both()
    for arranged in (easy, big):
        assert sum(one.alike for one in arranged.sheets) == sum(one.alike for one in before)
        assert sum(one.to_buy for one in arranged.sheets) == sum(one.to_buy for one in before)
        kinds = Counter(kind for kind, _ in on_sheets(arranged.sheets).elements())
        assert kinds == Counter(kind for kind, _ in on_sheets(before).elements())
    own = 0
    for one in before:
        room = room_of(arranging.problem, one.sheet, batch.keep_from)
        ways = ways_of(room, one.patterns)
        own += one.alike * min(way.strokes for way in ways)
        for way in find_ways(room, one.patterns):
            assert sorted(way.pattern.kinds) == sorted(one.patterns[0].kinds)
            assert set(leaves(way.pattern)) <= set(leaves(one.patterns[0]))
    assert easy.strokes <= own


@given(cases())
@settings(max_examples=10)
def test_either_choice_is_a_sound_plan(batch: Batch) -> None:
    """Both plans pass the check at the same cost, the same again, and the big offcut is no smaller."""
    plans = [solved(replace(batch, prefer=prefer), LIMIT) for prefer in PREFERENCES]
    easy, big = plans
    assert [f.needed for f in easy.papers] == [f.needed for f in big.papers]
    assert [f.bound for f in easy.papers] == [f.bound for f in big.papers]
    assert largest_offcut(big) >= largest_offcut(easy)
    assert big == solve(replace(batch, prefer="big-offcut"), LIMIT)
    assert check(batch, big) == ()  # what to prefer is nothing that is asked


@given(
    st.lists(st.tuples(st.integers(2, 8), st.integers(2, 8)), min_size=2, max_size=4),
    st.integers(0, 2),
)
@settings(max_examples=60)
def test_hardly_an_equal_tree_takes_fewer_strokes(sizes: list[tuple[int, int]], slack: int) -> None:
    """Of blanks in a row, laid anew: at most one stroke more than any equal tree, and never fewer.

    Held against an exhaustive search that shares no code with the packer.
    """
    row: Pattern = grouped(
        "x", tuple(Leaf(n, Shape(*size, turned=False)) for n, size in enumerate(sizes))
    )
    room = Room(row.width + slack, row.height + slack, 1, 0, None, ((1, 1),))
    fewest = EqualTrees(room.width, room.height, sizes).fewest_strokes
    found = min(way.strokes for way in find_ways(room, [row]))
    assert fewest <= found <= fewest + 1


def test_an_exact_fit_is_worth_a_stroke() -> None:
    """Two 8 x 26 with a 10 x 22: side by side they fill 34 from edge to edge, so they do not lie so."""
    plan = solved(
        Case(((26, 44, None),), ((8, 20, 2, "never"), (10, 22, 1, "never"))).batch(), LIMIT
    )
    (layout,) = plan.layouts
    across = {(placed.y, placed.y + placed.height) for placed in layout.blanks}
    assert len(across) > 1


def test_the_last_sheet_is_emptied() -> None:
    """Blanks move from the emptiest sheet to what is over on a fuller one, as far as they go."""
    small, large = Leaf(0, Shape(3, 3, False)), Leaf(1, Shape(8, 10, False))
    problem = problem_of(Case(((10, 10, None),), ((3, 3, 3, "never"), (8, 10, 1, "never"))).batch())
    tight = Leaf(1, Shape(7, 10, False))
    room = Room(10, 10, 1, 0, None, ((1, 1),))
    sheet = problem.paper.sheets[0]
    sheets = (
        Alike(sheet, (tight,), 1, 0),
        Alike(sheet, (grouped("x", (small, small)),), 1, 0),
    )
    moved = gathered(sheets, (room, room), problem)
    assert on_sheets(moved) == on_sheets(sheets)
    assert sorted(len(one.patterns[0].kinds) for one in moved) == [1, 2]
    assert with_one(large, small, 10, 10, 1) is None


@pytest.mark.parametrize(
    ("strokes", "settings_", "words"),
    [
        (3, 1, "would take 3 more strokes and 1 more ruler setting"),
        (3, -1, "would take 3 more strokes and 1 fewer ruler setting"),
        (0, 0, "would take just as many strokes and ruler settings"),
    ],
)
def test_the_other_coin(strokes: int, settings_: int, words: str) -> None:
    """What one big offcut costs in strokes and ruler settings, in one sentence."""
    batch = sheet_batch("12 x 12", asked("4 x 5 1/4", 5, "never"))
    small, large = inches("4", "12")
    easy = Arranged((), (), 0, 10, 5, (small, small))
    big = Arranged((), (), 0, 10 + strokes, 5 + settings_, (large, small))
    said = preference_words("pear toss", easy, big, batch)
    assert said == (
        "pear toss: laid out for easy cutting; the largest offcut is 4 x 4 in. "
        f"One big offcut, 12 x 4 in, {words}."
    )
    assert not preference_words("pear toss", easy, easy, batch)
    nothing = replace(easy, offcut=None)
    assert not preference_words("pear toss", nothing, nothing, batch)


def test_what_is_easier_in_a_stack_is_taken() -> None:
    """Two sheets at once: trees with one large offcut take fewer strokes than those made for one sheet."""
    pieces = asked("3 3/4 x 5", 15, "may"), asked("3 3/4 x 1 1/4", 15, "may")
    batch = replace(sheet_batch("12 x 12", *pieces), trimmer=Trimmer("sliding", stack=2))
    easy, big = (effort_of(solve(replace(batch, prefer=prefer), LIMIT)) for prefer in PREFERENCES)
    assert easy <= big


def test_descending_marks() -> None:
    """Set at descending marks the ruler stands at 10 1/2 and 5 1/4, at 8 and 4."""
    batch = sheet_batch("12 x 12", asked("4 x 5 1/4", 6, "never"))
    plan = solved(replace(batch, trimmer=Trimmer(repeat="descending marks")))
    assert effort_of(plan) == (6, 4)
