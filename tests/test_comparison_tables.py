"""Variants and suggestions in tables and sentences."""

from dataclasses import replace
from io import StringIO

import pytest
from pack_cases import asked, sheet_batch
from project import SAMPLES
from rich.console import Console

from nesting import Change, Edges, Variant, read_batch
from nesting.advice.comparison import Comparison, compare
from nesting.advice.looks import LayerLook
from nesting.advice.suggestions import suggest
from nesting.advice.words import look_words, suggestion_lines
from nesting.batch import Batch
from nesting.cards.resolving import resolve
from nesting.cli.comparison_tables import comparison_csv, print_comparison, print_suggestions


def panels(count: int) -> Batch:
    """Panels from 12 x 12 in."""
    return resolve(sheet_batch("12 x 12", asked("4 1/4 x 5 1/2", count))).batch


@pytest.fixture(scope="module")
def comparison() -> Comparison:
    """24 panels, four variants with fewer, and one that a wide blade makes worse: it is beaten."""
    variants = [
        Variant(f"{count} [i]panels[/i]", (Change(("pieces", 0, "count"), count),))
        for count in (20, 16, 12, 8)
    ]
    wide = Change(("trimmer", "cut_width"), 1_000_000)
    return compare(panels(24), [*variants, Variant("blade", (wide,))])


def printed(comparison: Comparison, width: int) -> list[str]:
    """The lines on a console of that width."""
    out = StringIO()
    print_comparison(comparison, Console(file=out, width=width))
    return out.getvalue().splitlines()


def test_a_narrow_console_has_several_tables(comparison: Comparison) -> None:
    """Each begins with the batch itself, and every line fits."""
    wide, narrow = printed(comparison, 140), printed(comparison, 60)
    assert sum("as it is" in line for line in wide) == 1
    assert sum("as it is" in line for line in narrow) > 1
    tables = [line for line in narrow if not line.startswith(("*", "(in"))]
    assert all(len(line.rstrip()) <= 60 for line in tables)


def test_only_what_is_asked_for_is_counted(comparison: Comparison) -> None:
    """Loose pieces alone have no row about cards; a batch of cards has none about loose pieces."""
    loose = "\n".join(printed(comparison, 140))
    assert "complete loose pieces" in loose
    assert "complete cards" not in loose
    cards = compare(read_batch(SAMPLES / "cider.yaml"), [])
    said = "\n".join(printed(cards, 140))
    assert "complete cards" in said
    assert "complete loose pieces" not in said


def test_names_are_text_and_the_beaten_stand_in_brackets(comparison: Comparison) -> None:
    """Square brackets of the user's are no markup; brackets of ours mean beaten."""
    assert comparison.beaten == (False,) * 5 + (True,)
    text = " ".join(" ".join(printed(comparison, 140)).split())
    for row, beaten in zip(comparison.rows, comparison.beaten, strict=True):
        assert (f"({row.name.split()[0]}" in text) == beaten
    assert "[i]panels[/i]" in text


def test_what_is_not_proven_is_said(comparison: Comparison) -> None:
    """A paper whose sheets are only found has its bound below the table."""
    first = comparison.rows[0]
    (figures,) = first.plan.papers
    open_ = replace(figures, proven=False, bound=replace(figures.bound, value=5))
    row = replace(first, plan=replace(first.plan, papers=(open_,)))
    lines = printed(replace(comparison, rows=(row, *comparison.rows[1:])), 140)
    assert "as it is, pear toss: At least 5 sheets are needed (proven); this plan needs 6." in lines
    assert not any("bound" in line for line in printed(comparison, 140))


def test_csv_has_a_line_for_each_variant(comparison: Comparison) -> None:
    """The head, then the variants in their order."""
    lines = comparison_csv(comparison).splitlines()
    assert lines[0].startswith("variant,sheets of pear toss,cost,waste,strokes,ruler settings,")
    assert [line.split(",")[0] for line in lines[1:]] == [row.name for row in comparison.rows]


def test_a_suggestion_says_what_it_saves(comparison: Comparison) -> None:
    """Sheets before and after, and how much paper that is."""
    (size,) = [one for one in suggest(panels(24)) if one.kind == "size"]
    assert list(suggestion_lines(size)) == ["pear toss: 4 sheets instead of 6, 33 % less paper"]


def test_no_suggestion_is_said() -> None:
    """Nothing found is a sentence, not an empty page."""
    out = StringIO()
    print_suggestions({}, Console(file=out))
    assert out.getvalue() == "No single small change was found that helps.\n"


def test_a_look_says_only_what_is_another() -> None:
    """A reveal that differs by edges names those that moved; one that sticks out has a sign."""
    mark = 3_175_000
    size = (32 * mark, 40 * mark)
    before = Edges(left=mark, right=2 * mark, top=mark, bottom=mark)
    after = replace(before, top=-mark)
    assert look_words(LayerLook("", "", size, size, before, after), "in") == (
        "reveal -1/8 in above (was 1/8 in above)"
    )
