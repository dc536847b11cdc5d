"""Step 2: my papers."""

from typing import Any

from markupsafe import Markup

from nesting.files import STASH
from nesting.files.batch_shape import is_offcut
from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.pictures.paper_svg import paper_picture
from nesting.page.pictures.prints import Looks
from nesting.page.steps.showing import Showing
from nesting.page.steps.starting import new_paper
from nesting.units import Unit, counted

PRINTS = {
    "plain": "plain",
    "four-way": "four-way: small, tossed about",
    "two-way": "two-way: stripes",
    "one-way": "one-way: has to stand",
}
SHEET_SIZES: dict[Unit, tuple[str, ...]] = {
    "in": ("12 x 12", "8 1/2 x 11", "6 x 6", "8 x 8", "A4"),
    "mm": ("A4", "A3", "A5", "305 x 305", "300 x 300"),
    "cm": ("A4", "A3", "A5", "30.5 x 30.5", "30 x 30"),
}


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    names = draft.keys("/papers")
    papers = [_paper(showing, name) for name in names]
    sheets = sum(int(text) for one in papers for text in one["counts"] if text.isdecimal())
    return {
        "papers": papers,
        "prints": PRINTS,
        "sheet_sizes": SHEET_SIZES[draft.unit],
        "answer": _answer(len(names), sheets),
        "done": bool(names) and not draft.has_fault("/papers"),
    }


def _answer(papers: int, sheets: int) -> str:
    if not papers:
        return "none yet"
    return counted(papers, "paper") + (f", {counted(sheets, 'sheet')} counted" if sheets else "")


def _paper(showing: Showing, name: str) -> dict[str, Any]:
    """What is shown of one paper."""
    draft = showing.draft
    here = pointer_of(("papers", name))
    sizes, there = _sizes(draft, here), _there(draft, name)
    faulty = draft.has_fault(here)
    return {
        "name": name,
        "at": here,
        "from_stash": draft.value(here) == STASH and [_words(one) for one in there],
        "sizes": sizes,
        "answer": _brief(there),
        # One that is new, or has a fault, is open to be filled in.
        "open": faulty or draft.value(here) == new_paper(draft.unit),
        "rare_fault": draft.has_fault(
            *(f"{here}/{key}" for key in ("grain", "edge trim", "price"))
        ),
        "pictures": _pictures(showing, None if faulty else name),
        "counts": [draft.text_at(size["have"]) for size in sizes],
        "photo": showing.photos.get((name, "front")),
        "strip": draft.value(f"{here}/barcode strip/edge"),
        "prints": {face: draft.print_of(name, face) for face in ("front", "back")},
        "tops": {face: draft.value(f"{here}/{face}/up") or "top" for face in ("front", "back")},
    }


def _there(draft: Draft, name: str) -> list[Any]:
    """What there is of a paper, size by size, as the stash has it where that is asked."""
    keys = draft.file.filled_value(("papers", name))
    sheets = keys.get("sheets") if isinstance(keys, dict) else None
    return (sheets or [None]) if isinstance(sheets, list) else [keys]


def _brief(there: list[Any]) -> str:
    """What there is in one line: offcuts of several sizes are only counted."""
    offcuts = [one for one in there if isinstance(one, dict) and is_offcut(one)]
    if len(offcuts) < 2:
        return ", ".join(map(_words, there))
    count = sum(int(one["have"]) for one in offcuts if str(one.get("have")).isdecimal())
    whole = (one for one in there if one not in offcuts)
    return ", ".join((*map(_words, whole), counted(count, "offcut")))


def _words(sheets: Any) -> str:
    """Sheets of one size in words; what does not read is a fault of its own."""
    if not isinstance(sheets, dict):
        return "none"
    size = sheets.get("size") or sheets.get("sheet") or "no size"
    have = str(sheets.get("have") or "none")
    kind = "offcut" if is_offcut(sheets) else "sheet"
    many = counted(int(have), kind) if have.isdecimal() else have
    return f"{many} of {size}"


def _pictures(showing: Showing, name: str | None) -> dict[str, Markup]:
    """A sheet with its front up, and one with its back up; nothing of a paper with faults."""
    batch = showing.draft.sound
    if batch is None or name is None:
        return dict.fromkeys(("front", "back"), Markup())
    looks, paper = Looks(batch, showing.photos), batch.paper(name)
    return {
        face: Markup(paper_picture(looks, paper, face))  # noqa: S704 - drawn by us, texts escaped
        for face in ("front", "back")
    }


def _sizes(draft: Draft, here: str) -> list[dict[str, str]]:
    """The pointers of each size of sheet, written one way or the other, and the size itself."""
    numbers = draft.keys(f"{here}/sheets")
    if not numbers:
        sizes = [{"at": ""} | {key: f"{here}/{key}" for key in ("have", "price")}]
        sizes[0]["size"] = f"{here}/sheet"
    else:
        keys = ("size", "have", "price", "offcut")
        sizes = [
            {"at": f"{here}/sheets/{number}"}
            | {key: f"{here}/sheets/{number}/{key}" for key in keys}
            for number in numbers
        ]
    return [one | {"words": draft.text_at(one["size"]) or "no size"} for one in sizes]
