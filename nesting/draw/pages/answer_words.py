"""The answer in one line, and how its tables name what is asked for and count offcuts."""

from collections.abc import Iterable, Iterator

from nesting.draw.canvas.lettering import isolated
from nesting.needs import Made, PaperNeed, complete_of, envelopes_to_buy, paper_needs
from nesting.plan import Plan
from nesting.units import counted, or_plenty

#: The most papers that are named one by one.
_MOST_NAMED = 3


def answer_line(plan: Plan) -> str:
    """Say what of all that is asked for is complete, what is lacking for the rest, what to buy.

    Such as ``31 of 32 cards; pear toss lacks 1 sheet.``.
    """
    needs = list(paper_needs(plan))
    buying = _buying_words(plan, [need for need in needs if need.to_buy])
    said = [
        ", ".join(_made_words(plan)),
        ", ".join(_lacking_words(needs)),
        buying,
        "nothing to buy" if plan.all_cut and not buying else "",
    ]
    words = "; ".join(filter(None, said))
    return f"{words[0].upper()}{words[1:]}."


def _made_words(plan: Plan) -> Iterator[str]:
    """How many cards are complete, and of spare sets and loose pieces what is not all complete.

    Without cards these come first, complete or not.
    """
    numbered = all(card.make is not None for card in plan.asked.cards)
    for kind, (complete, asked) in complete_of(plan).items():
        things = counted(asked, kind)
        if complete < asked:
            yield f"{complete} of {things}"
        elif kind == ("card" if plan.cards else "loose piece"):
            yield f"all {things}" if asked > 1 and numbered else things


def _lacking_words(needs: Iterable[PaperNeed]) -> Iterator[str]:
    """The papers that do not suffice and cannot be bought, with the missing sheets of each; many are counted."""
    short = [need for need in needs if need.short]
    if len(short) > _MOST_NAMED:
        yield f"not enough of {len(short)} papers"
        return
    for need in short:
        paper = isolated(need.paper)
        yield (
            f"{paper} lacks {counted(need.lacking, 'sheet')}"
            if need.lacking
            else f"not enough {paper}"
        )


def _buying_words(plan: Plan, needs: list[PaperNeed]) -> str:
    """What is to be bought: sheets by paper, then envelopes; nothing where nothing is."""
    named = [f"{counted(need.sheets_to_buy, 'sheet')} of {isolated(need.paper)}" for need in needs]
    if len(needs) > _MOST_NAMED:
        count = sum(need.sheets_to_buy for need in needs)
        named = [f"{counted(count, 'sheet')} of {len(needs)} papers"]
    envelopes = sum(one.count for one in envelopes_to_buy(plan))
    if envelopes:
        named.append(counted(envelopes, "envelope"))
    return f"to buy: {', '.join(named)}" if named else ""


def made_name(made: Made) -> str:
    """Name what is asked for in a table of all of it."""
    if made.kind == "spare set":
        return f"{isolated(made.name)}, spare sets"
    name = isolated(made.name)
    return f"{name} ({made.letter})" if made.letter else name


def offcuts_words(need: PaperNeed) -> str:
    """Say how many of the offcuts at hand are used: ``1 of 2``; nothing where there are none."""
    if need.offcuts == 0:
        return ""
    return f"{need.offcuts_used} of {or_plenty(need.offcuts)}"
