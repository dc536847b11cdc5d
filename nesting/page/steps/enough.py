"""Step 5: have I enough? The bar at the foot, what to buy, small changes that save, papers to choose from."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from nesting.batch import Batch, Layer
from nesting.draw.pages.answer_words import answer_line, made_name, offcuts_words
from nesting.draw.pages.plan_words import (
    choice_words,
    envelopes_words,
    proof_sentences,
    whole_cards_words,
)
from nesting.draw.pages.shopping import LACKING, MORE, more_words, total_words
from nesting.draw.sheet.names import brief_names
from nesting.needs import Need, PaperNeed, made_of, paper_needs
from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.steps.how_many import step_of
from nesting.page.workers.answers import Answer, Suggestions
from nesting.page.workers.searches import LongWork
from nesting.plan import Plan
from nesting.prices import format_price
from nesting.units import counted, or_plenty, size_words

if TYPE_CHECKING:
    from nesting.advice.suggestions import Suggestion

#: What is said of a plan whose check found a fault, or of a search that broke off.
FAILED = "This could not be worked out, by a mistake of this program: nothing is shown that is not right."
LOOKING = "Looking for small changes …"
_PAPERS = "paper", "needed", "at hand", "offcuts used", "to buy", "lacking"
_MADE = "", "asked", "complete", "more from what is left", "limited by"


def bar(
    draft: Draft, search: LongWork[Answer] | None, cut: Answer | None, *, begun: bool = False
) -> dict[str, Any]:
    """What the bar at the foot shows: the answer, and how sure it is.

    ``cut`` is answered of a plan of the batch that is being cut, as far as it still is to be; where
    one is ``begun`` and the batch is another now, the batch is answered from the beginning.
    """
    if cut is not None:
        line = answer_line(cut.plan)
        return {"line": line, "to": "enough", "state": "as it is cut", "busy": False}
    line, to = _line(draft, search)
    state = _state(search)
    return {
        "line": line,
        "to": to,
        "state": f"from the beginning; {state}" if begun and state else state,
        "busy": search is not None and not search.done,
    }


def _line(draft: Draft, search: LongWork[Answer] | None) -> tuple[str, str]:
    """The answer, and the step where it stands, or where something is to be done first."""
    if draft.faults:
        words = f"First, {counted(len(draft.faults), 'thing')} to put right above."
        return words, step_of(next(iter(draft.faults)))
    if draft.batch is None:
        return "First, your papers.", "papers"
    if search is None:
        return "First, your cards.", "cards"
    if search.failed:
        return FAILED, "enough"
    if search.found is None:
        return "Counting the sheets …", "enough"
    return answer_line(search.found.plan), "enough"


def _state(search: LongWork[Answer] | None) -> str:
    """How sure the answer is."""
    if search is None or search.found is None:
        return ""
    if search.found.plan.ended == "proven":
        return "proven"
    if not search.done:
        return "so far; still looking"
    return "the best found; a better plan may exist"


def view(
    draft: Draft,
    search: LongWork[Answer] | None,
    changes: LongWork[Suggestions] | None,
    cut: Answer | None,
) -> dict[str, Any]:
    """What the step shows; in its one line what the bar says."""
    answer = cut or (search.found if search is not None else None)
    return {
        "answer": bar(draft, search, cut)["line"],
        "cut": cut is not None,
        "unit": draft.unit,
        "tables": list(filter(None, _tables(answer))) if answer else [],
        "buying": list(_buying(answer.plan)) if answer else [],
        "sentences": list(_sentences(answer)) if answer else [],
        "whole": answer is not None and answer.needs is not None,
        "changes": _changes(changes),
        "choices": list(_choices(draft.batch, answer.plan)) if answer and draft.batch else [],
    }


def _tables(answer: Answer) -> Iterator[list[list[str]]]:
    yield _table(_PAPERS, map(_paper, paper_needs(answer.plan)))
    yield _table(_MADE, _made(answer))


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> list[list[str]]:
    """A table under its heads, without the columns in which nothing stands; nothing without rows."""
    columns = [one for one in zip(heads, *rows, strict=True) if any(one[1:])]
    return list(map(list, zip(*columns, strict=True)))


def _paper(need: PaperNeed) -> tuple[str, ...]:
    counts = str(need.sheets_to_buy or ""), str(need.lacking or "")
    return need.paper, str(need.needed), or_plenty(need.have), offcuts_words(need), *counts


def _made(answer: Answer) -> Iterator[tuple[str, ...]]:
    """What is asked for, how much of it is complete, and, once that is known, what limits it."""
    needs = answer.needs.made if answer.needs else [Need(made) for made in made_of(answer.plan)]
    for need in needs:
        more = more_words(need) if answer.needs else ""
        limits = ", ".join(need.limited_by)
        counts = str(need.made.asked), str(need.made.complete)
        yield made_name(need.made), *counts, more, limits


def _buying(plan: Plan) -> Iterator[str]:
    for need in paper_needs(plan):
        for size in need.to_buy:
            price = "" if size.price is None else f", {format_price(size.count * size.price)}"
            sheet = size_words(size.width, size.height, plan.asked.unit)
            yield f"{need.paper}: {counted(size.count, 'sheet')} of {sheet}{price}"
    yield from envelopes_words(plan)


def _sentences(answer: Answer) -> Iterator[str]:
    """What is proven, what was chosen, what the words of the tables mean."""
    yield from whole_cards_words(answer.plan)
    yield from choice_words(answer.plan)
    needs = answer.needs
    if needs is not None:
        yield from total_words(needs)
    yield from proof_sentences(answer.plan)
    if any(need.lacking for need in paper_needs(answer.plan)):
        yield LACKING
    if needs is not None:
        yield MORE


def _changes(search: LongWork[Suggestions] | None) -> dict[str, Any]:
    """The small changes that save; ``found`` is None until they are there."""
    found = search.found if search is not None else None
    return {
        "asked": search is not None,
        "words": FAILED if search is not None and search.failed else LOOKING,
        "found": None if found is None else [_change(n, one) for n, one in enumerate(found.all)],
    }


def _change(number: int, one: "Suggestion") -> dict[str, Any]:
    from nesting.advice.words import suggestion_lines

    return {
        "number": number,
        "words": brief_names(one.batch, [one.words])[0],
        "lines": list(suggestion_lines(one)),
        "card": one.looks[0].card if one.looks else "",
        "paper": one.paper,
    }


def _choices(batch: Batch, plan: Plan) -> Iterator[dict[str, Any]]:
    """The layers that choose their paper, or might, as theirs is short."""
    short = {need.paper for need in paper_needs(plan) if need.short}
    for card in batch.cards:
        for number, layer in enumerate(card.layers):
            if layer.choice is not None or layer.paper in short:
                options = list(_options(batch, layer))
                yield {
                    "name": f"{card.name}, {layer.name}",
                    "pointer": pointer_of(("cards", card.name, "layers", number)),
                    "options": options,
                    "now": " or ".join(one["value"] for one in options if one["checked"]),
                    "each": layer.choice is None or layer.choice.alike == "each",
                }


def _options(batch: Batch, layer: Layer) -> Iterator[dict[str, Any]]:
    """Every paper, with its face where two are printed, and whether the layer may be cut from it."""
    now = {(one.paper, one.face or batch.paper(one.paper).default_face) for one in layer.options}
    for paper in batch.papers:
        faces = paper.printed_faces if len(paper.printed_faces) > 1 else (paper.default_face,)
        for face in faces:
            name = f"{paper.name}/{face}" if len(faces) > 1 else paper.name
            yield {"value": name, "checked": (paper.name, face) in now}
