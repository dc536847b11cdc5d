"""No proof refutes what is known to be feasible: sheets cut up at random, their pieces asked back."""

from collections import Counter, deque
from dataclasses import replace
from functools import cache
from itertools import pairwise
from random import Random
from typing import cast

import pytest
from pack_cases import MM, Case, cost_of, problem_of, solved

from nesting.bench.batches import card_batch
from nesting.cards.resolving import resolve
from nesting.pack import Rounds
from nesting.pack.bounds.dual_bounds import area_bound, values_bound
from nesting.pack.lp.master import Choice, Relaxation, choose_columns
from nesting.pack.model.columns import Column, Pool, Used
from nesting.pack.model.problem import Problem, make_problem
from nesting.pack.one_sheet.constrained_pricing import Guide
from nesting.pack.one_sheet.pattern_enumeration import (
    LITTLE,
    MUCH,
    Enumeration,
    Patience,
    ValueTarget,
)
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search import column_search, exact_enumeration
from nesting.pack.search.attempts import Start, attempt
from nesting.pack.search.column_generation import generate_columns, solve_master
from nesting.pack.search.exact_enumeration import enumerate_and_solve
from nesting.pack.search.incumbent import Search
from nesting.pack.search.proper_columns import ProperColumns, price_proper_columns
from nesting.papers import Turn
from nesting.plan import Plan
from nesting.sheets import supplies

SEEDS = range(45)


def cut_up(
    rng: Random, width: int, height: int, cut_width: int, least: int
) -> list[tuple[int, int]]:
    """The pieces of one sheet cut at random, edge to edge, none narrower than ``least``."""
    axes = [axis for axis, size in (("x", width), ("y", height)) if size >= 2 * least + cut_width]
    if not axes or (width * height < 16 * least * least and rng.random() < 0.3):
        return [(width, height)]
    if rng.choice(axes) == "x":
        at = rng.randint(least, width - cut_width - least)
        sides = [(at, height), (width - at - cut_width, height)]
    else:
        at = rng.randint(least, height - cut_width - least)
        sides = [(width, at), (width, height - at - cut_width)]
    return [piece for side in sides for piece in cut_up(rng, *side, cut_width, least)]


def known(seed: int) -> tuple[Case, int]:
    """A case whose pieces come from sheets that were cut up, and what those sheets cost.

    Every layout is cut several times, some pieces are left out, others are asked for turned.
    """
    rng = Random(f"cut up {seed}")
    cut_width, turn = rng.choice((0, 0, 1)), rng.choice(("never", "may"))
    sizes = [(rng.randint(30, 60), rng.randint(30, 60)) for _ in range(rng.choice((1, 1, 2)))]
    used, found = Counter[tuple[int, int]](), Counter[tuple[int, int]]()
    for _ in range(rng.randint(1, 4)):
        size, alike = rng.choice(sizes), rng.randint(1, 3)
        used[size] += alike
        for piece in cut_up(rng, *size, cut_width, rng.choice((6, 9, 12))):
            if rng.random() < 0.85:
                found[piece] += alike
    offcuts: list[tuple[int, int, int]] = []
    if rng.random() < 0.4:
        offcuts = [(rng.randint(10, 25), rng.randint(10, 25), rng.randint(1, 2))]
        for piece in cut_up(rng, *offcuts[0][:2], cut_width, 6):
            found[piece] += offcuts[0][2]
    pieces = tuple(
        (*(size if turn == "never" or rng.random() < 0.5 else size[::-1]), count, as_turn(turn))
        for size, count in found.items()
    )
    have = [rng.choice((None, 0, 1, 3)) for _ in sizes]
    case = Case(
        tuple((*size, at_hand) for size, at_hand in zip(sizes, have, strict=True)),
        pieces,
        tuple(offcuts),
        cut_width,
    )
    return case, known_cost(case, used)


def as_turn(text: str) -> Turn:
    """The turn of that name."""
    return "may" if text == "may" else "never"


def known_cost(case: Case, used: Counter[tuple[int, int]]) -> int:
    """What the sheets that were cut up cost, those at hand first."""
    left, cost = used.copy(), 0
    stock = supplies(case.batch().papers[0], sum(count for *_, count, _ in case.pieces))
    for supply in sorted(stock, key=lambda supply: supply.bought):
        size = supply.sheet.width // MM, supply.sheet.height // MM
        if not supply.sheet.offcut:
            sheets = left[size] if supply.count is None else min(left[size], supply.count)
            left[size] -= sheets
            cost += sheets * supply.cost
    assert not left.total()
    return cost


def known_few(seed: int) -> tuple[Case, int]:
    """One to three equal sheets cut into few pieces, and how many sheets that were."""
    rng = Random(f"cut into few {seed}")
    size, sheets = (rng.randint(30, 50), rng.randint(30, 50)), rng.randint(1, 3)
    turn, kept = rng.choice((False, True)), rng.choice((1.0, 0.8))
    all_pieces = [piece for _ in range(sheets) for piece in cut_up(rng, *size, 0, 12)]
    found = Counter(rng.sample(all_pieces, max(1, int(kept * len(all_pieces)))))
    pieces = tuple((*size, n, as_turn("may" if turn else "never")) for size, n in found.items())
    return Case(((*size, None),), pieces), sheets


@cache
def found(seed: int) -> Plan:
    """The plan of a known case, checked."""
    return solved(known(seed)[0].batch(), Rounds(20))


@pytest.mark.parametrize("seed", SEEDS)
def test_areas_do_not_refute_what_is_known(seed: int) -> None:
    """The bound by areas is at most the known cost."""
    case, cost = known(seed)
    assert area_bound(problem_of(case.batch())).value <= cost


@pytest.mark.parametrize("seed", SEEDS)
def test_values_do_not_refute_what_is_known(seed: int) -> None:
    """Whatever the values of the pieces, their bound is at most the known cost."""
    case, cost = known(seed)
    problem = problem_of(case.batch())
    table, rng = SheetTable(problem), Random(seed)
    sheet = problem.usable[0][0] * problem.usable[0][1]
    dearest = max(supply.cost for supply in problem.supplies)
    for spread in (0.0, 0.1, 0.3, 1.0):
        duals = [
            dearest * kind.area / sheet * (1 + spread * rng.uniform(-1, 1))
            for kind in problem.kinds
        ]
        assert values_bound(problem, table, duals).value <= cost


@pytest.mark.parametrize("seed", SEEDS)
def test_the_search_does_not_refute_what_is_known(seed: int) -> None:
    """Column generation and the listing of all layouts give bounds of at most the known cost."""
    plan, cost = found(seed), known(seed)[1]
    (figures,) = plan.papers
    assert figures.bound.value <= cost
    if figures.proven:
        assert figures.bound.value == cost_of(plan, "pear toss")


@pytest.mark.parametrize("seed", SEEDS)
def test_the_listing_does_not_refute_what_is_known(seed: int) -> None:
    """Of all layouts that a plan of the known number of sheets can have, such a plan is made."""
    case, sheets = known_few(seed)
    problem = problem_of(case.batch())
    values = [kind.area for kind in problem.kinds]
    table, pool = SheetTable(problem), Pool(problem)
    table.fill(values)
    most = table.best(problem.sizes[0].width, problem.sizes[0].height)
    total = sum(kind.area * kind.demand for kind in problem.kinds)
    least = total - (sheets - 1) * most
    for pattern in Enumeration(problem, table, [ValueTarget(values, least)], MUCH).patterns():
        pool.add(0, pattern)
    chosen = choose_columns(problem, pool.columns, 1, most=sheets)
    assert chosen.plan is not None
    assert sum(used.count for used in chosen.plan) <= sheets


@pytest.mark.parametrize("seed", SEEDS)
def test_listing_by_several_aims_does_not_refute_what_is_known(seed: int) -> None:
    """Sheets that were cut up are worth enough to every aim at once, whatever the values."""
    case, sheets = known_few(seed)
    problem = problem_of(case.batch())
    table, rng = SheetTable(problem), Random(seed)
    size = problem.sizes[0]
    aims = []
    for spread in (0.0, 0.2, 0.5, 1.0):
        values = [int(kind.area * (1 + spread * rng.uniform(-1, 1))) for kind in problem.kinds]
        table.fill(values)
        aims.append(Guide(values, table.best(size.width, size.height)).aim(problem, sheets))
    pool = Pool(problem)
    for pattern in Enumeration(problem, table, aims, MUCH).patterns():
        pool.add(0, pattern)
    chosen = choose_columns(problem, pool.columns, 1, most=sheets)
    assert chosen.plan is not None
    assert sum(used.count for used in chosen.plan) <= sheets


@pytest.mark.parametrize("seed", SEEDS)
def test_pricing_within_demand_does_not_refute_what_is_known(seed: int) -> None:
    """Bounds by columns within the demand, and ruling out after them, are at most the known cost."""
    case, sheets = known_few(seed)
    problem = problem_of(case.batch())
    search, table = Search(problem, "known"), SheetTable(problem)
    for _ in price_proper_columns(search, table, ProperColumns(search.pool, table)):
        assert search.bound.value <= sheets
    for _ in enumerate_and_solve(search, table, LITTLE):
        assert search.bound.value <= sheets
    assert all(guide.sheets(problem) <= sheets for guide in search.guides)


def generated(number: int, name: str = "pear toss") -> tuple[Search, SheetTable]:
    """A search for one paper of a random batch of the trade, after column generation."""
    asked = resolve(card_batch(number))
    paper = asked.batch.papers_by_name[name]
    problem = make_problem(paper, asked.pieces(), asked.batch.trimmer)
    search, table = Search(problem, "orchard"), SheetTable(problem)
    deque(generate_columns(search, Relaxation(problem), table), maxlen=0)
    return search, table


def test_pricing_for_the_bound_alone_comes_to_it_sooner() -> None:
    """To the bound of pricing to the end, of eight problems together in half the steps."""
    steps = {False: 0, True: 0}
    for seed in range(8):
        rng = Random(seed)
        pieces = tuple((rng.randint(5, 40), rng.randint(5, 40), 1, "may") for _ in range(40))
        problem = problem_of(Case(((60, 60, None),), pieces).batch())
        bounds = set()
        for for_bound in steps:
            search, relaxation, table = (
                Search(problem, ""),
                Relaxation(problem),
                SheetTable(problem),
            )
            priced = generate_columns(search, relaxation, table, for_bound=for_bound)
            steps[for_bound] += sum(1 for _ in priced)
            bounds.add(search.bound.value)
        assert len(bounds) == 1
    assert steps[True] < steps[False] / 2


def test_of_too_many_layouts_the_most_valuable_make_a_plan() -> None:
    """Four kinds have too many layouts for four sheets; those of a quarter of the gap suffice."""
    search, table = generated(1022)
    deque(enumerate_and_solve(search, table, replace(LITTLE, parts=(1,))), maxlen=0)
    assert not search.proven
    deque(enumerate_and_solve(search, table, LITTLE), maxlen=0)
    assert search.proven


def test_of_too_many_layouts_the_most_valuable_rule_nothing_out() -> None:
    """Fourteen kinds have too many layouts, and those of a quarter of the gap make no plan: the bound stays."""
    search, table = generated(1057)
    bound = search.bound
    deque(enumerate_and_solve(search, table, LITTLE), maxlen=0)
    assert search.bound == bound


def enumerated(search: Search, table: SheetTable, patience: Patience = LITTLE) -> tuple[Used, ...]:
    """What the enumeration returns: sheets that lack only kinds that are worth nothing."""
    steps = enumerate_and_solve(search, table, patience)
    while True:
        try:
            next(steps)
        except StopIteration as ended:
            return cast("tuple[Used, ...]", ended.value)


def test_kinds_worth_nothing_are_laid_into_a_plan_of_the_others() -> None:
    """Five of seventeen kinds are worth nothing: a plan of the others is listed and chosen, then filled."""
    search, table = generated(37)
    sheets, bound = enumerated(search, table), search.values_bound
    assert bound is not None
    assert sum(used.count for used in sheets) == bound.value < search.cost - 1
    lacking = [
        kind
        for number, kind in enumerate(search.problem.kinds)
        if sum(used.column.counts[number] * used.count for used in sheets) < kind.demand
    ]
    assert lacking
    assert not any(bound.values[kind.piece] for kind in lacking)
    for number in range(9):
        deque(attempt(search, Start((), search.problem.demand, sheets), number), maxlen=0)
    assert search.proven


def test_with_much_patience_kinds_worth_nothing_are_listed_as_well() -> None:
    """Of seven kinds one is worth nothing: at first its blanks are lacking, then a whole plan is found."""
    search, table = generated(1181, "brick cardstock")
    bound = search.bound.value
    assert enumerated(search, table)
    assert search.cost > bound
    assert not enumerated(search, table, MUCH)
    assert search.cost == bound


def test_what_cannot_be_cut_without_kinds_worth_nothing_is_ruled_out() -> None:
    """Three of eight kinds are worth nothing; the others alone do not fit so few sheets: the bound rises."""
    search, table = generated(36, "cream cardstock")
    bound = search.bound.value
    assert not enumerated(search, table)
    assert search.bound.value == bound + 1


def in_vain(*_: object, **__: object) -> Choice:
    """What HiGHS says where its nodes do not suffice."""
    return Choice(None)


def test_a_choice_among_all_layouts_goes_on_until_it_is_decided(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What a few choices leave open is ruled out by more, where there is patience for them."""
    search, table = generated(36, "cream cardstock")
    bound = search.bound.value
    monkeypatch.setattr(exact_enumeration, "choose_columns", in_vain)
    monkeypatch.setattr(column_search, "_TURN", 10)
    enumerated(search, table, replace(LITTLE, choices=(10,)))
    assert search.bound.value == bound
    enumerated(search, table, replace(LITTLE, choices=(10, 1_000_000)))
    assert search.bound.value == bound + 1


def test_few_columns_always_have_those_that_the_relaxation_uses(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """However they are drawn, in fractions as few sheets suffice as with all; not all draws are alike."""
    drawn: list[list[Column]] = []

    def noted(_: Problem, columns: list[Column], *__: int, **___: int) -> Choice:
        drawn.append(columns)
        return in_vain()

    def least(columns: list[Column]) -> float:
        relaxation = Relaxation(search.problem)
        relaxation.extend(columns)
        found = relaxation.solve()
        assert found is not None
        return found[0]

    search, table = generated(1022)
    monkeypatch.setattr(exact_enumeration, "choose_columns", noted)
    enumerated(search, table, replace(LITTLE, choices=(0, 0)))
    assert len(drawn) > 2
    every = drawn[-1]
    assert all(least(columns) == pytest.approx(least(every)) for columns in drawn)
    assert all(column in every for columns in drawn for column in columns)
    counts = [{column.counts for column in columns} for columns in drawn if len(columns) == 100]
    assert any(one != other for one, other in pairwise(counts))


@pytest.mark.parametrize("seed", SEEDS)
def test_listing_by_values_does_not_refute_what_is_known(seed: int) -> None:
    """Ruling out after column generation, some kinds being worth nothing, is at most the known cost."""
    case, sheets = known_few(seed)
    problem = problem_of(case.batch())
    search, table = Search(problem, "known"), SheetTable(problem)
    deque(generate_columns(search, Relaxation(problem), table), maxlen=0)
    enumerated(search, table)
    assert search.bound.value <= sheets


def test_columns_left_out_are_in_no_cheaper_plan() -> None:
    """The best choice of all columns is among those within its cost; some others are not."""
    left_out = 0
    for seed in SEEDS:
        problem = problem_of(known(seed)[0].batch())
        search, relaxation = Search(problem, "known"), Relaxation(problem)
        deque(generate_columns(search, relaxation, SheetTable(problem)), maxlen=0)
        assert solve_master(search, relaxation) is not None
        columns = search.pool.columns
        best = choose_columns(problem, columns, 0, nodes=10_000).plan
        assert best
        cost = sum(problem.supplies[used.column.supply].cost * used.count for used in best)
        within = relaxation.within(columns, cost)
        assert all(used.column in within for used in best)
        left_out += len(columns) - len(within)
    assert left_out


def test_both_proofs_in_numbers_are_met() -> None:
    """Some random cases are bounded by areas and some by values, so that each is put to the test."""
    assert {found(seed).papers[0].bound.by for seed in SEEDS} >= {"area", "values"}
