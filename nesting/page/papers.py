"""Step 2: my papers."""

from typing import Any

from nesting.page.draft import Draft, pointer_of

PRINTS = {
    "plain": "plain",
    "four-way": "four-way: small, tossed about",
    "two-way": "two-way: stripes",
    "one-way": "one-way: has to stand",
}
EDGES = ("top", "left", "right", "bottom")


def view(draft: Draft) -> dict[str, Any]:
    """What the step shows."""
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
    return {
        "name": name,
        "at": here,
        "from_stash": from_stash,
        "sizes": sizes,
        "counts": [draft.value(size["have"]) or "" for size in sizes],
        "strip": draft.value(f"{here}/barcode strip/edge"),
        "prints": {
            face: draft.value(f"{here}/{face}/print") or "plain" for face in ("front", "back")
        },
        "tops": {face: draft.value(f"{here}/{face}/up") or "top" for face in ("front", "back")},
        "buy": (draft.value(f"{here}/buy") or "true").lower() in ("true", "yes"),
    }


def _sizes(draft: Draft, here: str) -> list[dict[str, str]]:
    """The pointers of each size of sheet, written one way or the other."""
    if not draft.keys(f"{here}/sheets"):
        return [{"size": f"{here}/sheet", "have": f"{here}/have", "price": f"{here}/price"}]
    return [
        {key: f"{here}/sheets/{number}/{key}" for key in ("size", "have", "price")}
        for number in draft.keys(f"{here}/sheets")
    ]
