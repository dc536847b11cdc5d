"""Step 2 of the page: what is shown of each paper."""

import re
from dataclasses import replace
from typing import Any

import pytest

from nesting.files import read_draft
from nesting.page.folder.draft import Draft
from nesting.page.steps.all_steps import sections
from nesting.page.steps.papers import view
from nesting.page.steps.showing import Said, Showing

PAPERS = """\
unit: in
papers:
  pear toss:
    sheet: 12 x 12
    have: 3
    back: {print: one-way, up: left}
  bee stripe: {sheets: [{size: letter, have: plenty}, {size: 6 x 8, have: 1, offcut: yes}, {size: 2 x 8, have: 2, offcut: yes}]}
  new: {sheet: 12 x 12, have: 1}
  wrong: {sheet: 12 x, have: 2}
  drawer: stash
"""


def showing() -> Showing:
    """The papers as they are shown."""
    return Showing("suppers.yaml", 1, Draft(read_draft(PAPERS, "suppers.yaml")))


def shown() -> dict[str, dict[str, Any]]:
    """What is shown of each paper, by its name."""
    return {one["name"]: one for one in view(showing())["papers"]}


def test_a_folded_paper_says_what_there_is_of_it() -> None:
    """In one line, whichever way its sheets are written."""
    assert {name: one["answer"] for name, one in shown().items()} == {
        "pear toss": "3 sheets of 12 x 12",
        "bee stripe": "plenty of letter, 3 offcuts",
        "new": "1 sheet of 12 x 12",
        "wrong": "2 sheets of 12 x",
        "drawer": "none",
    }


def test_only_what_has_to_be_filled_in_is_unfolded() -> None:
    """A paper of which nothing is said yet, and those with a fault: the stash has none of that name."""
    assert [name for name, one in shown().items() if one["open"]] == ["new", "wrong", "drawer"]


def test_a_paper_with_a_fault_has_no_picture() -> None:
    """There is nothing to draw it from."""
    assert [name for name, one in shown().items() if not any(one["pictures"].values())] == [
        "wrong",
        "drawer",
    ]


def test_the_edge_of_a_back_is_the_one_that_is_seen() -> None:
    """The file names edges with the front up: its left edge is at the right when the back is up."""
    html = sections(showing(), Said(showing()))["papers"]
    edges = re.findall(
        r'<label class="(\w+)"><input type="radio" id="[^"]+" name="/papers/pear toss/back/up" '
        r'value="(\w+)" (checked)?',
        html,
    )
    assert edges == [
        ("top", "top", ""), ("left", "right", ""), ("right", "left", "checked"), ("bottom", "bottom", ""),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("stash", "hint"), [((), "a number, or plenty"), (("drawer",), "a number, plenty, or stash")]
)
def test_the_stash_is_offered_where_there_is_one(stash: tuple[str, ...], hint: str) -> None:
    """Who has put nothing into it need not know what it is."""
    with_stash = replace(showing(), stash=stash)
    html = sections(with_stash, Said(with_stash))["papers"]
    assert set(re.findall(r'<span class="hint">(a number.*?)</span>', html)) == {hint}
