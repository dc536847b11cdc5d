"""The check of a plan that goes on from another: right ones pass, and every forged one is named."""

from collections.abc import Callable
from dataclasses import replace
from random import Random

import pytest
from pack_cases import MM
from random_batches import batch_of
from test_going_on import FEW, SEEDS, everything, market, record_of

from nesting import go_on, going_on
from nesting.batch import Batch, Begun, Moved
from nesting.checker import check
from nesting.pack import Rounds, solve
from nesting.papers import Edges, Paper, Sheet, SheetCount
from nesting.plan import Plan
from nesting.record import Record, read_record

MANY = Rounds(60)


@pytest.mark.parametrize("seed", SEEDS[::2])
def test_any_progress_of_any_plan_is_checked_without_fault(seed: int) -> None:
    """Two records, one after the other, of plans of batches drawn at random, with strips and trims."""
    batch, rng = batch_of(seed), Random(f"after {seed}")
    plan = solve(batch, FEW)
    for _ in range(2):
        rest = go_on(batch, plan, record_of(rng, plan), FEW)
        assert check(batch, rest, plan) == ()
        plan = rest
    rest = go_on(batch, plan, everything(plan), FEW)
    assert check(batch, rest, plan) == ()


@pytest.mark.parametrize("trim", [0, 5])
@pytest.mark.parametrize(
    "far", [*(f"step {n}" for n in range(1, 5)), *(f"stroke {n}" for n in range(1, 8))]
)
def test_parts_in_hand_are_checked_at_every_step_and_stroke(far: str, trim: int) -> None:
    """One of three sheets is cut as far as that, another is spoilt there, with edges still to be trimmed."""
    batch = market(have=3, make=14)
    edges = Edges(*[trim * MM] * 4)
    paper = replace(batch.papers[0], sheets=(Sheet(130 * MM, 110 * MM, have=3),), edge_trim=edges)
    batch = replace(batch, papers=(paper,))
    plan = solve(batch, MANY)
    assert plan.layouts[0].alike > 1
    words = f"1: {far} of 1 sheet"
    rest = go_on(batch, plan, read_record(words, words), MANY)
    assert check(batch, rest, plan) == ()


def test_of_a_layout_that_is_done_sheets_spoilt_are_not_counted_twice() -> None:
    """Two sheets are cut alike; one is spoilt, and the other is all that is done."""
    batch = market(have=3, make=12)
    plan = solve(batch, MANY)
    assert plan.layouts[0].alike == 2
    rest = go_on(batch, plan, read_record("1", "1: 1 sheet"), MANY)
    assert check(batch, rest, plan) == ()
    assert [one.count for one in begun_of(rest).moved.gone] == [2]


# Plans that are wrong.


def begun_with(rest: Plan, **changes: object) -> Plan:
    """A plan that says something else of what was cut."""
    assert rest.asked.begun is not None
    begun = replace(rest.asked.begun, **changes)  # type: ignore[arg-type]
    return replace(rest, asked=replace(rest.asked, begun=begun))


def with_bags(rest: Plan, change: int) -> Plan:
    """More of the first piece in the bags, or fewer, wherever a plan says how many."""
    begun = begun_of(rest)
    first, *others = begun.pieces
    bags = first.in_bags + change
    pieces = [
        replace(one, in_bags=bags) if one.letter == first.letter else one for one in rest.pieces
    ]
    forged = begun_with(rest, pieces=(replace(first, in_bags=bags), *others))
    return replace(forged, pieces=tuple(pieces))


def begun_of(rest: Plan) -> Begun:
    """What a plan says was cut before."""
    assert rest.asked.begun is not None
    return rest.asked.begun


def with_moved(rest: Plan, *, gone: int = 0, left: int = 0, new: SheetCount | None = None) -> Plan:
    """Other numbers of sheets gone, or left; a sheet left that no other gave."""
    moved = begun_of(rest).moved

    def counted(counts: tuple[SheetCount, ...], change: int) -> tuple[SheetCount, ...]:
        first, *others = counts
        changed = replace(first, count=first.count + change)
        return (changed, *others) if changed.count else tuple(others)

    all_left = counted(moved.left, left) + ((new,) if new else ())
    return begun_with(rest, moved=Moved(counted(moved.gone, gone), all_left))


def swapped(rest: Plan) -> Plan:
    """The letters of the first two pieces in the bags changed for each other, everywhere."""
    first, second, *_ = (piece.letter for piece in begun_of(rest).pieces)
    other = {first: second, second: first}
    pieces = tuple(replace(p, letter=other.get(p.letter, p.letter)) for p in rest.pieces)
    bags = [replace(p, letter=other.get(p.letter, p.letter)) for p in begun_of(rest).pieces]
    return replace(begun_with(rest, pieces=tuple(bags)), pieces=pieces)


def with_first(rest: Plan, **changes: object) -> Plan:
    """A plan whose first piece is another one."""
    first, *others = rest.pieces
    return replace(rest, pieces=(replace(first, **changes), *others))  # type: ignore[arg-type]


def with_record(rest: Plan, done: str) -> Plan:
    """A plan that names another record of the earlier one."""
    return replace(rest, after=(*rest.after[:-1], replace(rest.after[-1], done=done)))


def two_pieces() -> tuple[Batch, Plan, Plan]:
    """A plan of cards with two layers that is cut in part, and the plan that goes on from it."""
    paper = Paper("pear toss", (Sheet(120 * MM, 100 * MM, have=4),), buy=False)
    batch = market()
    (card,) = batch.cards
    (panel,) = card.layers
    band = replace(panel, name="band", width=40 * MM, height=25 * MM)
    card = replace(card, make=10, layers=(panel, band))
    batch = replace(batch, papers=(paper,), cards=(card,))
    plan = solve(batch, MANY)
    done = "1: step 2 of 1 sheet, 2"
    return batch, plan, go_on(batch, plan, read_record(done), MANY)


OFFCUT = SheetCount("pear toss", Sheet(70 * MM, 70 * MM, offcut=True), 1)
PLUM = SheetCount("plum toss", Sheet(70 * MM, 70 * MM), 1)
FORGED: dict[str, tuple[Callable[[Plan], Plan], str]] = {
    "more in the bags": (
        lambda rest: with_bags(rest, 1),
        "are said to be cut; by the record it is",
    ),
    "fewer in the bags": (lambda rest: with_bags(rest, -1), "are said to be cut; by the record"),
    "a sheet used again": (
        lambda rest: with_moved(rest, gone=-1),
        "said to be cut into; by the record",
    ),
    "a sheet lost": (lambda rest: with_moved(rest, gone=1), "said to be cut into; by the record"),
    "a sheet of no paper": (
        lambda rest: begun_with(
            rest, moved=replace(begun_of(rest).moved, gone=(*begun_of(rest).moved.gone, PLUM))
        ),
        "1 are said to be cut into; by the record it is 0",
    ),
    "an offcut invented": (lambda rest: with_moved(rest, new=OFFCUT), "1 are said to be left"),
    "an offcut lost": (
        lambda rest: with_moved(rest, left=-1),
        "1 are said to be left to cut from; by the record it is 2",
    ),
    "an offcut twice": (
        lambda rest: with_moved(rest, left=1),
        "3 are said to be left to cut from; by the record it is 2",
    ),
    "letters swapped": (swapped, "it is another piece than before"),
    "a piece forgotten": (
        lambda rest: begun_with(rest, pieces=begun_of(rest).pieces[1:]),
        "were cut; none is said to be",
    ),
    "a piece from nowhere": (
        lambda rest: begun_with(
            rest, pieces=(*begun_of(rest).pieces, replace(begun_of(rest).pieces[0], letter="Z"))
        ),
        "no earlier plan has a piece of this letter",
    ),
    "a name changed": (
        lambda rest: begun_with(
            rest, pieces=(replace(begun_of(rest).pieces[0], name="tag"), *begun_of(rest).pieces[1:])
        ),
        "it is another piece than before, panel of 40 x 50 mm",
    ),
    "a letter twice": (
        lambda rest: begun_with(rest, pieces=(*begun_of(rest).pieces, begun_of(rest).pieces[0])),
        "two pieces have one letter",
    ),
    "a letter changed": (lambda rest: with_first(rest, letter="Z"), "its letter was A."),
    "the letter of another piece": (
        lambda rest: with_first(rest, width=41 * MM),
        "its letter was that of another piece before.",
    ),
    "more done": (lambda rest: with_record(rest, "1, 2"), "by the record it is"),
    "less done": (lambda rest: with_record(rest, "2"), "by the record it is"),
    "another step": (
        lambda rest: with_record(rest, "1: step 1 of 1 sheet, 2"),
        "by the record it is",
    ),
    "another stroke": (
        lambda rest: with_record(rest, "1: stroke 1 of 1 sheet, 2"),
        "by the record it is",
    ),
    "a stroke too many": (
        lambda rest: with_record(rest, "1: stroke 40"),
        "layout 1 has no stroke 40",
    ),
    "a layout too many": (lambda rest: with_record(rest, "9"), "it has no layout 9"),
    "a step too many": (lambda rest: with_record(rest, "1: step 40"), "layout 1 has no step 40"),
    "sheets too many": (lambda rest: with_record(rest, "1: 7 sheets"), "has not so many sheets"),
    "no record": (lambda rest: with_record(rest, "all of it"), "the nearest that reads is"),
    "no earlier plan": (lambda rest: replace(rest, after=()), "it goes on from no plan"),
    "another mark": (
        lambda rest: replace(rest, after=(replace(rest.after[0], mark="Salimo 47"),)),
        "it goes on from the plan Salimo 47; the earlier plan is",
    ),
    "another digest": (
        lambda rest: replace(rest, after=(replace(rest.after[0], digest="0"),)),
        "and not the same, though their marks are",
    ),
    "a longer chain": (
        lambda rest: replace(rest, after=(*rest.after, *rest.after)),
        "the plans before the earlier one are not those it names",
    ),
    "more on record than there was": (
        lambda rest: begun_with(rest, on_record=Moved(left=(OFFCUT,))),
        "1 are said to be on record; 0 were cut or left",
    ),
    "more on record than was cut": (
        lambda rest: begun_with(
            rest, on_record=Moved((replace(begun_of(rest).moved.gone[0], count=9),))
        ),
        "9 are said to be on record",
    ),
}


@pytest.mark.parametrize("forged", FORGED)
def test_a_forged_plan_is_named(forged: str) -> None:
    """Whatever it says of the time before it that the earlier plan and the record do not give."""
    batch, plan, rest = two_pieces()
    assert begun_of(rest).moved.left
    assert check(batch, rest, plan) == ()
    change, words = FORGED[forged]
    faults = check(batch, change(rest), plan)
    assert any(words in fault.said for fault in faults), faults
    assert {fault.rule for fault in faults} == {"after"}


def test_a_wrong_rule_for_how_far_a_plan_is_cut_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where going on takes another step for done than the record says, the check names it."""
    batch, plan, _ = two_pieces()
    right = going_on.progress_of
    for wrong in (
        "1: step 1 of 1 sheet, 2",
        "1: step 3 of 1 sheet, 2",
        "1: step 2, 2",
        "2",
        "1, 2",
    ):
        monkeypatch.setattr(going_on, "progress_of", lambda p, _, w=wrong: right(p, read_record(w)))
        rest = go_on(batch, plan, read_record("1: step 2 of 1 sheet, 2"), MANY)
        assert {fault.rule for fault in check(batch, rest, plan)} == {"after"}


def test_another_earlier_plan_is_named() -> None:
    """A plan of the same batch from another seed, or with a fault of its own, is not the earlier one."""
    batch, plan, rest = two_pieces()
    (fault,) = check(batch, rest, replace(plan, seed=plan.seed + 1))
    assert "it goes on from the plan" in fault.said
    wrong = replace(plan, layouts=plan.layouts[1:])
    assert all(fault.where.startswith("earlier plan, ") for fault in check(batch, rest, wrong))
    assert check(batch, rest, wrong)


def test_offcuts_of_the_stash_are_cut_once() -> None:
    """Each by its number: one that the earlier plan did not have, or cut already, is named."""
    batch = market(make=7)
    paper = batch.papers[0]
    offcut = Sheet(41 * MM, 51 * MM, 2, offcut=True, name="3, 8")
    batch = replace(batch, papers=(replace(paper, sheets=(*paper.sheets, offcut)),))
    plan = solve(batch, MANY)
    rest = go_on(batch, plan, everything(plan), MANY)
    assert check(batch, rest, plan) == ()
    gone = begun_of(rest).moved.gone
    numbered = [one for one in gone if one.sheet.name is not None]
    assert {one.sheet.name for one in numbered} == {"3", "8"}
    for name, words in (
        ("9", "the earlier plan did not have it"),
        ("3", "said to be cut into twice"),
    ):
        forged = tuple(
            replace(one, sheet=replace(one.sheet, name=name)) if one in numbered else one
            for one in gone
        )
        faults = check(
            batch, begun_with(rest, moved=replace(begun_of(rest).moved, gone=forged)), plan
        )
        assert any(words in fault.said for fault in faults)
    unnumbered = tuple(replace(one, sheet=replace(one.sheet, name=None)) for one in gone)
    faults = check(
        batch, begun_with(rest, moved=replace(begun_of(rest).moved, gone=unnumbered)), plan
    )
    assert [fault.said for fault in faults if fault.rule == "after"] == [
        "an offcut is said to be cut into without its number."
    ]
    again = go_on(batch, rest, Record(), MANY)
    assert check(batch, again, rest) == ()
    faults = check(
        batch, begun_with(again, moved=replace(begun_of(again).moved, gone=unnumbered)), rest
    )
    assert {fault.said for fault in faults} == {
        "it was cut into and is not said to be.",
        "an offcut is said to be cut into without its number.",
    }


def test_an_offcut_of_the_stash_keeps_its_number() -> None:
    """Without the earlier plan, too: one that is not there, is there twice or is cut already is named."""
    batch = market(make=7)
    paper = batch.papers[0]
    offcut = Sheet(41 * MM, 51 * MM, 3, offcut=True, name="3, 5, 8")
    batch = replace(batch, papers=(replace(paper, sheets=(*paper.sheets, offcut)),))
    plan = solve(batch, MANY)
    (small,) = (one for one in plan.layouts if one.source.kind == "offcut")
    rest = go_on(batch, plan, read_record(f"{small.id}: 1 sheet"), MANY)
    assert check(batch, rest) == ()
    (now,) = rest.asked.papers
    assert [one.name for one in now.sheets] == [None, "5, 8"]
    for name in ("5, 9", "5, 5", "3, 5"):
        sheets = (now.sheets[0], replace(now.sheets[1], name=name))
        asked = replace(rest.asked, papers=(replace(now, sheets=sheets),))
        assert {one.rule for one in check(batch, replace(rest, asked=asked))} == {"begun"}


def test_what_is_cut_before_a_plan_was_cut_by_one_that_it_names() -> None:
    """Else nobody would be told to have it checked with the earlier plan."""
    batch, _, rest = two_pieces()
    assert {one.rule for one in check(batch, replace(rest, after=()))} == {"begun"}


def test_nothing_done_is_checked_too() -> None:
    """A plan that only names the one before it is that one; with a sheet cut it is not."""
    batch, plan, _ = two_pieces()
    rest = go_on(batch, plan, Record(), MANY)
    assert check(batch, rest, plan) == ()
    faults = check(batch, with_record(rest, "1: 1 sheet"), plan)
    assert any("by the record it is 1" in fault.said for fault in faults)
