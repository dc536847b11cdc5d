"""How many whole cards can be made at most, with a proof in integers."""

from bisect import bisect_right
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Literal

from nesting.cards.merging import Way
from nesting.pack.bounds.dual_bounds import most_held
from nesting.pack.model.problem import sheets_at_hand
from nesting.pack.shortage.allocation import reached
from nesting.pack.shortage.goals import Component, Goal, Wish, counts_fewest
from nesting.pack.shortage.short_papers import Shortage
from nesting.plan import HeldValue, WholeCards

#: A card is so many units of the integers that dual values become.
_UNITS = 1_000_000


def card_values(duals: Mapping[str, float]) -> dict[str, int]:
    """Dual values as integers, rounded down."""
    return {piece: int(dual * _UNITS) for piece, dual in duals.items()}


def value_of_set(
    component: Component, values: Mapping[str, int], barred: Collection[Way] = ()
) -> int:
    """The least value that a set takes of a component, by any way not barred.

    Pieces without a value, such as those from a paper that is not short, take none.
    """
    allowed = (way for way in component.ways if way not in barred)
    return component.each * min(sum(values.get(piece, 0) for piece, _ in way) for way in allowed)


def _value_of(wish: Wish, values: Mapping[str, int]) -> int:
    return sum(value_of_set(component, values) for component in wish.components)


def most_reached(goal: Goal) -> int:
    """What is reached of a goal where all that is asked for is made."""
    return reached(goal, {wish: wish.most for wish in goal})


def most_allowed(goal: Goal, values: Mapping[str, int], left: int) -> int:
    """The most that can be reached of a goal with the value left.

    Sets that take least value come first; as each counts as one, no choice makes more.
    """
    if counts_fewest(goal):
        numbers = range(most_reached(goal) + 1)
        return bisect_right(numbers, left, key=lambda n: value_needed(goal, values, n)) - 1
    most = sum(wish.before for wish in goal)
    for value, wanted in sorted((_value_of(wish, values), wish.most) for wish in goal):
        number = min(wanted, left // value) if value else wanted
        most += number
        left -= number * value
    return most


def value_needed(goal: Goal, values: Mapping[str, int], number: int) -> int:
    """The least value that it takes to reach ``number`` of a goal."""
    if counts_fewest(goal):
        return sum(_value_of(wish, values) * max(0, number - wish.before) for wish in goal)
    least, number = 0, number - sum(wish.before for wish in goal)
    for value, wanted in sorted((_value_of(wish, values), wish.most) for wish in goal):
        taken = min(wanted, number)
        least += taken * value
        number -= taken
    return least


def value_made(made: Mapping[Wish, int], values: Mapping[str, int]) -> int:
    """The least value that what is made already takes."""
    return sum(_value_of(wish, values) * number for wish, number in made.items())


def unproven(goal: Goal) -> WholeCards:
    """The bound that needs no proof: no more than is asked for."""
    return _entry(goal, most_reached(goal), "asked")


def cards_by_area(shortage: Shortage, goal: Goal, made: Mapping[Wish, int]) -> WholeCards:
    """The best bound by the areas of one paper, as if its sheets could be cut to dust."""
    best = unproven(goal)
    for problem in shortage.problems.values():
        haves = sheets_at_hand(problem)
        if None in haves:
            continue
        values = {kind.piece: kind.area for kind in problem.kinds}
        held = sum((n or 0) * w * h for n, (w, h) in zip(haves, problem.usable, strict=True))
        held += shortage.bagged_value(values, (problem.paper.name,))
        most = most_allowed(goal, values, max(0, held - value_made(made, values)))
        if most < best.most:
            best = _entry(goal, most, "area")
    return best


def cards_by_values(
    shortage: Shortage,
    goal: Goal,
    made: Mapping[Wish, int],
    values: dict[str, int],
) -> WholeCards:
    """The bound by values of the pieces: what is made takes no more than sheets at hand and bags hold.

    This is linear programming duality, rounded as by Farley (1990). Leaves the tables filled with
    the values.
    """
    tables = shortage.tables
    values = {p: v for p, v in values.items() if shortage.papers[p] in tables}
    held: dict[tuple[str, int, int], int] = {}
    there: list[tuple[tuple[str, int, int], int | None]] = []
    shortage.fill_tables(values)
    for paper, table in tables.items():
        problem = shortage.problems[paper]
        for supply, have in enumerate(sheets_at_hand(problem)):
            sheet = problem.supplies[supply].sheet
            key = paper, sheet.width, sheet.height  # an offcut may be as large as a whole sheet
            held[key] = max(most_held(problem, table, supply), held.get(key, 0))
            there.append((key, have))
    if any(have is None and held[key] for key, have in there):
        return unproven(goal)
    total = sum(held[key] * (have or 0) for key, have in there)
    total += shortage.bagged_value(values, tables)
    most = most_allowed(goal, values, max(0, total - value_made(made, values)))
    sheets = tuple(HeldValue(*key, value) for key, value in held.items())
    entry = _entry(goal, most, "values", sheets, values)
    if tables and all(table.problem.stopped for table in tables.values()):
        return replace(entry, cuts="stopped")
    return entry


def _entry(
    goal: Goal,
    most: int,
    by: Literal["asked", "area", "values", "search"],
    held: tuple[HeldValue, ...] = (),
    values: dict[str, int] | None = None,
) -> WholeCards:
    """An entry for the plan, with nothing made yet."""
    names = tuple(wish.card for wish in goal if wish.card is not None and not wish.spare)
    of: Literal["all", "each"] = "each" if counts_fewest(goal) else "all"
    return WholeCards(names, most_reached(goal), 0, most, by, held, values or {}, of)
