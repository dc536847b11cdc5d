"""The steps of the sheet, in the order of the day, and how each is drawn up."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import quote

from nesting.page import cards, how_many, papers, trimmer
from nesting.page.batch_folder import Opened
from nesting.page.draft import Draft

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(__file__).parent


class Step(NamedTuple):
    """A step of the sheet: its section's id, also the name of its template, and what that shows.

    A view has ``answer``, the step in one line, and ``done``, whether it is filled in.
    """

    id: str
    title: str
    view: Callable[[Draft], dict[str, Any]]


STEPS = (
    Step("trimmer", "My trimmer and my units", trimmer.view),
    Step("papers", "My papers", papers.view),
    Step("cards", "My cards", cards.view),
    Step("how_many", "How many", how_many.view),
)


class Said:
    """Hands out the faults of a draft to the fields they belong to, each once."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.told: set[str] = set()

    def at(self, pointer: str) -> list[str]:
        """What is wrong with a field, and what in it may not be meant."""
        self.told.add(pointer)
        return self.draft.faults.get(pointer, []) + self.draft.warnings.get(pointer, [])

    def below(self, pointer: str) -> list[str]:
        """What is wrong at a place and in it that no field has told."""
        inside = [
            other
            for other in {**self.draft.faults, **self.draft.warnings}
            if other not in self.told and (other == pointer or other.startswith(f"{pointer}/"))
        ]
        return [words for other in inside for words in self.at(other)]


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
    return environment


def sections(
    opened: Opened, card: str = "", *, plain: bool = False, unfolded: str = ""
) -> dict[str, str]:
    """Every step as HTML, by the id of its section; of the cards, one is shown whole.

    ``plain`` forms say which version of the file they show; the script says it by itself.
    """
    return {
        step.id: templates()
        .get_template(f"{step.id}.html")
        .render(
            step.view(opened.draft, card) if step.view is cards.view else step.view(opened.draft),
            step=step,
            number=number,
            draft=opened.draft,
            said=Said(opened.draft),
            file=opened.name,
            version=opened.version if plain else None,
            unfolded=unfolded,
        )
        for number, step in enumerate(STEPS, 1)
    }
