"""What pages say of covered middles: where and when they are cut out, which pieces stay whole."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from matplotlib.figure import Figure
from matplotlib.text import Text
from pack_cases import MM, solved
from test_draw_pages import assert_well_set
from test_middles import mat_batch

from nesting.draw.card.bag_labels import label_figures
from nesting.draw.card.recipe import recipe_figures
from nesting.draw.pages.plan_words import source_words
from nesting.draw.sheet.diagram import layout_figures
from nesting.papers import Edges
from nesting.plan import Plan, Uncut
from nesting.sources import middles_taken


@cache
def two_designs() -> Plan:
    """Equal mats of two designs: the middles of one give tags, the other has smaller ones."""
    batch = mat_batch()
    (card,) = batch.cards
    mat, cover, tag = card.layers
    smaller = replace(cover, reveal=Edges(*[8 * MM] * 4))
    cider = replace(card, name="cider", make=4, layers=(mat, smaller))
    return solved(replace(batch, cards=(replace(card, layers=(mat, cover, tag)), cider)))


def words_on(figures: Iterator[Figure] | tuple[Figure, ...]) -> str:
    """All that some pages say, which is well set."""
    said = []
    for figure in figures:
        assert_well_set(figure)
        said += [text.get_text() for text in figure.findobj(Text)]
    return " ".join(" ".join(said).replace("\N{NO-BREAK SPACE}", " ").split())


def test_the_middles_page_says_out_of_what_and_when_they_are_cut() -> None:
    """The page of a middle names piece, card, tool, time, place and number."""
    plan = two_designs()
    (layout,) = [one for one in plan.layouts if one.source.kind == "middle"]
    words = words_on(layout_figures(plan, layout))
    assert "Covered middle 44 x 64 mm." in words
    assert "Cut it out of 4 of the 8 A, mat of windfall, with knife and steel rule" in words
    assert "before anything is glued on: 8 from the left and 8 from the bottom" in words
    assert "Take the covered middle." in words


def test_the_hosts_page_says_that_middles_are_cut_out_of_some() -> None:
    """Where the mats are cut, the page says how many lose their middle, and that others stay whole."""
    plan = two_designs()
    (layout,) = [one for one in plan.layouts_of("pear toss") if one.source.kind == "sheet"]
    words = words_on(layout_figures(plan, layout))
    assert "middle to cut out before gluing: 4 for windfall; the others stay whole" in words


def test_what_is_not_cut_does_not_stay_whole() -> None:
    """Where the cards whose mats keep their middle are not made, no mat is left that stays whole."""
    plan = two_designs()
    mats = next(piece for piece in plan.pieces if len(piece.uses) > 1)
    lacking = tuple(use for use in mats.uses if use.card == "cider")
    short = replace(plan, uncut=(Uncut(mats.id, sum(use.count for use in lacking), lacking),))
    (middle,) = [one for one in plan.layouts if one.source.kind == "middle"]
    assert "Cut it out of 4 of the 8 A" in words_on(layout_figures(plan, middle))
    assert "Cut it out of 4 A" in words_on(layout_figures(short, middle))
    assert "the others stay whole" in words_on(label_figures(plan))
    assert "the others stay whole" not in words_on(label_figures(short))


def test_recipes_say_which_mats_have_a_window() -> None:
    """The recipe of one design cuts its middles out, that of the other keeps the mat whole."""
    plan = two_designs()
    words = words_on(recipe_figures(plan))
    assert "before gluing, cut its middle out of all 4: 44 x 64, 8 from the left" in words
    assert "stays whole" in words
    assert "Dotted on a layer: the middle that is cut out of it first." in words


def test_labels_say_it_too() -> None:
    """The bag of the mats has the words of their page."""
    assert "middle to cut out before gluing: 4 for windfall" in words_on(
        label_figures(two_designs())
    )


def test_the_summary_counts_the_middles() -> None:
    """Middles are named beside the offcuts that are used."""
    assert "Also used: 4 covered middles." in source_words(two_designs(), "pear toss")


def test_nothing_is_said_where_nothing_is_cut_out() -> None:
    """A plan without middles has none of these words."""
    plan = solved(mat_batch(save_middles=False))
    pages = (*recipe_figures(plan), *label_figures(plan))
    words = words_on((*pages, *layout_figures(plan, plan.layouts[0])))
    assert "middle" not in words
    assert "whole" not in words


def test_equal_middles_go_to_the_designs_in_order() -> None:
    """Of two designs with one middle, the first gives all it has, the second the rest."""
    (card,) = mat_batch().cards
    cards = replace(card, make=2), replace(card, name="cider", make=2)
    plan = solved(mat_batch(cards=cards))
    (layout,) = [one for one in plan.layouts if one.source.kind == "middle"]
    taken = [(window.card, count) for window, count in middles_taken(plan)[layout.id]]
    assert taken == [("windfall", 2), ("cider", 2)]
