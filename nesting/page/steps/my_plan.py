"""Step 6: my plan. Its layouts and strokes, pages to print, cut files, pictures of cards, two side by side."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from nesting.draw.pages.plan_words import proof_sentences, stopping_lines
from nesting.draw.sheet.middle_words import window_words
from nesting.draw.sheet.names import brief_names
from nesting.draw.sheet.step_words import number_words, setting_words, step_lines
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import (
    caution,
    count_words,
    face_words,
    layout_shares,
    share_words,
    sheet_words,
)
from nesting.layouts import Layout
from nesting.mark import mark_of
from nesting.page.workers.answers import Answer
from nesting.page.workers.searches import LongWork
from nesting.plan import Plan
from nesting.units import counted, format_share

#: What the plan as it is and the one that is held are called beside each other.
AS_IT_IS, HELD = "as it is", "the one held"


def view(
    search: LongWork[Answer] | None, held: Plan | None, *, begun: bool = False
) -> dict[str, Any]:
    """What the step shows: the plan from the beginning, also where one is ``begun``."""
    found = search.found if search is not None else None
    if found is None:
        return {"answer": "not planned yet", "plan": None}
    plan = found.plan
    strokes = sum(figures.strokes for figures in plan.papers)
    cut = Counter[str]()
    for layout in plan.layouts:
        cut[layout.paper] += layout.alike
    told = f"{counted(cut.total(), 'sheet')} to cut, {counted(strokes, 'stroke')}"
    return {
        "answer": f"{told}, from the beginning" if begun else told,
        "plan": plan,
        "mark": mark_of(plan),
        "caution": caution(plan.asked.trimmer),
        "papers": [
            {
                "name": one.paper,
                "cells": (cut[one.paper], format_share(one.waste), one.strokes, one.ruler_settings),
            }
            for one in plan.papers
        ],
        "sentences": [
            *proof_sentences(plan),
            *stopping_lines(found.stopping),
            *brief_names(plan.asked, (*plan.notes, *plan.warnings)),
        ],
        "layouts": [_layout(plan, layout) for layout in plan.layouts],
        "cards": [card.name for card in plan.asked.cards],
        "unit": plan.asked.unit,
        "beside": _beside(held, plan) if held is not None and held != plan else None,
        "held": held is not None,
    }


def _layout(plan: Plan, layout: Layout) -> dict[str, Any]:
    subject = Subject(plan, layout, back_up=False)
    alike = f", {layout.alike} alike" if layout.alike > 1 else ""
    buy = f", {layout.to_buy} to buy" if layout.to_buy else ""
    said = f"{sheet_words(subject)}{alike}{buy}.", *window_words(plan, layout)
    return {
        "id": layout.id,
        "title": f"Layout {layout.id} of {len(plan.layouts)}: {layout.paper}, {face_words(subject)}",
        "words": " ".join((*said, share_words(layout_shares(subject)))),
        "pieces": [f"{letter}: {words}" for letter, words in count_words(subject)],
        "strokes": list(_strokes(subject)),
    }


def _strokes(subject: Subject) -> Iterator[dict[str, str]]:
    for number, step in enumerate(subject.steps):
        yield {
            "numbers": number_words(step),
            "setting": setting_words(subject, step),
            "words": " ".join(words for words, _ in step_lines(subject, number)),
        }


def _beside(held: Plan, plan: Plan) -> dict[str, Any]:
    """Two plans side by side, as the command line compares them."""
    from nesting.advice.comparison import Compared, Comparison, measures_of
    from nesting.advice.words import comparison_sentences, comparison_table

    both = ((AS_IT_IS, plan), (HELD, held))
    comparison = Comparison(tuple(Compared(name, one, measures_of(one)) for name, one in both))
    heads, rows = comparison_table(comparison)
    return {"heads": heads, "rows": rows, "sentences": list(comparison_sentences(comparison))}
