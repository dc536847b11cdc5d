"""Going on from a plan that is cut in part."""

from collections import Counter
from dataclasses import replace
from random import Random

import pytest
from pack_cases import MM
from random_batches import batch_of

from nesting import go_on
from nesting.advice.sufficiency import needs_of
from nesting.batch import (
    Batch,
    BatchError,
    Begun,
    Card,
    Layer,
    LoosePiece,
    Moved,
    PaperChoice,
    PaperOption,
    Trimmer,
)
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.cutting.begun import left_to_cut
from nesting.cutting.progress import progress_of
from nesting.cutting.strokes import steps_of
from nesting.draw.card.recipe_words import print_words
from nesting.files.plan_json import plan_from_data, plan_to_data
from nesting.mark import mark_of, plan_digest
from nesting.needs import paper_needs
from nesting.pack import Rounds, solve
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet, SheetCount
from nesting.plan import Plan
from nesting.record import Entry, Record, RecordError, entries_text, read_record

FEW, MANY_ROUNDS = Rounds(3), Rounds(40)
#: Batches that are planned quickly; in many a paper is short, or has edges to trim.
SEEDS = (
    6, 12, 19, 28, 37, 38, 40, 44, 52, 58, 60, 63, 65, 69, 75, 79, 82, 87, 93, 98, 101, 106, 108, 115,
    116, 118, 131, 133, 135, 140, 162, 169, 171, 193, 195, 198, 200, 201, 202, 208, 209, 211, 212,
)  # fmt: skip
#: Finds the proven answer of every batch here that is not drawn at random.
MANY = Rounds(300)
#: Those of them in which no paper is short.
ENOUGH = (
    6, 19, 28, 37, 40, 44, 58, 65, 69, 79, 82, 98, 101, 116, 131, 133, 169, 193, 200, 202, 208, 209, 212,
)  # fmt: skip


def record_of(rng: Random, plan: Plan) -> Record:
    """A record that speaks of each sheet of a plan once at most."""
    done, spoilt = [], []
    for layout in plan.layouts:
        steps = steps_of(layout, plan.asked)
        left = layout.alike
        while left and rng.random() < 0.5:
            sheets = rng.randint(1, left)
            left -= sheets
            entry = Entry(layout.id, layout.id, None, sheets)
            if steps and (kind := rng.random()) < 0.7:
                step = rng.choice(steps)
                far = {"step": steps.index(step) + 1}
                if kind < 0.4:
                    far = {"stroke": rng.choice(step.strokes).number}
                entry = replace(entry, **far)
            (spoilt if rng.random() < 0.3 else done).append(entry)
    return Record(tuple(done), tuple(spoilt))


def everything(plan: Plan) -> Record:
    """The record of a plan that is cut to the end."""
    return Record(tuple(Entry(layout.id, layout.id) for layout in plan.layouts), ())


def cut_of(plan: Plan) -> Counter[str]:
    """How many of each piece a plan cuts, by letter."""
    cut: Counter[str] = Counter()
    for layout in plan.layouts:
        for blank in layout.blanks:
            cut[plan.piece(blank.node.piece).letter] += layout.alike * max(  # type: ignore[union-attr]
                1,
                len(blank.node.circles),  # type: ignore[union-attr]
            )
    return cut


def market(have: int = 2, make: int | None = 6, **changes: object) -> Batch:
    """Cards of one panel each, six of which are cut from one sheet of a paper that is not sold."""
    paper = Paper("pear toss", (Sheet(120 * MM, 100 * MM, have=have),), buy=False)
    panel = Layer("panel", "pear toss", width=40 * MM, height=50 * MM)
    card = Card("windfall", make, 60 * MM, 80 * MM, layers=(panel,))
    return replace(Batch("Orchard market", "mm", (paper,), (card,)), **changes)  # type: ignore[arg-type]


def gone_on(batch: Batch, plan: Plan, done: str = "", spoilt: str = "") -> Plan:
    """The rest of a plan, which the checker finds nothing wrong with."""
    rest = go_on(batch, plan, read_record(done, spoilt), MANY)
    assert check(batch, rest, plan) == ()
    return rest


@pytest.mark.parametrize("seed", ENOUGH[::2])
def test_what_is_left_to_cut_is_what_going_on_needs(seed: int) -> None:
    """Sheets needed, at hand and to buy, and offcuts: counted off the plan, or planned anew."""
    batch, rng = batch_of(seed), Random(seed)
    plan = solve(batch, MANY_ROUNDS)
    sheets = ((one.id, rng.randint(0, one.alike)) for one in plan.layouts)
    record = Record(tuple(Entry(id_, id_, None, count) for id_, count in sheets if count))
    left = left_to_cut(plan, progress_of(plan, record))
    rest = go_on(batch, plan, record, MANY_ROUNDS)
    for counted, planned in zip(paper_needs(left), paper_needs(rest), strict=True):
        same = {"bound": counted.bound, "proven": counted.proven}
        assert replace(planned, **same) == counted
        assert counted.bound.of != "sheets" or counted.bound.value <= planned.needed


def test_of_what_is_left_no_more_cards_are_made_of_the_bags() -> None:
    """The two panels in the bags are for the two cards asked for; the other sheet gives two more."""
    batch = market(make=2)
    square = Layer("panel", "pear toss", width=60 * MM, height=60 * MM)
    batch = replace(batch, cards=(replace(batch.cards[0], layers=(square,)),))
    rest = gone_on(batch, solve(batch), "1")
    assert (rest.pieces[0].in_bags, needs_of(rest).made[0].more) == (2, 2)


@pytest.mark.parametrize("seed", SEEDS[::3])
def test_with_nothing_done_the_plan_stays(seed: int) -> None:
    """Its layouts, counts and proofs are those of the plan before, which it names."""
    batch = batch_of(seed)
    plan = solve(batch, FEW)
    rest = go_on(batch, plan, Record(), FEW)
    assert replace(rest, after=()) == plan
    (earlier,) = rest.after
    assert (earlier.mark, earlier.digest) == (mark_of(plan), plan_digest(plan))
    assert (earlier.done, earlier.spoilt) == ("", "")


@pytest.mark.parametrize("seed", SEEDS[::3])
def test_with_everything_done_nothing_is_left(seed: int) -> None:
    """All that the plan cuts is in the bags; no layout is left where no paper was short."""
    batch = batch_of(seed)
    plan = solve(batch, FEW)
    rest = go_on(batch, plan, everything(plan), FEW)
    assert check(batch, rest, plan) == ()
    assert Counter({one.letter: one.in_bags for one in rest.pieces if one.in_bags}) == cut_of(plan)
    if not plan.uncut:
        assert rest.layouts == rest.uncut == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_the_bags_and_the_rest_make_the_batch(seed: int) -> None:
    """Whatever was done and spoilt, twice in a row: bags, layouts and what is uncut are what is asked."""
    batch, rng = batch_of(seed), Random(seed)
    plan = solve(batch, FEW)
    bags: Counter[str] = Counter()
    for _ in range(2):
        done = record_of(rng, plan)
        progress = progress_of(plan, done)
        bags.update({plan.piece(id_).letter: count for id_, count in progress.bags.items()})
        rest = go_on(batch, plan, done, FEW)
        assert check(batch, rest, plan) == ()
        cut = cut_of(rest)
        cut.update({rest.piece(one.piece).letter: one.count for one in rest.uncut})
        for piece in rest.pieces:
            assert piece.in_bags == min(piece.demand, bags[piece.letter])
            assert piece.in_bags + cut[piece.letter] == piece.demand
        assert plan_from_data(plan_to_data(rest), "plan.json") == rest
        assert rest.after[-1].done == entries_text(done.done)
        plan = rest


@pytest.mark.parametrize("seed", range(12))
def test_spoiling_more_never_makes_more_cards(seed: int) -> None:
    """With a paper that cannot be bought, one more sheet spoilt leaves as many cards at most."""
    rng = Random(seed)
    batch = market(have=3, make=rng.randint(13, 18))
    plan = solve(batch, MANY)
    made = [
        gone_on(batch, plan, spoilt=f"1: {spoilt} sheets" if spoilt else "").cards[0].complete
        for spoilt in range(plan.layouts[0].alike + 1)
    ]
    assert made == sorted(made, reverse=True)
    assert made[-1] < made[0]


@pytest.mark.parametrize("seed", range(8))
def test_whole_cards_count_what_is_in_the_bags(seed: int) -> None:
    """Two short papers, six panels a sheet of one and four mats a sheet of the other: counted by hand."""
    rng = Random(seed)
    panels, mats = (replace(market().papers[0], name=name) for name in ("pear toss", "bee stripe"))
    panel_sheets, mat_sheets = rng.randint(1, 4), rng.randint(1, 4)
    panels = replace(panels, sheets=(Sheet(120 * MM, 100 * MM, have=panel_sheets),))
    mats = replace(mats, sheets=(Sheet(110 * MM, 130 * MM, have=mat_sheets),))
    mat = Layer("mat", "bee stripe", width=55 * MM, height=65 * MM)
    card = market().cards[0]
    cards = (replace(card, make=40, layers=(mat, *card.layers)),)
    batch = replace(market(), papers=(panels, mats), cards=cards)
    first = solve(batch, MANY)
    panel_layout, mat_layout = (first.layouts_of(name)[0] for name in ("pear toss", "bee stripe"))
    lost, cut = rng.randint(1, panel_layout.alike), rng.randint(1, mat_layout.alike)
    rest = gone_on(
        batch, first, f"{mat_layout.id}: {cut} sheets", f"{panel_layout.id}: {lost} sheets"
    )
    assert rest.cards[0].complete == min(6 * (panel_sheets - lost), 4 * mat_sheets)
    assert all(entry.proven for entry in rest.whole_cards)
    in_bags = {piece.name: piece.in_bags for piece in rest.pieces}
    assert in_bags == {"panel": 0, "mat": cut * len(mat_layout.blanks)}


def test_a_spoilt_sheet_is_cut_again_from_one_at_hand() -> None:
    """Of two sheets at hand one is spoilt, and the six cards come from the other."""
    batch = market()
    plan = solve(batch, MANY)
    rest = gone_on(batch, plan, spoilt="1")
    (figures,) = rest.papers
    assert (figures.have, figures.used, rest.cards[0].complete) == (1, 1, 6)


def test_a_part_in_hand_is_cut_further() -> None:
    """After the first step the rest of the batch comes from the rows in hand; no sheet is taken."""
    batch = market()
    plan = solve(batch, MANY)
    rest = gone_on(batch, plan, "1: step 1")
    assert {layout.source.kind for layout in rest.layouts} == {"offcut"}
    assert sum(cut_of(rest).values()) + rest.pieces[0].in_bags == 6
    assert rest.papers[0].used == 0


def test_a_part_whose_edges_are_not_trimmed_is_cut_further() -> None:
    """A row in hand has its own edge trim to come off, and gives what it would have given."""
    (paper,) = market(have=1).papers
    trimmed = replace(
        paper,
        sheets=(Sheet(124 * MM, 104 * MM, have=1),),
        edge_trim=Edges(*(4 * [2 * MM])),
    )
    batch = market(papers=(trimmed,))
    plan = solve(batch, MANY)
    assert plan.all_cut
    for step in range(1, len(steps_of(plan.layouts[0], plan.asked)) + 1):
        rest = gone_on(batch, plan, f"1: step {step}")
        assert rest.cards[0].complete == 6
    assert any(layout.source.trim for layout in gone_on(batch, plan, "1: step 1").layouts)


def test_a_strip_that_the_blade_takes_whole_is_still_on_until_then() -> None:
    """Of a part in hand it takes as much room as any strip, though nothing of it will drop off."""
    strip = BarcodeStrip("top", 10 * MM, beyond_the_sheet=False)
    paper = Paper("pear toss", (Sheet(90 * MM, 80 * MM, 1),), barcode_strip=strip)
    tags = LoosePiece("tag", "pear toss", 2, 90 * MM, 30 * MM)
    batch = Batch("tags", "mm", (paper,), pieces=(tags,), trimmer=Trimmer(cut_width=10 * MM))
    plan = solve(batch, MANY)
    rest = go_on(batch, plan, read_record("1: stroke 1"), MANY)
    assert check(batch, rest, plan) == ()
    (left,) = (one.sheet for one in rest.asked.begun.moved.left)
    assert (left.width, left.height, left.strip) == (90 * MM, 40 * MM, "top")


def test_a_chain_takes_off_each_sheet_once() -> None:
    """Three sheets are cut one after the other, each after a plan of its own."""
    batch = market(have=3, make=18)
    plan = solve(batch, MANY)
    for number in (1, 2, 3):
        plan = gone_on(batch, plan, "1: 1 sheet")
        assert plan.papers[0].have == 3 - number
        assert plan.pieces[0].in_bags == 6 * number
        assert len(plan.after) == number
    assert plan.layouts == ()


def test_letters_stay_and_new_pieces_get_new_ones() -> None:
    """A piece that comes before all others in the file now does not take the letter of one."""
    tag = LoosePiece("tag", "pear toss", 1, 10 * MM, 20 * MM)
    batch = market(have=3, pieces=(tag,))
    plan = solve(batch, MANY)
    assert [(piece.letter, piece.name) for piece in plan.pieces] == [("A", "panel"), ("B", "tag")]
    (card,) = batch.cards
    bough = replace(card.layers[0], name="bough", width=30 * MM)
    edited = replace(batch, cards=(replace(card, layers=(bough, *card.layers)),), pieces=())
    rest = gone_on(edited, plan, "1: 1 sheet")
    assert [(piece.letter, piece.name) for piece in rest.pieces] == [("C", "bough"), ("A", "panel")]
    again = gone_on(batch, rest)
    assert [(piece.letter, piece.name) for piece in again.pieces] == [("A", "panel"), ("B", "tag")]


def test_what_is_in_the_bags_counts_for_no_other_piece() -> None:
    """After an edit of a size the bags are of no use for it, and are not lost either."""
    batch = market(have=3)
    plan = solve(batch, MANY)
    (card,) = batch.cards
    wider = replace(card, layers=(replace(card.layers[0], width=41 * MM),))
    rest = gone_on(replace(batch, cards=(wider,)), plan, "1")
    assert [(piece.letter, piece.in_bags) for piece in rest.pieces] == [("B", 0)]
    back = gone_on(batch, rest)
    assert [(piece.letter, piece.in_bags) for piece in back.pieces] == [("A", 6)]


def test_more_in_the_bags_than_asked_stays_there() -> None:
    """Two cards are asked for where six panels are cut; asked for again, all six are there."""
    batch = market()
    plan = solve(batch, MANY)
    fewer = gone_on(market(make=2), plan, "1")
    assert (fewer.pieces[0].in_bags, fewer.layouts) == (2, ())
    assert gone_on(market(make=6), fewer).pieces[0].in_bags == 6


def test_more_cards_and_more_sheets_are_an_edit_of_the_file() -> None:
    """Have goes on saying what there was at first, and what was bought since."""
    plan = solve(market(), MANY)
    rest = gone_on(market(have=4, make=18), plan, "1")
    assert (rest.papers[0].have, rest.papers[0].used) == (3, 2)


def test_fewer_sheets_than_were_cut_are_refused() -> None:
    """A paper that cannot be bought had at least as many sheets as were cut into."""
    plan = solve(market(), MANY)
    with pytest.raises(BatchError, match=r"have: 0; expected .*: 1 or more") as caught:
        go_on(market(have=0), plan, read_record("1"))
    assert caught.value.faults[0].path == ("papers", "pear toss", "sheets", 0, "have")


def test_sheets_that_were_to_be_bought_are_there_once_they_are_cut() -> None:
    """Of a paper that can be bought more may be cut than the file has: none is left then."""
    (paper,) = market().papers
    batch = market(
        have=0,
        make=12,
        papers=(replace(paper, buy=True, sheets=(replace(paper.sheets[0], have=1),)),),
    )
    plan = solve(batch, MANY)
    assert plan.papers[0].to_buy == 1
    rest = gone_on(batch, plan, "1")
    assert (rest.papers[0].have, rest.layouts) == (0, ())


def test_a_record_of_another_plan_is_refused() -> None:
    """A layout that the plan has not is named."""
    plan = solve(market(), MANY)
    with pytest.raises(RecordError, match="'2'; the plan has layout 1"):
        go_on(market(), plan, read_record("2"))


def test_what_the_papers_know_already_is_not_taken_off_twice() -> None:
    """Papers that do without the sheet that was cut, and have its offcut, stay as they are."""
    batch = market(have=2, make=4)
    plan = solve(batch, MANY)
    rest = gone_on(batch, plan, "1")
    begun = rest.asked.begun
    assert begun is not None
    known = replace(rest.asked, begun=None)
    again = go_on(known, plan, read_record("1"), MANY, on_record=begun.moved)
    assert check(known, again) == check(known, again, from_stash={"pear toss"}) == ()
    assert again.asked.papers == rest.asked.papers
    (fault,) = check(known, again, from_stash=())
    assert fault.said == (
        "some that was cut is said to be on record; the batch does not leave it to the stash."
    )


def test_a_state_that_does_not_follow_is_found() -> None:
    """The checker works out for itself what is at hand after what was cut."""
    batch = market(have=2, make=4)
    rest = gone_on(batch, solve(batch, MANY), "1")
    begun = rest.asked.begun
    assert begun is not None

    def said(**changes: object) -> list[str]:
        asked = replace(rest.asked, begun=replace(begun, **changes))  # type: ignore[arg-type]
        return [fault.said for fault in check(batch, replace(rest, asked=asked))]

    (gone,) = begun.moved.gone
    twice = replace(begun.moved, gone=(replace(gone, count=2),))
    assert said(moved=twice) == ["1 are at hand now; after what was cut it is 0."]
    assert said(moved=replace(begun.moved, gone=(replace(gone, count=3),)))[0] == (
        "2 were there, it cannot be bought, and 1 more are cut into."
    )
    more = SheetCount("pear toss", Sheet(50 * MM, 60 * MM, offcut=True), 1)
    assert said(moved=Moved((gone,), (*begun.moved.left, more))) == [
        "0 are at hand now; after what was cut it is 1."
    ]
    assert said(papers=market(have=3).papers) == [
        "what it says was there at first is not what the batch says."
    ]
    (panel,) = begun.pieces
    assert said(pieces=(replace(panel, in_bags=3),))[0].startswith(
        "the plan says 4 are in the bags"
    )
    assert said(pieces=(replace(panel, letter="Z"),)) == ["its letter was Z before."]
    other = replace(panel, width=panel.width + 1)
    assert "its letter was that of another piece before." in said(pieces=(other,))
    (paper,) = rest.asked.papers
    dear = tuple(replace(sheet, price=5) for sheet in paper.sheets)
    for changed, words in (
        (replace(paper, grain="long"), "its papers are not those of the batch."),
        (replace(paper, sheets=dear), "its whole sheets are not those of the batch."),
    ):
        asked = replace(rest.asked, papers=(changed,))
        assert [fault.said for fault in check(batch, replace(rest, asked=asked))] == [words]


@pytest.mark.parametrize(
    ("spoilt", "have", "most"),
    [("", 2, 12), ("1: 1 sheet", 2, 6), ("", 3, 18), ("1: 1 sheet", 3, 12)],
)
def test_as_many_as_possible_counts_what_is_in_the_bags(spoilt: str, have: int, most: int) -> None:
    """Six in the bags, and six from each sheet that is left; the proof counts both."""
    plan = solve(market(have=2, make=None), MANY)
    assert [count.complete for count in plan.cards] == [12]
    after = gone_on(market(have=have, make=None), plan, "1: 1 sheet", spoilt)
    assert [(count.asked, count.complete) for count in after.cards] == [(most, most)]
    assert [piece.in_bags for piece in after.pieces] == [6]
    assert [(entry.made, entry.most) for entry in after.whole_cards] == [(most, most)]
    assert after.ended == "proven"


def test_as_many_as_possible_goes_on_where_the_bags_hold_all_of_one_paper() -> None:
    """A mat for each of four cards is cut; by area there might be five cards, for which there is plum."""
    (pear,), (card,) = market(have=1).papers, market(make=None).cards
    plum = replace(pear, name="plum dots", sheets=(Sheet(120 * MM, 100 * MM, have=2),))
    panel = Layer("panel", "pear toss", width=45 * MM, height=50 * MM)
    mat = Layer("mat", "plum dots", width=30 * MM, height=50 * MM)
    batch = market(papers=(pear, plum), cards=(replace(card, layers=(panel, mat)),))
    plan = solve(batch, MANY)
    (mats,) = plan.layouts_of("plum dots")
    rest = gone_on(batch, plan, str(mats.id))
    assert [layout.paper for layout in rest.layouts] == ["pear toss"]
    assert rest.cards == plan.cards


def test_as_many_as_possible_is_settled_when_all_is_cut() -> None:
    """With nothing left to cut from, the bags alone give the number."""
    plan = solve(market(have=2, make=None), MANY)
    after = go_on(market(have=2, make=None), plan, everything(plan), MANY)
    assert check(after.asked, after) == ()
    assert [count.complete for count in after.cards] == [12]
    assert after.layouts == ()


@pytest.mark.parametrize("seed", ENOUGH)
def test_the_rest_is_never_worse_than_the_plan_had_it(seed: int) -> None:
    """Without a single round the rest takes no more whole sheets than the plan has left."""
    batch, rng = batch_of(seed), Random(seed)
    plan = solve(batch, MANY_ROUNDS)
    done = Record(record_of(rng, plan).done)
    cut_into = progress_of(plan, done).cut_into
    rest = go_on(batch, plan, done, Rounds(0))
    assert check(batch, rest) == ()
    assert not rest.uncut
    for figures in plan.papers:
        cut = sum(
            cut_into.get(layout.id, 0)
            for layout in plan.layouts_of(figures.paper)
            if layout.source.kind == "sheet"
        )
        (now,) = (one for one in rest.papers if one.paper == figures.paper)
        assert now.used <= figures.used - cut


def test_the_top_of_the_print_is_not_said_of_pieces_that_another_plan_cut() -> None:
    """The first panel was cut lying and the second one stands: one label is for both."""
    batch = market(make=1)
    panel = replace(batch.cards[0].layers[0], turn="may")
    lying, standing = Sheet(50 * MM, 40 * MM, have=1), Sheet(40 * MM, 50 * MM, have=1)
    paper = replace(batch.papers[0], sheets=(lying,), front=Face("one-way"))
    card = replace(batch.cards[0], layers=(panel,))
    batch = replace(batch, papers=(paper,), cards=(card,))
    plan = solve(batch, MANY)
    assert print_words(plan, plan.pieces[0]) == "top of the print to the left"
    more = replace(
        batch,
        papers=(replace(paper, sheets=(lying, standing)),),
        cards=(replace(card, make=2),),
    )
    rest = gone_on(more, plan, "1")
    assert print_words(rest, rest.pieces[0]) == "top of the print up or to the left"


def test_a_layer_in_the_bags_stays_where_joints_are_chosen_of_its_paper() -> None:
    """Its two dots are cut, from one of two papers; bands of that paper may be in two ends."""
    sheets = (Sheet(200 * MM, 100 * MM, have=3),)
    papers = tuple(Paper(name, sheets) for name in ("pear toss", "plum"))
    options = tuple(PaperOption(paper.name) for paper in papers)
    layers = (
        Layer("dot", "pear toss", over="card", width=20 * MM, height=20 * MM, each=2,
              choice=PaperChoice(options, "each")),
        Layer("band", "pear toss", over="card", height=30 * MM, join="may"),
        Layer("seal", "plum", over="band", width=60 * MM, height=50 * MM),
    )  # fmt: skip
    card = Card("windfall", 1, 150 * MM, 100 * MM, layers=layers)
    batch = Batch("Orchard market", "mm", papers, (card,))
    dots = [one.piece for one in resolve(batch).requests if one.layer == "dot"]
    bags = (replace(dots[0], letter="A", in_bags=2),)
    begun = replace(batch, begun=Begun(bags, Moved(), papers))
    plan = solve(begun, MANY)
    assert check(begun, plan) == ()
    assert [p.in_bags for p in plan.pieces if p.uses[0].layer == "dot"] == [2]
