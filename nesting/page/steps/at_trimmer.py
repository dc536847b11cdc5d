"""Step 7: at the trimmer. One stroke at a time, and what is cut, spoilt, found and wanted besides."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from typing import Any

from markupsafe import Markup

from nesting.cutting.begun import begun_after
from nesting.cutting.progress import progress_of
from nesting.draw.canvas.lettering import isolated
from nesting.draw.pages.answer_words import answer_line
from nesting.draw.sheet.middle_words import window_words
from nesting.draw.sheet.step_words import setting_words, step_lines
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import (
    caution,
    face_words,
    offcut_words,
    sheet_words,
)
from nesting.mark import mark_of, plan_digest
from nesting.page.folder.cutting_folder import Cutting
from nesting.page.folder.into_stash import worth_keeping
from nesting.page.folder.ticks import StepPlace, next_place
from nesting.page.pictures.layout_svg import layout_picture
from nesting.page.pictures.stroke_svg import stroke_picture
from nesting.plan import Plan
from nesting.stash import offcuts_told
from nesting.units import with_unit


def shown_as(plan: Plan) -> str:
    """What stands for a plan that is being cut in addresses of its pictures and pages."""
    return f"cut-{plan_digest(plan)[:16]}"


def view(cutting: Cutting | None, plan: Plan | None, of: str, *, has_stash: bool) -> dict[str, Any]:
    """What the step shows on the sheet; ``plan`` is the one that could be begun."""
    if cutting is None:
        return {"answer": "not begun", "cutting": None, "ready": plan is not None and plan.layouts}
    place = next_place(cutting.plan, cutting.record)
    ended = ended_early(cutting)
    return {
        "answer": "no more is cut" if ended else _where(cutting.plan, place),
        "cutting": cutting,
        "mark": mark_of(cutting.plan),
        "line": "no more of it is cut." if ended else answer_line(cutting.left),
        "cut_of": shown_as(cutting.plan),
        "finished": place is None,
        "changed": of != cutting.of,
        "bags": list(_bags(cutting)),
        "offcuts": list(_offcuts(cutting)),
        "numbers": offcuts_told(cutting.in_stash or ()),
        "has_stash": has_stash,
        "unit": cutting.plan.asked.unit,
    }


def _where(plan: Plan, place: StepPlace | None) -> str:
    if place is None:
        return "all is cut"
    step = f", step {place.number} of {place.of}" if place.step is not None else ""
    return f"layout {place.layout.id} of {len(plan.layouts)}{step}"


def ended_early(cutting: Cutting) -> bool:
    """Whether what was cut went into the stash before all was cut: no more of it is."""
    return cutting.in_stash is not None and next_place(cutting.plan, cutting.record) is not None


def _bags(cutting: Cutting) -> Iterator[dict[str, Any]]:
    """How many of each piece are cut, those of earlier plans included."""
    now = progress_of(cutting.plan, cutting.record).bags
    for piece in cutting.plan.pieces:
        cut = piece.in_bags + now.get(piece.id, 0)
        yield {"name": f"{piece.letter} {isolated(piece.name)}", "cells": (cut, piece.demand)}


def _offcuts(cutting: Cutting) -> Iterator[str]:
    """What is left over that is worth keeping, but for what the plan is still to be cut from.

    Once it is in the stash, each has its number there.
    """
    plan, unit = cutting.plan, cutting.plan.asked.unit
    now = progress_of(plan, cutting.record)
    if cutting.in_stash is None:
        all_cut = {layout.id: layout.alike for layout in plan.layouts}
        now = replace(now, cut_into=all_cut, in_hand=())
    numbers = iter(cutting.in_stash or ())
    for one in worth_keeping(plan, begun_after(plan, now).moved):
        paper, own = plan.asked.paper(one.paper), tuple(islice(numbers, one.count))
        size = with_unit(offcut_words(one.sheet, paper, unit), unit)
        many = f", {one.count} of them" if one.count > 1 else ""
        yield f"{isolated(one.paper)}: {size}{f', {offcuts_told(own)}' if own else many}"


def stroke_view(cutting: Cutting, stroke: int | None) -> dict[str, Any]:
    """What the large page shows: the stroke of that place within the next step, counted from 0.

    Without one, it is the first that is not made.
    """
    plan = cutting.plan
    place = next_place(plan, cutting.record)
    shown: dict[str, Any] = {
        "answer": _where(plan, place),
        "place": place,
        "line": answer_line(cutting.left),
        "papers": [paper.name for paper in plan.asked.papers],
        "cards": [card.name for card in plan.asked.cards],
    }
    if place is None:
        return shown
    subject = Subject(plan, place.layout, back_up=False)
    shown |= {
        "title": f"{place.layout.paper}, {face_words(subject)}",
        "sheet": sheet_words(subject),
        "windows": list(window_words(plan, place.layout)),
        "to_buy": place.layout.to_buy,
        "in_stack": min(plan.asked.trimmer.stack, place.sheets),
        "caution": caution(plan.asked.trimmer),
        "layout_picture": Markup(layout_picture(plan, place.layout)),  # noqa: S704 - drawn by us, names escaped
        "stroke": None,
    }
    stroke = place.made if stroke is None else stroke
    return shown | (_stroke(subject, place, stroke) if place.step is not None else {})


def _stroke(subject: Subject, place: StepPlace, stroke: int) -> dict[str, Any]:
    """One stroke of the step that comes next: its picture, and what the stroke table says."""
    step = subject.steps[place.number - 1]
    stroke = min(max(stroke, 0), len(step.strokes) - 1)
    number = step.strokes[stroke].number
    # equal parts of one sheet that lie in one stack are cut, and spoilt, together
    apart = step.parts == 1 or subject.plan.asked.trimmer.stack == 1
    loses_part = len(step.strokes) > 1 and apart
    return {
        "stroke": stroke,
        "stroke_number": number if loses_part else None,
        "strokes": len(step.strokes),
        "setting": with_unit(setting_words(subject, step), subject.unit),
        "lines": list(step_lines(subject, place.number - 1, afresh=True)),
        "picture": Markup(stroke_picture(subject.plan, place.layout, number)),  # noqa: S704 - drawn by us, names escaped
    }
