"""The steps of the sheet, in the order of the day, and how each is drawn up."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import quote

from nesting.page import cards, how_many, papers, trimmer
from nesting.page.showing import Said, Showing

if TYPE_CHECKING:
    from jinja2 import Environment

#: Between whole inches and their fraction: a line that ended there could be misread.
_FRACTION = re.compile(r"(?<=[0-9]) (?=[0-9]+/[0-9])")
_PART = re.compile(r"<!--part-->(.*?)<!--/part-->", re.DOTALL)
HERE = Path(__file__).parent


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


@cache
def templates() -> "Environment":
    """The templates, in which every text is escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["id"] = lambda pointer: quote(pointer, safe="")
    environment.filters["unbroken"] = lambda words: _FRACTION.sub("\N{NO-BREAK SPACE}", words)
    return environment


def sections(showing: Showing) -> dict[str, str]:
    """Every step as HTML, by the id of its section."""
    return {
        step.id: templates()
        .get_template(f"{step.id}.html")
        .render(
            step.view(showing),
            step=step,
            number=number,
            showing=showing,
            draft=showing.draft,
            said=Said(showing),
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
    parts = [_PART.findall(html) for html in (before, now)]
    frames = [_PART.sub(_first_id, html) for html in (before, now)]
    if frames[0] != frames[1]:
        return [now]
    return [new for old, new in zip(*parts, strict=True) if old != new]


def _first_id(part: re.Match[str]) -> str:
    found = re.search(r'id="[^"]*"', part[1])
    return found[0] if found else ""
