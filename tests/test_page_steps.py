"""The steps as they are drawn up: from anything that a file may hold."""

from collections.abc import Iterator
from typing import Any

import pytest
from project import SAMPLES

from nesting.batch import KeyPath
from nesting.files import InputError, read_draft
from nesting.page.folder.draft import Draft
from nesting.page.steps import trimmer
from nesting.page.steps.all_steps import STEPS, changed_parts, sections
from nesting.page.steps.showing import Said, Showing


def places(data: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    """Every place of a file."""
    pairs = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    for key, value in pairs:
        yield (*path, key)
        yield from places(value, (*path, key))


def like(place: KeyPath) -> tuple[str, ...]:
    """What places of the same kind have in common: all but numbers, and names of papers and cards."""
    words = tuple(key for key in place if isinstance(key, str))
    return words[:1] + words[2:] if words[0] in ("papers", "cards") and len(words) > 1 else words


@pytest.mark.parametrize("value", [{"a": "b"}, [{"a": "b"}], ["x"], "0", {}])
def test_whatever_stands_in_a_file_can_be_shown(value: Any) -> None:
    """A mapping, a list or a word where something else belongs is a fault, said once on the sheet."""
    draft = read_draft((SAMPLES / "orchard.yaml").read_text("utf-8"), "supper.yaml")
    tried = 0
    for place in {like(place): place for place in places(draft.data)}.values():  # each kind once
        try:
            odd = Draft(draft.write(place, value))
        except InputError:
            continue
        tried += 1
        showing = Showing("supper.yaml", 1, odd)
        html = sections(showing, Said(showing))
        assert html.keys() == {step.id for step in STEPS}
    assert tried > 40


@pytest.mark.parametrize("key", ["units", "paperss", "cardss", "laps"])
def test_a_key_that_is_none_is_told_in_a_step_that_is_open(key: str) -> None:
    """Under how many, also where it begins like one that another step shows: that step was open."""
    text = (SAMPLES / "orchard.yaml").read_text("utf-8")
    showing = Showing("supper.yaml", 1, Draft(read_draft(f"{text}{key}: 1\n", "supper.yaml")))
    done = {step.id: step.view(showing)["done"] for step in STEPS}
    assert done == {"trimmer": True, "papers": True, "cards": True, "how_many": False}
    said = Said(showing)
    assert f"unknown key &#39;{key}&#39;" in sections(showing, said)["how_many"]


def test_what_changed_is_told_by_its_parts() -> None:
    """A part by itself, as long as what is around it and the parts there are stay the same."""
    before = '<ul><!--part--><li id="a">1</li><!--/part--></ul>'
    other = before.replace("1", "2")
    assert changed_parts(before, before) == []
    assert changed_parts(before, other) == ['<li id="a">2</li>']
    assert changed_parts(before, other.replace("ul", "ol")) == [other.replace("ul", "ol")]
    assert changed_parts(before, other.replace('"a"', '"b"')) == [other.replace('"a"', '"b"')]
    assert changed_parts("", before) == [before]


@pytest.mark.parametrize(
    ("typed", "words"),
    [('12 1/2"', "12 1/2 in"), ("30,5 cm", "305 mm"), ("twelve", "twelve"), ("-3", "-3")],
)
def test_the_trimmer_in_one_line(typed: str, words: str) -> None:
    """With one unit, whichever was typed; what is no length stands as it is, and is a fault."""
    text = f"unit: in\ntrimmer: {{marks: 1/16, longest cut: '{typed}'}}\n"
    answer = trimmer.view(Showing("supper.yaml", 1, Draft(read_draft(text, "supper.yaml"))))[
        "answer"
    ]
    assert answer == f"inches, marks of 1/16 in, cuts up to {words}, right hand"
