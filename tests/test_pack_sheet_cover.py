"""Values and areas become the least cost of whole sheets, in the packer and in the checker."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st
from pack_cases import asked, cost_of, solved

from nesting.batch import Batch
from nesting.checker.rules.affordable import proves
from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.papers import Paper, Sheet, Supply
from nesting.typed_lengths import parse_size

offers = st.lists(
    st.tuples(st.integers(0, 12), st.integers(0, 9), st.integers(0, 4)), min_size=1, max_size=3
)


def by_trying(found: list[tuple[int, int, int]], endless: tuple[int, int], needed: int) -> int:
    """The least cost by trying every number of every supply."""
    least = None
    for numbers in product(*(range(count + 1) for *_, count in found)):
        chosen = list(zip(numbers, found, strict=True))
        held = sum(n * worth for n, (_, worth, _) in chosen)
        more = max(0, -(-(needed - held) // endless[1]))
        cost = sum(n * each for n, (each, _, _) in chosen) + more * endless[0]
        least = cost if least is None else min(least, cost)
    assert least is not None
    return least


@given(offers, st.tuples(st.integers(1, 20), st.integers(1, 9)), st.integers(0, 60))
def test_the_cheapest_sheets_that_are_worth_enough(
    found: list[tuple[int, int, int]], endless: tuple[int, int], needed: int
) -> None:
    """Packer and checker find the least cost that trying every choice finds, each in its own way."""
    expected = by_trying(found, endless, needed)
    assert least_cost([*(Offer(*one) for one in found), Offer(*endless, None)], needed) == expected
    sheet = Sheet(1, 1)
    worths = [(Supply(sheet, False, count, cost), worth) for cost, worth, count in found]
    worths.append((Supply(sheet, False, None, endless[0]), endless[1]))
    assert proves(worths, needed, expected, needed)
    assert not proves(worths, needed, expected + 1, needed)


def test_many_choices_prove_in_parts_what_they_prove() -> None:
    """Where there are too many choices, the cost of parts of sheets is given, and that is proven."""
    found = [Offer(10**6 + 7 * n * n, 10**6 + 11 * n, 40) for n in range(1, 30)]
    found.append(Offer(2 * 10**6, 10**6, None))
    least = least_cost(found, 431_234_567)
    worths = [(Supply(Sheet(1, 1), False, count, cost), worth) for cost, worth, count in found]
    assert proves(worths, 431_234_567, least, 431_234_567)
    assert least > 431_000_000


def test_no_plan_takes_more_sheets_than_pieces() -> None:
    """Small sheets in plenty, were there a thousand, would do for a large one; five pieces need it."""
    worths = [
        (Supply(Sheet(1, 1), False, None, 1), 1),
        (Supply(Sheet(9, 9), True, None, 5000), 1000),
    ]
    assert proves(worths, 1000, 5000, 5)
    assert not proves(worths, 1000, 1001, 1000)


def mixed(*sheets: tuple[str, int | None], pieces: str, count: int) -> Batch:
    """Pieces of one size from a paper with sheets of several sizes."""
    sizes = tuple(Sheet(*parse_size(size, "in"), have=have) for size, have in sheets)
    pear = Paper("pear toss", sizes)
    return Batch("Orchard market", "in", (pear,), (), (asked(pieces, count),))


def test_nothing_is_bought_where_a_size_is_there_in_plenty() -> None:
    """A small sheet to buy costs more than any number of large ones at hand, and it is proven."""
    plan = solved(mixed(("12 x 12", None), ("6 x 6", 0), pieces="5 x 5", count=3))
    (figures,) = plan.papers
    assert figures.to_buy == 0
    assert (figures.needed, figures.proven) == (1, True)


def test_what_fits_no_sheet_in_plenty_is_bought() -> None:
    """Only the piece that is longer than the plentiful size takes a sheet to buy."""
    batch = mixed(("8 1/2 x 11", None), ("12 x 12", 0), pieces="4 x 11 1/2", count=4)
    plan = solved(batch)
    (figures,) = plan.papers
    assert (figures.to_buy, figures.proven) == (2, True)
    assert cost_of(plan, "pear toss") == figures.bound.value


def test_the_cheaper_of_two_sizes_is_chosen_and_proven() -> None:
    """Seven of A6 take two sheets of A4 (eight) or one 12 x 12 (five, 4 x 2 is too wide) and one A4."""
    batch = mixed(("210 mm x 297 mm", 6), ("12 x 12", 6), pieces="105 mm x 148 mm", count=7)
    plan = solved(batch)
    (figures,) = plan.papers
    assert (figures.needed, figures.to_buy, figures.proven) == (2, 0, True)
    assert {layout.width for layout in plan.layouts} == {210_000_000}
