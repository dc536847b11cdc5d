"""A plan made from the stash: what it takes, what it puts back, each sheet once."""

from dataclasses import replace
from pathlib import Path

import pytest

import nesting
from nesting.batch import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.files import as_planned
from nesting.lying import offcuts_taken, turned
from nesting.stash import Stash, StashError, StashOffcut, holds, parse_done, read_table, use_plan
from nesting.units import parse_length, parse_size

BATCH = """
batch: Cider market
unit: in
papers: {plum dots: stash}
pieces: [{name: tag, size: 3 3/4 x 5, paper: plum dots, count: 14}]
"""


def size(text: str) -> tuple[int, int]:
    """A size in nanometres."""
    return parse_size(text, "in")


@pytest.fixture
def stash(tmp_path: Path) -> Stash:
    """Four whole sheets whose print stands, and offcuts, two of them alike though put away turned."""
    opened = Stash(tmp_path / "s.sqlite")
    opened.put_paper(
        Paper("plum dots", (Sheet(*size("12 x 12"), 4),), front=Face("one-way", "right"),
              barcode_strip=BarcodeStrip(beyond_the_sheet=False)),
        "a paper",
    )  # fmt: skip
    opened.add_offcuts(StashOffcut(0, "plum dots", *size("4 x 6"), top="top", strip="left"))
    opened.add_offcuts(StashOffcut(0, "plum dots", *size("6 x 4"), top="right", strip="top"))
    opened.add_offcuts(StashOffcut(0, "plum dots", *size("6 x 4"), top="top"))
    return opened


@pytest.fixture
def planned(stash: Stash, tmp_path: Path) -> tuple[nesting.Batch, nesting.Plan]:
    """The batch as read with the stash, and its plan."""
    (tmp_path / "b.yaml").write_text(BATCH)
    batch = nesting.read_batch(tmp_path / "b.yaml", stash.at_hand)
    return batch, nesting.solve(batch)


def counts(stash: Stash) -> tuple[int | None, set[int]]:
    """Whole sheets, and the numbers of the offcuts."""
    return stash.paper("plum dots").sheets[0].have, {one.number for one in stash.offcuts()}


def test_an_offcut_is_turned_until_its_print_lies_as_the_sheets(stash: Stash) -> None:
    """Put away upright or on its side, it is the same to the packer, its strip turned with it."""
    there = stash.at_hand("plum dots")
    assert there is not None
    alike, other = there.sheets[1:]
    assert (alike.width, alike.height, alike.strip, alike.have) == (*size("6 x 4"), "top", 2)
    assert alike.name == "1, 2"
    assert (other.width, other.height, other.strip, other.name) == (*size("4 x 6"), None, "3")


@pytest.mark.parametrize("strip", ["left", "right", "top", "bottom", "none"])
def test_four_quarter_turns_lead_back(strip: nesting.batch.StripEdge) -> None:  # type: ignore[name-defined]
    """Turning to the right, down, left and up again gives the offcut as it was."""
    lying = (5, 7, strip)
    for top, to in (("top", "right"), ("right", "bottom"), ("bottom", "left"), ("left", "top")):
        lying = turned(*lying, top, to)  # type: ignore[arg-type]
    assert lying == (5, 7, strip)
    assert turned(5, 7, "left", "top", "right") == (7, 5, "top")


def test_a_piece_is_held_as_the_print_allows(stash: Stash) -> None:
    """A standing print is not turned to make a piece fit, and a strip inside the size is no room."""
    paper = stash.paper("plum dots")
    fits = {o.number: holds(paper, o.on_sheet(paper), *size("3 3/4 x 5")) for o in stash.offcuts()}
    assert fits == {1: False, 2: False, 3: False}
    assert holds(paper, stash.offcut(1).on_sheet(paper), *size("3 1/2 x 6"))
    assert holds(paper, stash.offcut(3).on_sheet(paper), *size("5 x 3 3/4"))
    plain = replace(paper, front=Face())
    assert holds(plain, stash.offcut(3).on_sheet(plain), *size("3 3/4 x 5"))


def test_the_check_needs_no_stash(
    planned: tuple[nesting.Batch, nesting.Plan], stash: Stash, tmp_path: Path
) -> None:
    """Plan and batch agree after the stash has changed: what was at hand is in the plan."""
    batch, plan = planned
    nesting.write_plan(plan, tmp_path / "plan.json")
    use_plan(stash, plan)
    again = nesting.read_plan(tmp_path / "plan.json")
    read = nesting.read_batch(tmp_path / "b.yaml", as_planned(again))
    assert read == batch
    assert nesting.check(read, again) == ()


def test_each_sheet_is_taken_once(
    planned: tuple[nesting.Batch, nesting.Plan], stash: Stash
) -> None:
    """Records add up to the whole, a repeated one is refused, and undoing brings all of it back."""
    _, plan = planned
    before = counts(stash)
    whole = next(layout for layout in plan.layouts if layout.alike > 1)
    first = use_plan(stash, plan, {whole.id: 1})
    assert first.sheets == (("plum dots", size("12 x 12"), 1),)
    with pytest.raises(StashError, match="on record already"):
        use_plan(stash, plan, {whole.id: 1})
    rest = use_plan(stash, plan)
    assert rest.sheets[0][2] == sum(one.alike for one in plan.layouts) - len(rest.offcuts) - 1
    with pytest.raises(StashError, match="on record already"):
        use_plan(stash, plan)
    in_one = counts(stash)
    stash.undo()
    stash.undo()
    assert counts(stash) == before
    use_plan(stash, plan)
    assert counts(stash)[0] == in_one[0]
    assert len(counts(stash)[1]) == len(in_one[1])


def test_kept_offcuts_go_in_as_they_lie(
    planned: tuple[nesting.Batch, nesting.Plan], stash: Stash
) -> None:
    """What a layout leaves to keep has the strip that stays on and the top of the print; none smaller."""
    _, plan = planned
    taken = use_plan(stash, plan)
    assert taken.kept
    assert {one.top for one in taken.kept} == {"right"}
    assert all(nesting.batch.is_kept(o.width, o.height, plan.asked.keep_from) for o in taken.kept)
    assert set(taken.kept) <= set(stash.offcuts())


def test_a_plan_takes_the_offcuts_it_names(tmp_path: Path, stash: Stash) -> None:
    """Offcuts alike are told apart by number in the order of the layouts; one gone is refused."""
    text = BATCH.replace("3 3/4 x 5", "3 1/2 x 6").replace("14", "2")
    (tmp_path / "b.yaml").write_text(text)
    plan = nesting.solve(nesting.read_batch(tmp_path / "b.yaml", stash.at_hand))
    numbers = [one for layout in offcuts_taken(plan).values() for one in layout]
    assert sorted(numbers) == [1, 2]
    stash.take_offcuts((2,))
    held = counts(stash)
    with pytest.raises(StashError, match="no offcut 2"):
        use_plan(stash, plan)
    assert counts(stash) == held
    stash.undo()
    assert sorted(use_plan(stash, plan).offcuts) == [1, 2]


@pytest.mark.parametrize("trim", ["0", "1/4"])
@pytest.mark.parametrize("beyond", [True, False])
def test_a_paper_may_be_offcuts_alone(tmp_path: Path, trim: str, beyond: bool) -> None:
    """What they hold is cut, the rest is told as not cut, and nothing is to be bought; the check agrees."""
    edge = parse_length(trim, "in", or_zero=True)
    paper = Paper(
        "plum dots", (), front=Face("one-way"), barcode_strip=BarcodeStrip(beyond_the_sheet=beyond),
        edge_trim=Edges(edge, edge, edge, edge),
    )  # fmt: skip
    with Stash(tmp_path / "o.sqlite") as stash:
        stash.put_paper(paper, "a paper")
        stash.add_offcuts(StashOffcut(0, "plum dots", *size("5 x 7")), 2)
        stash.add_offcuts(StashOffcut(0, "plum dots", *size("11 x 4")))
        for count, cut in ((4, 4), (9, 6)):
            text = BATCH.replace("3 3/4 x 5", "4 x 3 1/2").replace("14", f"{count}")
            (tmp_path / "b.yaml").write_text(text)
            batch = nesting.read_batch(tmp_path / "b.yaml", stash.at_hand)
            plan = nesting.solve(batch)
            assert nesting.check(batch, plan) == ()
            assert sum(one.alike * len(one.blanks) for one in plan.layouts) == cut
            assert {one.source.kind for one in plan.layouts} == {"offcut"}
            assert sum(one.count for one in plan.uncut) == count - cut
            assert plan.papers[0].to_buy == 0
            nesting.write_plan(plan, tmp_path / "p.json")
            again = nesting.read_plan(tmp_path / "p.json")
            assert nesting.read_batch(tmp_path / "b.yaml", as_planned(again)) == batch
        full = BATCH.replace("3 3/4 x 5", "11 x 4").replace(
            "14", "1"
        )  # as large as the longest offcut
        (tmp_path / "b.yaml").write_text(full)
        plan = nesting.solve(nesting.read_batch(tmp_path / "b.yaml", stash.at_hand))
        assert not plan.uncut
        stash.take_offcuts((1, 2, 3))
        with pytest.raises(nesting.InputError, match="of plum dots nothing is"):
            nesting.read_batch(tmp_path / "b.yaml", stash.at_hand)


def test_a_paper_gets_another_name(stash: Stash) -> None:
    """Sheets and offcuts go with it; a name that is taken is refused; undoing brings the old one back."""
    before = stash.paper("plum dots"), stash.offcuts()
    stash.rename_paper("plum dots", "damson dots")
    assert stash.paper("damson dots").sheets == before[0].sheets
    assert [replace(one, paper="plum dots") for one in stash.offcuts()] == list(before[1])
    stash.put_paper(Paper("plum dots", ()), "a paper")
    with pytest.raises(StashError, match="a paper plum dots in the stash already"):
        stash.rename_paper("damson dots", "plum dots")
    stash.undo()
    stash.undo()
    assert (stash.paper("plum dots"), stash.offcuts()) == before


def test_fewer_sheets_than_were_cut_are_refused(
    planned: tuple[nesting.Batch, nesting.Plan], stash: Stash
) -> None:
    """Where the stash has fewer sheets than the plan cut, nothing is taken."""
    stash.change_sheets("plum dots", size("12 x 12"), 1, None)
    held = counts(stash)
    with pytest.raises(StashError, match="the stash has"):
        use_plan(stash, planned[1])
    assert counts(stash) == held


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1: step 3", "1: step 3, a part of a sheet"),
        ("1: 99 sheets", "1: 99 sheets; expected at most"),
        ("1, 1", "twice"),
        ("9", "9; expected layouts of the plan"),
        ("3-1", "3-1"),
        ("all", "'all'; the nearest that reads is"),
    ],
)
def test_a_record_that_does_not_read_is_refused(
    planned: tuple[nesting.Batch, nesting.Plan], text: str, words: str
) -> None:
    """What is not in the form, or not in the plan, is said; whole layouts and sheets are read."""
    plan = planned[1]
    with pytest.raises(StashError) as caught:
        parse_done(text, plan)
    assert words in str(caught.value)
    whole = {layout.id: layout.alike for layout in plan.layouts}
    assert parse_done(f"1-{len(whole)}", plan) == whole
    assert parse_done("1: 1 sheet", plan) == {1: 1}


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("apple,plum dots,,,", "t.csv:2: what: 'apple'; expected paper or sheet or offcut"),
        ("sheet,plum dots,12,3,", "t.csv:2: size: '12'"),
        ("sheet,plum dots,9 x 9,many,", "t.csv:2: count: 'many'"),
        ("sheet,rose,9 x 9,1,", "t.csv:2: paper 'rose'"),
        ("sheet,plum dots,12 x 12,9,", "which is in the stash otherwise"),
        ("offcut,plum dots,5 x 7,,", "t.csv:2: number: ''"),
        ("sheet,plum dots,9 x 9,1,,,", "more cells than columns"),
    ],
)
def test_a_table_with_a_fault_changes_nothing(stash: Stash, row: str, words: str) -> None:
    """Each row that does not read is named with its line, and no row of the table is put in."""
    held = stash.papers()
    with pytest.raises(StashError) as caught:
        read_table(
            stash, f"what,paper,size,count,number\n{row}\nsheet,plum dots,8 x 8,1,\n", name="t.csv"
        )
    assert words in str(caught.value)
    assert stash.papers() == held
