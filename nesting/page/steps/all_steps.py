"""The steps of the sheet, in the order of the day, and how each is drawn up."""

import re
from collections.abc import Callable
from typing import Any, NamedTuple

from nesting.page.rendering import render
from nesting.page.steps import cards, how_many, papers, trimmer
from nesting.page.steps.showing import Said, Showing

#: Where a part of a step begins or ends.
_EDGE = re.compile("<!--/?part-->")


class PageStep(NamedTuple):
    """A step of the sheet: its section's id, also the name of its template, and what that shows.

    A view has ``answer``, the step in one line, and ``done``, whether it can be folded away.
    """

    id: str
    title: str
    view: Callable[[Showing], dict[str, Any]]


STEPS = (
    PageStep("trimmer", "My trimmer and my units", trimmer.view),
    PageStep("papers", "My papers", papers.view),
    PageStep("cards", "My cards", cards.view),
    PageStep("how_many", "How many", how_many.view),
)


def sections(showing: Showing, said: Said) -> dict[str, str]:
    """Every step as HTML, by the id of its section; what each says of a field, ``said`` hands out."""
    return {
        step.id: render(
            step.id,
            step.view(showing),
            step=step,
            number=number,
            showing=showing,
            draft=showing.draft,
            said=said,
            file=showing.file,
        )
        for number, step in enumerate(STEPS, 1)
    }


def changed_parts(before: str, now: str) -> list[str]:
    """What of a step has to be put in place of what is shown: a few of its parts, or all of it.

    Templates say what a part is; each has an id, and none is in another.
    """
    if before == now:
        return []
    olds, news = _EDGE.split(before), _EDGE.split(now)
    frames = [(pieces[::2], list(map(_id, pieces[1::2]))) for pieces in (olds, news)]
    if frames[0] != frames[1]:
        return [now]
    return [new for old, new in zip(olds[1::2], news[1::2], strict=True) if old != new]


def _id(part: str) -> str:
    found = re.search(r'id="[^"]*"', part)
    return found[0] if found else ""
