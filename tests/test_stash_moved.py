"""Going on with papers of the stash: what is on record there is taken off once, whichever comes first."""

from collections import Counter
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from random_batches import batch_of

from nesting import go_on
from nesting.batch import Batch, LoosePiece, Moved
from nesting.checker import check
from nesting.cutting.strokes import steps_of
from nesting.pack import Rounds, solve
from nesting.papers import Paper, Sheet
from nesting.plan import Plan
from nesting.record import Entry, Record, read_record
from nesting.sources import key_of_sheet
from nesting.stash import Stash, StashError, StashOffcut, moved_on_record, use_plan

MM = 1_000_000
FEW = Rounds(3)
SEEDS = (7, 12, 19, 37, 44, 52, 63, 69, 75, 79, 82, 87, 98, 115, 118, 135, 140, 162, 200, 209, 211)


def stashed(batch: Batch, path: Path) -> Stash:
    """A stash with the papers of a batch, and two offcuts of the first."""
    stash = Stash(path)
    for paper in batch.papers:
        sizes = {(s.width, s.height): s for s in paper.sheets if not s.offcut}
        stash.put_paper(replace(paper, sheets=tuple(sizes.values())), "a paper")
    first = batch.papers[0].name
    stash.add_offcuts(StashOffcut(0, first, 90 * MM, 120 * MM), 2)
    return stash


def from_stash(batch: Batch, stash: Stash) -> Batch:
    """A batch with its papers as the stash has them now."""
    papers = (stash.at_hand(paper.name) for paper in batch.papers)
    return replace(batch, papers=tuple(filter(None, papers)))


def record_of(rng: Random, plan: Plan) -> Record:
    """Some sheets of some layouts, to the end or to a step; some spoilt."""
    done, spoilt = [], []
    for layout in plan.layouts:
        if rng.random() < 0.6:
            steps = len(steps_of(layout, plan.asked))
            step = rng.randint(1, steps) if steps and rng.random() < 0.6 else None
            entry = Entry(layout.id, layout.id, step, rng.randint(1, layout.alike))
            (spoilt if rng.random() < 0.3 else done).append(entry)
    return Record(tuple(done), tuple(spoilt))


def at_hand(plan: Plan) -> Counter[tuple[object, ...]]:
    """How many sheets of each kind a plan has to cut from, whatever their numbers in the stash."""
    counts: Counter[tuple[object, ...]] = Counter()
    for paper in plan.asked.papers:
        for sheet in paper.sheets:
            have = 10**6 if sheet.have is None else sheet.have
            counts[paper.name, key_of_sheet(paper, sheet)] += have
    return +counts


def went_on(batch: Batch, plan: Plan, record: Record, stash: Stash) -> Plan:
    """The rest of a plan with the papers of the stash, which the checker finds nothing wrong with."""
    now = from_stash(batch, stash)
    names = {paper.name for paper in batch.papers}
    rest = go_on(now, plan, record, FEW, on_record=moved_on_record(stash, plan, names))
    assert check(now, rest, plan) == ()
    return rest


@pytest.mark.parametrize("seed", SEEDS)
def test_recorded_before_or_after_comes_to_the_same(seed: int, tmp_path: Path) -> None:
    """What is at hand after a record does not depend on whether, or when, the stash knows of it."""
    rng, batch = Random(seed), batch_of(seed)
    stash = stashed(batch, tmp_path / "s.sqlite")
    plan = solve(from_stash(batch, stash), FEW)
    record = record_of(rng, plan)
    unknown = went_on(batch, plan, record, stash)
    with suppress(Exception):  # nothing may be done
        use_plan(stash, plan, record)
    known = went_on(batch, plan, record, stash)
    assert at_hand(known) == at_hand(unknown)
    more = record_of(rng, unknown)
    assert at_hand(went_on(batch, unknown, more, stash)) == at_hand(
        went_on(batch, unknown, more, stashed(batch, tmp_path / "other.sqlite"))
    )


def tags(have: int = 2) -> Batch:
    """Tags of which six are cut from a sheet, and an offcut is kept of it."""
    paper = Paper("plum dots", (Sheet(120 * MM, 115 * MM, have),), buy=False)
    piece = LoosePiece("tag", "plum dots", 12, 40 * MM, 50 * MM)
    return Batch("Cider market", "mm", (paper,), pieces=(piece,))


@pytest.fixture
def stash(tmp_path: Path) -> Stash:
    """Two sheets, no offcuts."""
    stash = Stash(tmp_path / "s.sqlite")
    stash.put_paper(tags().papers[0], "a paper")
    return stash


def known(stash: Stash, plan: Plan) -> Moved:
    """What is on record of the one paper."""
    return moved_on_record(stash, plan, {"plum dots"})


def test_an_undone_record_counts_for_nothing(stash: Stash) -> None:
    """After undo it is as if it had never been; done again, it counts once."""
    plan = solve(from_stash(tags(), stash))
    assert known(stash, plan) == Moved()
    use_plan(stash, plan, read_record("1: 1 sheet"))
    once = known(stash, plan)
    assert [one.count for one in once.gone] == [1]
    assert once.left
    stash.undo()
    assert known(stash, plan) == Moved()
    use_plan(stash, plan, read_record("1: 1 sheet"))
    assert known(stash, plan) == once


def test_a_paper_that_is_not_from_the_stash_keeps_its_number(stash: Stash) -> None:
    """Only the papers that are asked for are looked at."""
    plan = solve(from_stash(tags(), stash))
    use_plan(stash, plan, read_record("1: 1 sheet"))
    assert moved_on_record(stash, plan, set()) == Moved()


def test_what_was_bought_since_is_there(stash: Stash) -> None:
    """A change of the stash that is no record of the plan is not made up for."""
    plan = solve(from_stash(tags(), stash))
    use_plan(stash, plan, read_record("1: 1 sheet"))
    stash.add_sheets("plum dots", (120 * MM, 115 * MM), 3)
    rest = went_on(tags(), plan, read_record("1: 1 sheet"), stash)
    assert rest.papers[0].have == 4


@pytest.mark.parametrize(("put_in", "left"), [(0, 0), (1, 0), (2, 0), (3, 1)])
def test_what_was_bought_is_taken_out_as_far_as_it_was_put_in(
    stash: Stash, put_in: int, left: int
) -> None:
    """The stash has as many sheets after the cutting as a plan that goes on: none that is cut."""
    stash.put_paper(replace(stash.paper("plum dots"), buy=True), "sold again")
    batch = replace(tags(), pieces=(replace(tags().pieces[0], count=24),))
    plan = solve(from_stash(batch, stash))
    assert [(one.alike, one.to_buy) for one in plan.layouts] == [(4, 2)]
    if put_in:
        stash.add_sheets("plum dots", (120 * MM, 115 * MM), put_in)
    for words, taken in (("1: 3 sheets", 2 + min(put_in, 1)), ("1", min(max(put_in - 1, 0), 1))):
        of_size = ("plum dots", (120 * MM, 115 * MM), taken)
        assert use_plan(stash, plan, read_record(words)).sheets == (of_size,) * (taken > 0)
    assert [sheet.have for sheet in stash.paper("plum dots").sheets] == [left]
    assert went_on(batch, plan, read_record("1"), stash).papers[0].have == left


@pytest.mark.parametrize("put_in", [0, 2])
def test_what_was_bought_is_not_taken_from_what_is_cut_later(stash: Stash, put_in: int) -> None:
    """Of two layouts the one that sheets are bought for is cut first: the other finds its own there."""
    stash.put_paper(replace(stash.paper("plum dots"), buy=True), "sold again")
    lid = LoosePiece("lid", "plum dots", 2, 100 * MM, 110 * MM)
    batch = replace(tags(), pieces=(*tags().pieces, lid))
    plan = solve(from_stash(batch, stash))
    (first,) = (one for one in plan.layouts if one.to_buy)
    assert (first.alike, first.to_buy, len(plan.layouts)) == (2, 2, 2)
    if put_in:
        stash.add_sheets("plum dots", (120 * MM, 115 * MM), put_in)
    use_plan(stash, plan, read_record(str(first.id)))
    assert [sheet.have for sheet in stash.paper("plum dots").sheets] == [2]
    use_plan(stash, plan)
    assert [sheet.have for sheet in stash.paper("plum dots").sheets] == [0]


def test_an_offcut_that_was_given_away_is_gone(stash: Stash) -> None:
    """Put in by a record and taken out by hand, it is not planned with."""
    plan = solve(from_stash(tags(), stash))
    use_plan(stash, plan, read_record("1: 1 sheet"))
    numbers = tuple(one.number for one in stash.offcuts())
    assert numbers
    stash.take_offcuts(numbers)
    rest = went_on(tags(), plan, read_record("1: 1 sheet"), stash)
    assert not any(sheet.offcut for sheet in rest.asked.papers[0].sheets)


def test_an_offcut_of_the_stash_goes_by_its_number(stash: Stash) -> None:
    """One that was there before is taken off once, and its like stays with its own number."""
    stash.add_offcuts(StashOffcut(0, "plum dots", 80 * MM, 50 * MM), 2)
    batch = replace(tags(), pieces=(replace(tags().pieces[0], count=2),))
    plan = solve(from_stash(batch, stash))
    assert [layout.source.kind for layout in plan.layouts] == ["offcut"]
    more = replace(batch, pieces=(replace(batch.pieces[0], count=4),))
    for recorded in (False, True):
        if recorded:
            use_plan(stash, plan)
        rest = went_on(more, plan, read_record("1"), stash)
        (left,) = (sheet for sheet in rest.asked.papers[0].sheets if sheet.offcut)
        assert (left.have, left.numbers) == (1, (2,))


def test_a_part_that_was_put_in_later_is_taken_by_the_next_plan(stash: Stash) -> None:
    """It got its number after the next plan was made; before it is on record, that plan is refused."""
    plan = solve(from_stash(tags(), stash))
    record = read_record("1: step 1 of 1 sheet")
    rest = went_on(tags(), plan, record, stash)
    assert [(one.source.kind, one.alike) for one in rest.layouts] == [("offcut", 2), ("sheet", 1)]
    held = stash.papers(), stash.offcuts()
    with pytest.raises(StashError, match="put on record first what was cut of the plan"):
        use_plan(stash, rest)
    assert (stash.papers(), stash.offcuts()) == held
    use_plan(stash, plan, record)
    parts = {one.number for one in stash.offcuts() if one.note.endswith("a part in hand")}
    first, second = (
        use_plan(stash, rest, read_record(words)).offcuts for words in ("1: 1 sheet", "1: 2 sheets")
    )
    assert (len(first), len(second), {*first, *second}) == (1, 1, parts)
    assert parts.isdisjoint(one.number for one in stash.offcuts())


def with_a_part_cut(stash: Stash) -> Plan:
    """A plan that cuts a part in hand by its number, and has that on record."""
    plan = solve(from_stash(tags(), stash))
    record = read_record("1: step 1 of 1 sheet")
    use_plan(stash, plan, record)
    rest = went_on(tags(), plan, record, stash)
    assert rest.layouts[0].source.kind == "offcut"
    use_plan(stash, rest, read_record("1"))
    return rest


def test_a_part_that_the_next_plan_cut_by_its_number_is_gone(stash: Stash) -> None:
    """On record before the next plan is made, it has its number there; after that it is cut once."""
    rest = with_a_part_cut(stash)
    last = went_on(tags(), rest, read_record("1"), stash)
    numbers = [sheet.numbers for sheet in last.asked.papers[0].sheets if sheet.offcut]
    assert sorted(sum(numbers, ())) == [one.number for one in stash.offcuts()]
    assert [sheet.have for sheet in last.asked.papers[0].sheets if sheet.offcut] == [
        len(own) for own in numbers
    ]


def test_a_part_that_is_cut_by_its_number_after_an_undo_counts_once(stash: Stash) -> None:
    """Undo puts it in again, which is no part more."""
    rest = with_a_part_cut(stash)
    once = known(stash, rest)
    stash.undo()
    use_plan(stash, rest, read_record("1"))
    assert known(stash, rest) == once
    went_on(tags(), rest, read_record("1"), stash)


def test_an_offcut_that_the_batch_names_itself_needs_no_number(stash: Stash) -> None:
    """A plan that goes on takes it, and nothing of the stash for it."""
    own = Sheet(80 * MM, 51 * MM, 1, offcut=True)
    paper = from_stash(tags(), stash).papers[0]
    papers = (replace(paper, sheets=(*paper.sheets, own)),)
    batch = replace(tags(), papers=papers, pieces=(replace(tags().pieces[0], count=14),))
    plan = solve(batch, FEW)
    cut = next(one.id for one in plan.layouts if one.source.kind == "sheet")
    rest = go_on(batch, plan, read_record(f"{cut}: 1 sheet"), FEW)
    assert "offcut" in {one.source.kind for one in rest.layouts}
    assert use_plan(stash, rest).offcuts == ()
