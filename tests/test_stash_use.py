"""A plan made from the stash: what it takes, what it puts back, each sheet once."""

import re
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

import nesting
import nesting.sheets
from nesting.cutting.strokes import steps_of
from nesting.files import as_planned
from nesting.papers import BarcodeStrip, Edge, Edges, Face, Paper, Print, Sheet, StripEdge
from nesting.record import RecordError, read_record
from nesting.sheets import turned
from nesting.sources import offcuts_taken
from nesting.stash import (
    Stash,
    StashError,
    StashOffcut,
    holds,
    moved_on_record,
    read_table,
    recorded,
    use_plan,
)
from nesting.typed_lengths import exact_size, parse_length, parse_size

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
def test_four_quarter_turns_lead_back(strip: StripEdge) -> None:
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


@pytest.mark.parametrize("sides", ["5 x 4", "4 x 5"])
@pytest.mark.parametrize("up", ["top", "left", "bottom", "right"])
@pytest.mark.parametrize(
    "prints", [("four-way", "one-way"), ("one-way", "four-way"), ("one-way", "two-way")]
)
def test_a_piece_is_held_by_what_either_face_can_give_it(
    prints: tuple[Print, Print], up: Edge, sides: str
) -> None:
    """As the packer has it: cut upright from one of the faces, or turned where that may be."""
    front, back = Face(prints[0]), Face(prints[1], up)
    offcut = Sheet(*size(sides), 1, offcut=True)
    paper = Paper("pear toss", (Sheet(*size("12 x 12"), 0), offcut), False, front, back)
    tag = nesting.LoosePiece("tag", "pear toss", 1, *size("3 3/4 x 5"), face="front")
    tags = tag, replace(tag, face="back")
    plans = [nesting.solve(nesting.Batch("Orchard", "in", (paper,), (), (one,))) for one in tags]
    assert holds(paper, offcut, *size("3 3/4 x 5")) == any(plan.all_cut for plan in plans)


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
    first = use_plan(stash, plan, read_record(f"{whole.id}: 1 sheet"))
    assert first.sheets == (("plum dots", size("12 x 12"), 1),)
    with pytest.raises(StashError, match="on record already"):
        use_plan(stash, plan, read_record(f"{whole.id}: 1 sheet"))
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
    assert all(nesting.sheets.is_kept(o.width, o.height, plan.asked.keep_from) for o in taken.kept)
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
        with pytest.raises(
            nesting.InputError, match="the stash has sheets of; it has none of plum dots"
        ):
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


def test_a_plan_of_papers_that_are_not_in_the_stash_is_refused(
    planned: tuple[nesting.Batch, nesting.Plan], stash: Stash
) -> None:
    """Nothing of it goes on record, so that it can be once its papers are there."""
    stash.rename_paper("plum dots", "damson dots")
    refused = "none of what was cut is in the stash: plum dots; 'nesting stash add'"
    with pytest.raises(StashError, match=refused):
        use_plan(stash, planned[1])
    assert recorded(stash, planned[1]) == read_record()
    stash.rename_paper("damson dots", "plum dots")
    assert use_plan(stash, planned[1]).sheets


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
    ("done", "spoilt", "words"),
    [
        ("1: step 99", "", "'1: step 99'; layout 1 has"),
        ("1: 99 sheets", "", "'1: 99 sheets'; layout 1 has"),
        ("1, 1", "", "'1, 1'; layout 1 has"),
        ("9", "", "'9'; the plan has layouts 1-"),
        ("1", "1", "spoilt, and a spoilt sheet is not named as done"),
    ],
)
def test_a_record_of_another_plan_is_refused(
    planned: tuple[nesting.Batch, nesting.Plan], stash: Stash, done: str, spoilt: str, words: str
) -> None:
    """What the plan does not have is named, and nothing changes."""
    held = counts(stash)
    with pytest.raises(RecordError, match=re.escape(words)):
        use_plan(stash, planned[1], read_record(done, spoilt))
    assert counts(stash) == held


def rows(stash: Stash) -> nesting.Plan:
    """Two sheets alike of two rows of three tags, and an offcut: step 1 makes the rows, step 2 the tags."""
    text = BATCH.replace("3 3/4 x 5", "5 x 4").replace("14", "12")
    (stash.path.parent / "b.yaml").write_text(text)
    stash.take_offcuts((1, 2, 3))
    plan = nesting.solve(nesting.read_batch(stash.path.parent / "b.yaml", stash.at_hand))
    assert [(one.alike, len(one.blanks)) for one in plan.layouts] == [(2, 6)]
    return plan


def sizes(stash: Stash) -> list[str]:
    """The offcuts there are, by size."""
    return sorted(exact_size(one.width, one.height) for one in stash.offcuts())


def test_a_part_in_hand_is_an_offcut_until_it_is_cut_further(stash: Stash) -> None:
    """It goes in after its step, comes out by its number after the next, and every undo brings it back."""
    plan = rows(stash)
    states = [(counts(stash), sizes(stash))]
    steps = len(steps_of(plan.layouts[0], plan.asked))
    for step in range(1, steps + 1):
        taken = use_plan(stash, plan, read_record(f"1: step {step}"))
        assert taken.sheets == ((("plum dots", size("12 x 12"), 2),) if step == 1 else ())
        states.append((counts(stash), sizes(stash)))
        in_hand = [one.number for one in taken.kept if one.note.endswith("a part in hand")]
        assert (in_hand == []) == (step == steps)
        with pytest.raises(StashError, match="on record already"):
            use_plan(stash, plan, read_record(f"1: step {step}"))
    with pytest.raises(StashError, match="on record already"):
        use_plan(stash, plan)
    for state in reversed(states[:-1]):
        stash.undo()
        assert (counts(stash), sizes(stash)) == state
    use_plan(stash, plan)
    assert sizes(stash) == states[-1][1]


@pytest.mark.parametrize("seed", range(12))
def test_records_in_any_number_come_to_the_same_as_one(stash: Stash, seed: int) -> None:
    """Whatever is recorded on the way, what lies in the drawer in the end is what the last says alone."""
    plan, chance = rows(stash), Random(seed)
    strokes = steps_of(plan.layouts[0], plan.asked)[-1].strokes[-1].number
    far = [0, 0]
    for _ in range(4):
        far = [chance.randint(one, strokes) for one in far]
        words = ", ".join(f"1: stroke {one} of 1 sheet" for one in far if one)
        with suppress(StashError):
            use_plan(stash, plan, read_record(words))
    spoilt = chance.choice(["", f"1: stroke {far[0] + 1} of 1 sheet"]) if far[0] < strokes else ""
    done = f"1: stroke {far[1]} of 1 sheet" if far[1] else ""
    if spoilt:
        use_plan(stash, plan, read_record(done, spoilt))
    one_by_one = counts(stash)[0], sizes(stash)
    last = recorded(stash, plan)
    while True:
        try:
            stash.undo()
        except StashError:
            break
        if recorded(stash, plan) == read_record():
            break
    if last != read_record():
        use_plan(stash, plan, last)
        assert (counts(stash)[0], sizes(stash)) == one_by_one


def test_a_part_that_was_cut_is_not_spoilt_before(stash: Stash) -> None:
    """A sheet that is on record as cut to the end cannot be spoilt at its first step; nothing changes."""
    plan = rows(stash)
    use_plan(stash, plan)
    held = counts(stash)
    with pytest.raises(StashError, match="spoilt at step 1; all that are not spoilt are on record"):
        use_plan(stash, plan, read_record("", "1: step 1 of 1 sheet"))
    assert counts(stash) == held


def test_a_part_that_was_cut_is_not_spoilt_by_an_earlier_stroke(stash: Stash) -> None:
    """Of sheets on record up to stroke 4 no part is spoilt at stroke 4, but one is at stroke 5."""
    plan = rows(stash)
    use_plan(stash, plan, read_record("1: stroke 4"))
    held = counts(stash)
    with pytest.raises(
        StashError, match="spoilt at stroke 4; all that are not spoilt are on record"
    ):
        use_plan(stash, plan, read_record("1: stroke 4 of 1 sheet", "1: stroke 4 of 1 sheet"))
    assert counts(stash) == held
    words = "1: stroke 4 of 1 sheet", "1: stroke 5 of 1 sheet"
    use_plan(stash, plan, read_record(*words))
    assert recorded(stash, plan) == read_record(*words)


def test_a_spoilt_sheet_is_taken_and_leaves_what_lay_aside(stash: Stash) -> None:
    """One sheet spoilt whole is gone from the stash with nothing put in; the other can still be cut."""
    plan = rows(stash)
    before = counts(stash)[0] or 0
    taken = use_plan(stash, plan, read_record("", "1: step 1 of 1 sheet"))
    assert (taken.sheets[0][2], taken.kept) == (1, ())
    rest = use_plan(stash, plan, read_record("1: 1 sheet", "1: step 1 of 1 sheet"))
    assert rest.sheets[0][2] == 1
    assert counts(stash)[0] == before - 2
    with pytest.raises(StashError, match="2 sheets done; 1 of 2 on record as spoilt, and"):
        use_plan(stash, plan, read_record("1: 2 sheets"))


def test_a_part_in_hand_that_is_gone_is_not_cut_further(stash: Stash) -> None:
    """Where the offcut that it was put in as was taken otherwise, the record is refused."""
    plan = rows(stash)
    taken = use_plan(stash, plan, read_record("1: step 1"))
    number = next(one.number for one in taken.kept if one.note.endswith("a part in hand"))
    stash.take_offcuts((number,))
    with pytest.raises(StashError, match=f"offcut {number}, a part in hand of layout 1"):
        use_plan(stash, plan)
    stash.undo()
    use_plan(stash, plan)


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


MIDDLES = """
batch: Orchard market
unit: mm
save middles: true
papers:
  plum dots: stash
  pear toss: {sheet: 200 x 200, have: plenty}
cards:
  windfall:
    make: 4
    size: 60 x 80
    layers:
      - {name: mat, size: 60 x 80, paper: plum dots}
      - {name: cover, paper: pear toss, reveal: 2}
      - {name: tag, size: 40 x 60, paper: plum dots, where: inside}
"""


def test_a_covered_middle_is_no_sheet_of_the_stash(tmp_path: Path) -> None:
    """One sheet of mats is taken; their middles, which give the tags, were never in the drawer."""
    stash = Stash(tmp_path / "s.sqlite")
    sheet = Sheet(120_000_000, 160_000_000, 3)
    stash.put_paper(Paper("plum dots", (sheet,)), "a paper")
    (tmp_path / "b.yaml").write_text(MIDDLES)
    batch = nesting.read_batch(tmp_path / "b.yaml", stash.at_hand)
    plan = nesting.solve(batch)
    assert [one.source.kind for one in plan.layouts_of("plum dots")] == ["sheet", "middle"]
    used = use_plan(stash, plan, read_record("1"))
    assert used.sheets == (("plum dots", (sheet.width, sheet.height), 1),)
    rest = nesting.go_on(
        nesting.read_batch(tmp_path / "b.yaml", stash.at_hand), plan, read_record("1"),
        on_record=moved_on_record(stash, plan, ["plum dots"]),
    )  # fmt: skip
    assert [(one.source.kind, one.alike) for one in rest.layouts_of("plum dots")] == [("middle", 4)]
    last = use_plan(stash, rest)
    assert (last.sheets, last.offcuts) == ((), ())
    assert counts(stash)[0] == 2
