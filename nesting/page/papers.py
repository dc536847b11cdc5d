"""Step 2: my papers."""

from typing import Any

from markupsafe import Markup

from nesting.page.draft import Draft, pointer_of
from nesting.page.pictures.papers import paper_picture
from nesting.page.pictures.prints import Looks
from nesting.page.showing import Showing
from nesting.page.starting import new_paper

PRINTS = {
    "plain": "plain",
    "four-way": "four-way: small, tossed about",
    "two-way": "two-way: stripes",
    "one-way": "one-way: has to stand",
}
EDGES = ("top", "left", "right", "bottom")


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    names = draft.keys("/papers")
    papers = [_paper(draft, name) for name in names]
    sheets = sum(int(text) for one in papers for text in one["counts"] if text.isdecimal())
    faults = [one for one in draft.faults if one.startswith("/papers")]
    return {
        "papers": papers,
        "prints": PRINTS,
        "edges": EDGES,
        "answer": _answer(len(names), sheets),
        "done": bool(names) and not faults,
    }


def _answer(papers: int, sheets: int) -> str:
    if not papers:
        return "none yet"
    counted = f"{sheets} sheet{'' if sheets == 1 else 's'}"
    return f"{papers} paper{'' if papers == 1 else 's'}, {counted} counted"


def _paper(draft: Draft, name: str) -> dict[str, Any]:
    """What is shown of one paper."""
    here = pointer_of(("papers", name))
    from_stash = draft.value(here) == "stash"
    sizes = _sizes(draft, here)
    faults = [one for one in draft.faults if one == here or one.startswith(f"{here}/")]
    return {
        "name": name,
        "at": here,
        "from_stash": from_stash,
        "sizes": sizes,
        "answer": _words(draft, sizes) if not from_stash else "as the stash has it",
        # One that is new, or has a fault, is open to be filled in.
        "open": bool(faults) or draft.value(here) == new_paper(draft.unit),
        "pictures": _pictures(draft, None if faults else name),
        "counts": [draft.value(size["have"]) or "" for size in sizes],
        "strip": draft.value(f"{here}/barcode strip/edge"),
        "prints": {
            face: draft.value(f"{here}/{face}/print") or "plain" for face in ("front", "back")
        },
        "tops": {face: draft.value(f"{here}/{face}/up") or "top" for face in ("front", "back")},
        "buy": (draft.value(f"{here}/buy") or "true").lower() in ("true", "yes"),
    }


def _words(draft: Draft, sizes: list[dict[str, str]]) -> str:
    """A paper in a few words: what there is of it."""
    return ", ".join(
        f"{draft.value(one['have']) or 'none'} of {draft.value(one['size'])}" for one in sizes
    )


def _pictures(draft: Draft, name: str | None) -> dict[str, Markup]:
    """A sheet with its front up, and one with its back up; nothing of a paper with faults."""
    batch = draft.sound
    if batch is None or name is None:
        return dict.fromkeys(("front", "back"), Markup())
    looks, paper = Looks(batch, {}), batch.paper(name)
    return {
        face: Markup(paper_picture(looks, paper, face))  # noqa: S704 - drawn by us, texts escaped
        for face in ("front", "back")
    }


def _sizes(draft: Draft, here: str) -> list[dict[str, str]]:
    """The pointers of each size of sheet, written one way or the other."""
    if not draft.keys(f"{here}/sheets"):
        return [{"size": f"{here}/sheet", "have": f"{here}/have", "price": f"{here}/price"}]
    return [
        {key: f"{here}/sheets/{number}/{key}" for key in ("size", "have", "price")}
        for number in draft.keys(f"{here}/sheets")
    ]
