"""A plan to begin with: sheets and parts in hand cut as an earlier plan has them."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.cutting.parallel_cuts import Part
from nesting.cutting.progress import Leftover
from nesting.layouts import Blank, Placed
from nesting.pack.model.columns import Used, column_of, meets
from nesting.pack.model.pattern import Leaf, Pattern, group, wheel_of
from nesting.pack.model.problem import Problem
from nesting.pack.search.incumbent import Search
from nesting.pieces import Piece
from nesting.sources import key_of_sheet


@dataclass(frozen=True, slots=True)
class KnownSheets:
    """Sheets, and parts in hand, as an earlier plan cuts them; the letters of its pieces by their ids."""

    sheets: tuple[Leftover, ...]
    letters: Mapping[str, str]


NOTHING_KNOWN = KnownSheets((), {})


def offer_known(
    searches: Mapping[str, Search], pieces: Iterable[Piece], known: KnownSheets
) -> None:
    """Offer each search what is known to be cut from some sheets, so that no plan is worse.

    Where it is as good as the quick plan it is taken instead: fewer layouts change.
    """
    now = {piece.letter: piece.id for piece in pieces}
    ids = {id_: now[letter] for id_, letter in known.letters.items() if letter in now}
    for name, search in searches.items():
        own = [one for one in known.sheets if one.paper == name]
        used = tuple(_used(search.problem, own, ids))
        if not used:
            continue
        held = search.taken(used)  # whole cards may be made of these patterns, too
        if meets(held, search.problem.demand):
            search.offer(held, or_equal=True)


def _used(problem: Problem, known: Iterable[Leftover], ids: Mapping[str, str]) -> Iterator[Used]:
    """The known sheets as patterns on the supplies of the problem."""
    numbers = {kind.piece: number for number, kind in enumerate(problem.kinds)}
    kinds = {id_: numbers[now] for id_, now in ids.items() if now in numbers}
    supplies: dict[object, int] = {}
    for number, supply in enumerate(problem.supplies):
        cut_out = replace(supply.sheet, windows=())  # a covered middle that is there already
        supplies.setdefault(key_of_sheet(problem.paper, cut_out), number)
    for one in known:
        at = supplies.get(key_of_sheet(problem.paper, one.sheet))
        pattern = _pattern(problem, one.part, kinds)
        if at is not None and pattern is not None:
            yield Used(column_of(at, pattern, len(problem.kinds)), one.count)


def _pattern(problem: Problem, part: Part, kinds: Mapping[str, int]) -> Pattern | None:
    """What lies on a part, without its offcuts, and without pieces that are not to be cut any more."""
    if part.wheel is not None:
        if not problem.stopped:
            return None
        inside = [_pattern(problem, one, kinds) for one in part.parts]
        return wheel_of(inside, problem.least_gap) if any(inside) else None
    if part.axis is not None:
        return group(part.axis, [_pattern(problem, one, kinds) for one in part.parts])
    leaves = (_leaf(problem, placed, kinds) for placed in part.leaves)
    return next((leaf for leaf in leaves if leaf is not None), None)


def _leaf(problem: Problem, placed: Placed, kinds: Mapping[str, int]) -> Leaf | None:
    """A blank as a leaf of the problem; None where it is none of it."""
    node = placed.node
    if not isinstance(node, Blank) or node.piece not in kinds:
        return None
    cut = problem.trimmer.cut_width
    size = placed.width + cut, placed.height + cut
    kind = kinds[node.piece]
    for shape in problem.kinds[kind].shapes:
        if (shape.width * problem.unit, shape.height * problem.unit) == size:
            return Leaf(kind, shape)
    return None
