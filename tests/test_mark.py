"""The mark of a plan: from all of its content, the same after a trip to disk, easy to read out."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from plans import harvest_plan, short_plan

from nesting.files import read_plan, write_plan
from nesting.layouts import Cut, EdgeTrim, Node, Offcut, Strip
from nesting.mark import mark_of, plan_digest
from nesting.plan import Plan


def changed(value: Any) -> Iterator[Any]:
    """Every record that differs from this one in a single number, word, yes or no, or entry of a list."""
    if is_dataclass(value):
        for field in fields(value):
            for new in changed(getattr(value, field.name)):
                yield replace(value, **{field.name: new})  # type: ignore[type-var]
    elif isinstance(value, tuple):
        yield (*value, 7)
        for number, one in enumerate(value):
            yield from ((*value[:number], new, *value[number + 1 :]) for new in changed(one))
    elif isinstance(value, dict):
        yield {**value, "another": 1}
    elif isinstance(value, bool):
        yield not value
    else:
        yield 7 if value is None else f"{value}." if isinstance(value, str) else value + 1


def test_whatever_changes_in_a_plan_changes_its_digest() -> None:
    """No single value of a plan, of its batch or of its trees can change unnoticed."""
    for plan in (harvest_plan(), short_plan()):
        others = list(changed(plan))
        digests = {plan_digest(other) for other in others}
        assert plan_digest(plan) not in digests
        assert len(digests) == len(others) > 200


def with_tree(tree: Node) -> Plan:
    """A plan with one layout of that tree."""
    plan = harvest_plan()
    return replace(plan, layouts=(replace(plan.layouts[0], tree=tree),))


def test_trees_of_the_same_nodes_are_told_apart() -> None:
    """Which side of a cut another is on, and what kind a leaf without fields is, are part of the mark."""
    strip, trim, keep = Strip(), EdgeTrim(), Offcut(keep=True)
    inner = Cut("x", 3, strip, keep)
    trees = [
        Cut("x", 5, inner, keep), Cut("x", 5, keep, inner), Cut("y", 5, inner, keep),
        Cut("x", 5, strip, keep), Cut("x", 5, trim, keep), Cut("x", 5, keep, strip),
    ]  # fmt: skip
    assert len({plan_digest(with_tree(tree)) for tree in trees}) == len(trees)


def test_a_tree_of_any_depth_has_a_mark() -> None:
    """Cuts nested far deeper than Python nests calls are no trouble."""
    tree: Node = Offcut(keep=True)
    for at in range(1, 3000):
        tree = Cut("x", at, Strip(), tree)
    assert mark_of(with_tree(tree)) != mark_of(with_tree(Cut("x", 1, Strip(), tree)))


def test_the_mark_is_the_same_when_the_plan_is_read_again(tmp_path: Path) -> None:
    """What stands on the pages is what the file on disk gives."""
    for plan in (harvest_plan(), short_plan()):
        write_plan(plan, tmp_path / "plan.json")
        assert plan_digest(read_plan(tmp_path / "plan.json")) == plan_digest(plan)


def test_the_mark_of_a_plan_on_paper_stays() -> None:
    """A change of the tool must not change the marks of plans whose pages hang beside a trimmer."""
    assert mark_of(harvest_plan()) == "Tisebe 90"
    assert mark_of(short_plan()) == "Litana 52"


def test_the_stash_is_part_of_the_mark() -> None:
    """The same layouts made against other sheets at hand, or offcuts of other numbers, have another mark."""
    plan = harvest_plan()
    papers = plan.asked.papers
    for change in ({"have": 5}, {"name": "12"}):
        sheet = replace(papers[0].sheets[0], **change)  # type: ignore[arg-type]
        paper = replace(papers[0], sheets=(sheet, *papers[0].sheets[1:]))
        other = replace(plan, asked=replace(plan.asked, papers=(paper, *papers[1:])))
        assert mark_of(other) != mark_of(plan)


@given(st.integers())
@settings(max_examples=200)
def test_a_mark_is_a_word_and_a_number(seed: int) -> None:
    """Three syllables of a consonant and a vowel, and two figures."""
    mark = mark_of(replace(harvest_plan(), seed=seed))
    assert re.fullmatch(r"[BFLMNRST][aeio]([bflmnrst][aeio]){2} [1-9]\d", mark)


def test_hardly_two_plans_share_a_mark() -> None:
    """Of a thousand plans fewer than three share theirs: it is spread over all there are."""
    marks = {mark_of(replace(harvest_plan(), seed=seed)) for seed in range(1000)}
    assert len(marks) > 997
