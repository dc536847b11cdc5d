"""What a plan takes from the stash, and puts back into it, once it is cut."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from nesting.batch import Paper, is_kept
from nesting.cutting.parallel_cuts import kept_offcuts
from nesting.lying import offcuts_taken, top_of
from nesting.mark import plan_digest
from nesting.plan import Layout, Plan, nominal_size
from nesting.stash.database import StashError
from nesting.stash.drawer import Stash, StashOffcut, add_offcut
from nesting.stash.journal import Writer


@dataclass(frozen=True, slots=True)
class PlanUse:
    """What a record of a plan did to the stash.

    ``sheets`` are paper, size and count of what was taken, ``offcuts`` the numbers taken, ``kept``
    what was put in, and ``unknown`` the papers that are not in the stash, of which nothing was.
    """

    entry: int
    sheets: tuple[tuple[str, tuple[int, int], int], ...]
    offcuts: tuple[int, ...]
    kept: tuple[StashOffcut, ...]
    unknown: tuple[str, ...]


def use_plan(
    stash: Stash, plan: Plan, done: Mapping[int, int] | None = None, why: str = ""
) -> PlanUse:
    """Take what was cut out of the stash, and put the offcuts that are kept in.

    Parameters
    ----------
    done
        By layout, how many of its sheets are cut in all, earlier records of the plan included;
        everything unless given. A sheet is taken once, however often it is on record.

    Raises
    ------
    StashError
        All of it is on record already, or the stash does not have what the plan was cut from.
    """
    if done is None:
        done = {layout.id: layout.alike for layout in plan.layouts}
    digest, numbers = plan_digest(plan), offcuts_taken(plan)
    sheets: dict[tuple[str, tuple[int, int]], int] = {}
    offcuts: list[int] = []
    kept: list[StashOffcut] = []
    unknown: dict[str, None] = {}
    new = 0
    with stash.writing() as writer:
        for layout in plan.layouts:
            before = writer.row("cut", (digest, layout.id))
            had = 0 if before is None else int(before["sheets"] or 0)
            now = max(had, done.get(layout.id, 0))
            if now == had:
                continue
            new += now - had
            writer.put("cut", {"plan": digest, "layout": layout.id, "sheets": now})
            if stash.at_hand(layout.paper) is None:
                unknown[layout.paper] = None
                continue
            paper = plan.asked.paper(layout.paper)
            if layout.source.kind == "offcut":
                own = numbers[layout.id][had:now]
                _take_offcuts(stash, writer, paper, layout, own)
                offcuts += own
            else:
                count = _at_hand(layout, now) - _at_hand(layout, had)
                size = nominal_size(layout, paper)
                if count:
                    stash.take_rows(writer, layout.paper, size, count)
                    sheets[layout.paper, size] = sheets.get((layout.paper, size), 0) + count
            kept += _keep(writer, plan, paper, layout, now - had)
        if not new:
            raise StashError("all of this is on record already: nothing was taken from the stash")
        layouts = ", ".join(f"{number}: {count}" for number, count in sorted(done.items()) if count)
        entry = writer.enter(f"cut from the plan {plan.asked.name}, layouts {layouts}", why)
    taken = tuple((paper, size, count) for (paper, size), count in sheets.items())
    return PlanUse(entry, taken, tuple(offcuts), tuple(kept), tuple(unknown))


def _at_hand(layout: Layout, cut: int) -> int:
    """How many of the first sheets cut were at hand: those to buy are cut last."""
    return min(cut, layout.alike - layout.to_buy)


def _take_offcuts(
    stash: Stash, writer: Writer, paper: Paper, layout: Layout, numbers: tuple[int, ...]
) -> None:
    """Take offcuts out that are still what the plan was made for."""
    for number in numbers:
        offcut = stash.offcut(number)
        sheet = offcut.on_sheet(paper)
        size = nominal_size(layout, paper)
        if offcut.paper != paper.name or (sheet.width, sheet.height) != size:
            raise StashError(f"offcut {number} is not what the plan of {paper.name} was made for")
        writer.remove("offcuts", (number,))


def _keep(
    writer: Writer, plan: Plan, paper: Paper, layout: Layout, sheets: int
) -> list[StashOffcut]:
    """Put in what some sheets of a layout leave that is worth keeping."""
    kept: list[StashOffcut] = []
    for sheet in kept_offcuts(layout, paper):
        if not is_kept(sheet.width, sheet.height, plan.asked.keep_from):
            continue
        offcut = StashOffcut(
            0, paper.name, sheet.width, sheet.height, sheet.strip or "none", top_of(paper),
            f"from {plan.asked.name}",
        )  # fmt: skip
        kept += [replace(offcut, number=add_offcut(writer, offcut)) for _ in range(sheets)]
    return kept
