"""Covered middles that pieces in the bags have still, after some of an earlier plan was cut."""

from collections import Counter
from collections.abc import Iterator

from nesting.batch import Begun
from nesting.checker.asked.cut_already import NOTHING_BEGUN
from nesting.checker.fault import PlanFault
from nesting.papers import Sheet
from nesting.plan import Plan
from nesting.units import size_words


def find_wrong_middles(
    earlier: Plan, now: Begun, pieces: Counter[str], middles: Counter[tuple[str, int, int]]
) -> Iterator[PlanFault]:
    """Covered middles that pieces in the bags are said to have still, in another number than they do.

    They do where the earlier plan is cut from more middles than pieces to come can give, and no more
    than there are pieces that were cut and have not given theirs. By the record so many ``pieces`` were
    cut, by id, and so many ``middles`` were cut from, by paper, width and height.
    """
    expected = dict(_middles_kept(earlier, pieces, middles))
    said = {(one.paper, one.sheet): one.count for one in now.middles}
    if len(said) < len(now.middles):
        yield PlanFault("after", "middles", "those of one size stand twice.")
    for paper, sheet in {**expected, **said}:
        counts = said.get((paper, sheet), 0), expected.get((paper, sheet), 0)
        if counts[0] != counts[1]:
            where = f"{paper}, {size_words(sheet.width, sheet.height, earlier.asked.unit)}"
            words = (
                f"{counts[0]} middles are said to be still there; by the record it is {counts[1]}."
            )
            yield PlanFault("after", where, words)


def _middles_kept(
    earlier: Plan, pieces: Counter[str], middles: Counter[tuple[str, int, int]]
) -> Iterator[tuple[tuple[str, Sheet], int]]:
    """By paper and sheet, how many middles are still in pieces that were cut, and wanted."""
    owed = {
        (one.paper, one.sheet): one.count for one in (earlier.asked.begun or NOTHING_BEGUN).middles
    }
    hosts = {(use.card, use.layer): (one, use) for one in earlier.pieces for use in one.uses}
    unopened = Counter(pieces)
    for one in earlier.middles:
        opened = middles[one.paper, one.sheet.width, one.sheet.height]
        known = owed.get((one.paper, one.sheet), 0)
        owed[one.paper, one.sheet] = max(0, known - opened)
        opened = max(0, opened - known)
        for window in one.sheet.windows:
            piece, _ = hosts[window.card, window.layer]
            given = min(opened, unopened[piece.id])
            unopened[piece.id] -= given
            opened -= given
    for one in earlier.middles:
        size = one.paper, one.sheet.width, one.sheet.height
        wanted = -middles[size]
        for layout in earlier.layouts:
            if layout.source.kind == "middle":
                wanted += layout.alike * ((layout.paper, layout.width, layout.height) == size)
        own: set[str] = set()
        for window in one.sheet.windows:
            piece, use = hosts[window.card, window.layer]
            wanted -= max(0, use.count - piece.in_bags - pieces[piece.id])
            own.add(piece.id)
        kept = min(wanted, owed[one.paper, one.sheet] + sum(unopened[id_] for id_ in own))
        unopened -= Counter({id_: unopened[id_] for id_ in own})
        if kept > 0:
            yield (one.paper, one.sheet), kept
