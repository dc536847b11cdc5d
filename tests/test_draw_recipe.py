"""Recipes: every layer in its place, in words and in the picture, on pages that can be read."""

from collections import Counter
from dataclasses import replace
from functools import cache
from hashlib import sha256
from io import BytesIO

import pytest
from card_plans import (
    BRICK,
    CARD_PLANS,
    CREAM,
    all_round,
    cut_plan,
    many_cards,
    metric,
    orchard,
    short,
)
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from matplotlib.text import Text
from plans import inches
from pypdf import PdfReader
from test_draw_pages import assert_well_set

from nesting.batch import At, Base, Batch, Card, Layer
from nesting.draw import PAGES, Page, draw_pdf
from nesting.draw.canvas.lettering import LETTER, SIZE
from nesting.draw.canvas.surface import EDGE
from nesting.draw.card.recipe import recipe_figures
from nesting.draw.card.sides import card_sides, print_top
from nesting.draw.sheet.bearings import top_edge
from nesting.draw.sheet.joint_words import joint_words
from nesting.layouts import Blank, Layout, Source
from nesting.papers import Edges
from nesting.pieces import Score
from nesting.plan import Plan, Uncut


def texts_on(figure: Figure) -> list[Text]:
    """Every text of a figure, in the order they are written."""
    return [text for text in figure.findobj(Text) if isinstance(text, Text) and text.get_text()]


def said(plan: Plan, card: str) -> list[str]:
    """Everything that is written on the pages of one card, line by line."""
    asked = replace(plan.asked, cards=tuple(c for c in plan.asked.cards if c.name == card))
    figures = recipe_figures(replace(plan, asked=asked))
    return [text.get_text() for figure in figures for text in texts_on(figure)]


@pytest.mark.parametrize(
    ("card", "words"),
    [  # worked by hand from the reveals and the at of each layer
        (
            "windfall",
            [
                "1/8 from the left, 1/8 from the bottom; on the card, 1/8 of it shows all round",
                "1/4 from the left, 1/4 from the bottom; on mat, 1/8 of it shows all round",
                "1/4 from the left, 1 from the bottom; on panel",
                (
                    "centre 2 1/8 from the left, 3 3/4 from the bottom; on panel cut 2 1/4 x 2 1/4, "
                    "1/8 in left all round for the die"
                ),
                "1/8 from the left, 1/8 from the bottom; on the inside, 1/8 of it shows all round",
            ],
        ),
        (
            "cider market",
            [
                "1/8 from the left, 1/8 from the bottom; on the card, 1/8 of it shows all round",
                "1/4 from the left, 1/4 from the bottom; on mat, 1/8 of it shows all round",
                "1/4 from the left, 1 3/4 from the bottom; on panel",
                "centre 4 from the left, 2 1/8 from the bottom; on panel",
            ],
        ),
        (
            "belly band",
            [
                (
                    "at the left edge, 3/4 from the bottom; round the card 6 x 1 shows, 1/2 goes "
                    "behind at both ends"
                ),
                "1/4 from the left, 1 beyond the bottom; on the card",
                "centre 5 1/8 from the left, 3 1/8 from the bottom; on the card",
                "4 1/2 from the left, 1/4 from the bottom; on the card's back",
            ],
        ),
    ],
)
def test_places_are_those_of_the_batch(card: str, words: list[str]) -> None:
    """Each layer's place as worked by hand, from the card's left and bottom edges."""
    page = " ".join(said(orchard(), card))
    for sentence in words:
        assert sentence in page


def test_places_in_millimetres() -> None:
    """A reveal of 2.5 mm, and a label of 60 x 30 whose centre is given."""
    page = " ".join(said(metric(), "medlar"))
    assert "2.5 from the left, 2.5 from the bottom; on the card, 2.5 of it shows all round" in page
    assert "22.5 from the left, 85 from the bottom; on mat" in page
    assert "Width x height, in mm; places from the card's left and bottom edges." in page


def test_bases_say_where_they_are_scored_and_folded() -> None:
    """A fold at the left, one at the top, and a base that is bought ready."""
    plan = orchard()
    upright, lying, bought = (
        " ".join(said(plan, c)) for c in ("windfall", "cider market", "belly band")
    )
    assert "8 1/2 x 5 1/2" in upright
    assert (
        "score 4 1/4 from the left, on the outside; fold away from the groove, so that the raised "
        "line is inside, to 4 1/4 x 5 1/2 with the fold at the left; the grain runs along the fold"
        in upright
    )
    assert "is inside, to 5 1/2 x 4 1/4 with the fold at the top" in lying
    assert "6 x 4 bought ready 1 on each card; 5 needed" in bought


def test_a_fold_across_the_grain_is_said() -> None:
    """Bases that lie so on the sheet that they fold across its grain: all, or only some.

    Three lines beside the fold are drawn only where the grain runs along it in all of them.
    """
    plan = orchard()
    base = replace(plan.pieces[0], width=inches("10"), height=inches("7"))
    plan = replace(plan, pieces=(base, *plan.pieces[1:]))
    blanks = [
        Blank(base.id, turned=turned) for turned in (True, False)
    ]  # long grain, upright sheet
    across, along = (
        Layout(1, CREAM.name, Source("sheet", "8 1/2 x 11"), 1, 1, 1, 0, 0, blank)
        for blank in blanks
    )
    if not base.folds_across("y", turned=True):
        across, along = along, across
    assert "across the fold: score it well" in " ".join(
        said(replace(plan, layouts=(across,)), "windfall")
    )
    both = " ".join(said(replace(plan, layouts=(across, along)), "windfall"))
    assert "across the fold on some: score it well" in both
    lines = [
        sum(len(figure.findobj(Line2D)) for figure in recipe_figures(replace(plan, layouts=cut)))
        for cut in ((along,), (across,), (across, along))
    ]
    assert lines == [lines[1] + 3, lines[1], lines[1]]


@pytest.mark.parametrize(("width", "fits"), [("3 1/2", True), ("2", False)])
def test_the_front_of_a_narrow_base_is_named_where_there_is_room(width: str, fits: bool) -> None:
    """The word does not run out of the picture of the base."""
    plan = orchard()
    score = Score("y", inches("3"))
    base = replace(plan.pieces[0], width=inches(width), height=inches("6"), score=score)
    page = said(replace(plan, pieces=(base, *plan.pieces[1:])), "windfall")
    assert ("front" in page) is fits


def test_copies_wraps_and_spares_are_counted() -> None:
    """Three dots on each of four cards and a spare one; only one of the three has a place."""
    page = " ".join(said(orchard(), "belly band"))
    assert "4 cards, 1 spare set" in page
    assert "3 on each card; one of them is drawn; 15 cut" in page


def test_a_spare_set_that_is_not_made_is_not_promised() -> None:
    """The cards are complete, but nothing is left for the spare set."""
    plan = orchard()
    own = ((one.id, use) for one in plan.pieces for use in one.uses if use.card == "belly band")
    missing = [Uncut(piece, 1, (replace(use, count=1),)) for piece, use in own][:1]
    page = " ".join(said(replace(plan, uncut=tuple(missing)), "belly band"))
    assert "4 cards, 0 of 1 spare set complete with this plan" in page


def test_what_is_not_cut_is_said() -> None:
    """Five of eight cards complete, five of eight panels cut, all of everything else."""
    page = said(short(), "windfall")
    assert "4 1/4 x 5 1/2 in: 5 of 8 cards complete with this plan" in page
    assert Counter(page)["1 on each card; 5 of 8 cut"] == 1
    assert Counter(page)["1 on each card; 8 cut"] == 5


def test_a_design_of_which_none_is_complete_has_no_recipe() -> None:
    """There is nothing to assemble, and the pages of the others count without it."""
    plan = short()
    cards = (replace(plan.cards[0], complete=0), *plan.cards[1:])
    (missing,) = plan.uncut
    uncut = (replace(missing, count=8, uses=(replace(missing.uses[0], count=8),)),)
    none = replace(plan, cards=cards, uncut=uncut)
    assert said(none, "windfall") == []
    texts = {text.get_text() for figure in recipe_figures(none) for text in texts_on(figure)}
    assert {"recipe 1 of 2", "recipe 2 of 2", "cider market", "belly band"} <= texts


def test_sides_are_told_apart() -> None:
    """What lies inside and what lies behind have pictures and headings of their own."""
    plan = orchard()
    upright, wrapped = said(plan, "windfall"), said(plan, "belly band")
    assert "Inside, the card open" in upright
    assert "Back, seen from behind" not in upright
    assert "Back, seen from behind" in wrapped
    assert "Inside, the card open" not in wrapped


def test_the_way_the_print_runs_is_said() -> None:
    """Upright, across, and to the right on a turned back, with the face where it matters."""
    plan = orchard()
    page, upright = said(plan, "belly band"), said(plan, "windfall")
    assert {"bee stripe, front", "print along the height", "print across"} <= set(page)
    assert "top of the print to the right" in page
    assert {"pear toss, back", "top of the print up", "brick cardstock"} <= set(upright)


def test_the_top_of_the_print_is_where_the_sheet_puts_it() -> None:
    """Against the diagram: turning the sheet until the piece stands gives the same edge."""
    clockwise = ("top", "right", "bottom", "left")
    plan = orchard()
    for piece in plan.pieces:
        for up in clockwise:
            for turned in (False, True):
                lying = clockwise.index(top_edge(replace(piece, up=up), turned=turned))
                seen = (clockwise.index(up) - lying) % 4  # with the piece's top turned up
                if piece.face == "back":
                    seen = -seen % 4  # and the sheet turned over like a page
                assert print_top(piece, turned=turned) == clockwise[seen]


def test_layers_are_listed_in_order_each_by_its_letter() -> None:
    """The base first, then each layer on the one before it, on as many pages as it needs."""
    plan = CARD_PLANS["many_layers"]()
    (side,) = card_sides(plan, plan.asked.cards[0])
    asked = [plan.pieces[0].letter, *(layer.piece.letter for layer in side.layers)]
    figures = list(recipe_figures(plan))
    assert len(figures) > 1
    listed = [t for f in figures for t in names_of(f)]
    assert listed == ["base", *(layer.placed.layer.name for layer in side.layers)]
    letters = Counter(
        text.get_text()
        for figure in figures
        for text in texts_on(figure)
        if text.get_fontsize() == LETTER and text.get_fontweight() == "bold"
    )
    assert all(letters[letter] >= 2 for letter in asked)  # in its row and pulled apart


def test_what_is_wrapped_round_a_layer_comes_before_it_is_glued_down() -> None:
    """A tag under the band, the band, then the panel that it is wrapped round; the bow after all."""
    eighth = all_round(inches("1/8"))
    card = Card(
        "wrapped", 2, inches("5"), inches("7"), Base(CREAM.name),
        (
            Layer("mat", BRICK.name, reveal=eighth),
            Layer("panel", BRICK.name, reveal=eighth),
            Layer("tag", BRICK.name, over="panel", circle=inches("1")),
            Layer("star", BRICK.name, over="tag", circle=inches("1/2")),
            Layer("band", BRICK.name, over="panel", height=inches("1"), wrap=inches("1/2")),
            Layer("bow", BRICK.name, over="panel", circle=inches("1")),
            Layer("belt", BRICK.name, over="card", height=inches("1"), wrap=inches("1/2")),
        ),
    )  # fmt: skip
    plan = cut_plan(Batch("Plain", "in", (BRICK, CREAM), (card,)))
    listed = [name for figure in recipe_figures(plan) for name in names_of(figure)]
    assert listed == ["base", "mat", "tag", "star", "band", "panel", "bow", "belt"]
    page = " ".join(said(plan, "wrapped"))
    assert "round panel before that is glued down" in page
    assert "round the card" in page


MAT = Layer("mat", BRICK.name, reveal=all_round(inches("1/8")))
SASH = Layer("sash", BRICK.name, height=inches("1"), angle=30_000)


def test_where_a_layer_is_folded_behind_is_said_and_drawn() -> None:
    """4 x 3/4 in with 2 in behind at the left and 1 in at the right: 7 in, folded at 2 and 6."""
    ribbon = Layer(
        "ribbon", BRICK.name, height=inches("3/4"), wrap=Edges(left=inches("2"), right=inches("1"))
    )
    panel = Layer("panel", BRICK.name, reveal=all_round(inches("1/8")))
    plan, page = folded(panel, ribbon)
    assert "ribbon" in page
    assert "7 x 3/4" in page
    assert "4 x 3/4 shows, 2 at the left, 1 at the right goes behind" in " ".join(page)
    assert "fold it behind 2 and 6 from its left end" in page
    (side,) = card_sides(plan, plan.asked.cards[0])
    assert side.layers[1].folds == (Score("x", inches("2")), Score("x", inches("6")))
    assert side.layers[0].folds == ()


@pytest.mark.parametrize(
    ("seal", "where", "first", "second"),
    [
        # 8 7/8 in long: 4 1/4 in front, the rest halved: (8 7/8 - 4 1/4) / 2 = 2 5/16
        (None, "behind", "2 5/16", "6 9/16"),
        # too small for the lap of 1/4 in over the whole height of 1 in
        (Layer("seal", CREAM.name, circle=inches("1")), "behind", "2 5/16", "6 9/16"),
        # the middle of the lap in the middle, 2 1/8 in: 4 1/4 - (2 1/8 - 1/8) = 2 1/4 from the end,
        # then the back and twice the thickness, 4 1/4 + 1/8
        (Layer("seal", CREAM.name, circle=inches("2")), "under seal", "2 1/4", "6 5/8"),
        # the middle of the lap at 1 in: 4 1/4 - 7/8 = 3 3/8
        (
            Layer("seal", CREAM.name, width=inches("1"), height=inches("2"),
                  at=At(left=inches("1/2"))),
            "under seal", "3 3/8", "7 3/4",
        ),
    ],
)  # fmt: skip
def test_the_ends_of_a_belt_meet_under_a_layer_or_behind(
    seal: Layer | None, where: str, first: str, second: str
) -> None:
    """Round a card of 4 1/4 in, 1/16 in thick, with a lap of 1/4 in, worked out by hand."""
    belt = Layer("belt", BRICK.name, height=inches("1"), belt=inches("1/16"))
    _, page = folded(belt, *([seal] if seal else []))
    assert "8 7/8 x 1" in page
    assert f"glue its ends 1/4 over each other, {where}" in page
    assert f"fold it behind {first} and {second} from its left end" in page
    assert "round the closed card, after its inside and back" in " ".join(page)


def test_a_belt_over_the_top_is_folded_from_its_bottom_end() -> None:
    """2 x 5 1/2 + 1/8 + 1/4 = 11 3/8; (11 3/8 - 5 1/2) / 2 = 2 15/16."""
    _, page = folded(Layer("belt", BRICK.name, width=inches("1"), belt=inches("1/16")))
    assert "fold it behind 2 15/16 and 8 7/16 from its bottom end" in (" ".join(page))


@pytest.mark.parametrize(
    ("layers", "words", "order"),
    [
        # as worked out in test_aslant, on the marks of the ruler, from the corner of the mat:
        # 4.48205 - 1/8 = 4.35705 and 2.17265 - 1/8 = 2.04765
        (
            (MAT, SASH),
            [
                "5 3/4 x 1",
                "30° clockwise; on mat, trimmed flush before that is glued down",
                "mark mat 4 3/8 up its left edge, and 2 1/16 up its right edge; lay the upper edge of the band on both",
            ],
            ["sash", "mat"],
        ),
        # 1/2 in goes behind: 5.19615 + 1
        (
            (MAT, replace(SASH, angle=-30_000, wrap=inches("1/2"))),
            [
                "6 1/4 x 1",
                "30° anticlockwise; round mat before that is glued down",
                "mark mat 2 1/16 up its left edge, and 4 3/8 up its right edge; lay the upper edge of the band on both",
                "1/2 goes behind at both ends",
            ],
            ["sash", "mat"],
        ),
        # the card's lower left corner is cut off: the long side from (0, 1.70711) to (1.70711, 0)
        (
            (replace(SASH, angle=45_000, at=At(centre=(inches("1"), 0))),),
            [
                "45° clockwise; on the card, trimmed flush",
                "mark the card 1 11/16 up its left edge, and 1 11/16 along its bottom edge; lay the upper edge of the band on both",
            ],
            ["sash"],
        ),
        # its upper side is 1/2 in above the middle of a disc of 2 in, sqrt 3/4 = 0.86603 to each side
        (
            (Layer("moon", CREAM.name, circle=inches("2")), replace(SASH, angle=1)),
            [
                "2 1/2 x 1",
                "0.001° clockwise; on moon, trimmed flush before that is glued down",
                "mark moon 1/8 from its left and 1 1/2 up, and 1 7/8 from its left and 1 1/2 up; lay the upper edge of the band on both",
            ],
            ["sash", "moon"],
        ),
        # a tag stays as it is: its upper side, 1/2 in above its middle at 2 3/4 in, lies level
        (
            (MAT, replace(SASH, width=inches("2"), angle=1)),
            [
                "2 x 1",
                "centre 2 1/8 from the left, 2 3/4 from the bottom; 0.001° clockwise; on mat",
                "mark mat 3 1/8 up its left edge, and 3 1/8 up its right edge; lay the upper edge of the layer in line with both",
            ],
            ["mat", "sash"],
        ),
    ],
)
def test_how_an_aslant_layer_is_laid_is_said(
    layers: tuple[Layer, ...], words: list[str], order: list[str]
) -> None:
    """Two marks at the edge of what it lies on, and before that is glued down where it has to be."""
    plan, page = folded(*layers)
    for sentence in words:
        assert sentence in " ".join(page)
    listed = [name for figure in recipe_figures(plan) for name in names_of(figure)]
    assert listed == ["base", *order]
    assert "Dots at its edges: marks to lay an aslant layer by." in " ".join(page)


def folded(*layers: Layer) -> tuple[Plan, list[str]]:
    """A plan of one card with these layers, and all that its recipe says."""
    card = Card("folded", 2, inches("4 1/4"), inches("5 1/2"), Base(CREAM.name), layers)
    plan = cut_plan(Batch("Plain", "in", (BRICK, CREAM), (card,)))
    return plan, said(plan, "folded")


def names_of(figure: Figure) -> list[str]:
    """The names in the list of layers, from the top."""
    names = [
        text
        for text in texts_on(figure)
        if text.get_fontsize() == SIZE and text.get_fontweight() == "bold"
        if EDGE + 60 < text.get_position()[0] < EDGE + 90
    ]
    return [t.get_text() for t in sorted(names, key=lambda t: -t.get_position()[1])]


@cache
def pages(name: str, page: Page) -> list[Figure]:
    """The recipes of a plan."""
    return list(recipe_figures(CARD_PLANS[name](), page))


CASES = [(name, page) for name in CARD_PLANS for page in PAGES.values() if name != "many_cards"]


@pytest.mark.parametrize(("name", "page"), CASES, ids=lambda case: getattr(case, "name", case))
def test_every_page_is_readable(name: str, page: Page) -> None:
    """Texts are large enough, on the page and clear of each other; no picture leaves the page."""
    for figure in pages(name, page):
        assert_well_set(figure)
        renderer = RendererAgg(1, 1, 72)
        figure.set_dpi(72)
        width, height = figure.get_size_inches() * 72
        for artist in figure.findobj(lambda a: isinstance(a, Patch | Line2D)):
            if artist is figure.patch:
                continue
            box = artist.get_window_extent(renderer)
            assert box.x0 >= EDGE - 3, artist
            assert box.x1 <= width - EDGE + 3, artist
            assert box.y0 >= EDGE - 3, artist
            assert box.y1 <= height - EDGE + 3, artist


def test_letters_and_sizes_keep_their_least_size() -> None:
    """On a recipe a letter has 18 pt bold, a size 14 pt."""
    for figure in pages("orchard", PAGES["letter"]):
        for text in texts_on(figure):
            if text.get_text() in "ABCDEFGHIJKLM":
                assert text.get_fontsize() >= LETTER
                assert text.get_fontweight() == "bold"
            if text.get_text() in ("4 x 5 1/4", "3 3/4 x 5", "2 circle", "8 1/2 x 5 1/2"):
                assert text.get_fontsize() >= SIZE


def test_layers_pulled_apart_lie_over_each_other_in_order() -> None:
    """The uppermost layer is drawn last, and highest."""
    (figure,) = recipe_figures(cut_plan(Batch("Plain", "in", (BRICK, CREAM), (stepped(),))))
    slanted = [
        patch
        for patch in figure.findobj(Polygon)
        if len(patch.get_xy()) == 5 and patch.get_xy()[0][0] != patch.get_xy()[3][0]
    ]
    slanted.sort(key=lambda patch: patch.get_zorder())
    lows = [min(y for _, y in patch.get_xy()) for patch in slanted]
    assert len(lows) == 4
    assert lows == sorted(lows)


def stepped() -> Card:
    """A base and three layers, each a quarter inch within the one below."""
    quarter = all_round(inches("1/4"))
    names = ("first", "second", "third")
    layers = tuple(Layer(name, BRICK.name, reveal=quarter) for name in names)
    return Card("steps", 4, inches("4"), inches("5"), Base(CREAM.name), layers)


def test_forty_designs_have_a_recipe_each() -> None:
    """Forty designs take forty pages, in order, found by their names in the PDF, after the labels."""
    reader = PdfReader(BytesIO(draw_pdf(many_cards())))
    for number in (0, 1, 19, 39):
        text = reader.pages[number - 40].extract_text()
        assert f"row {number} of the orchard" in text
        assert f"recipe {number + 1} of 40" in text
    assert "Labels for the bags" in reader.pages[-41].extract_text()


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_recipes_in_the_pdf_are_exact_searchable_and_vector(page: Page) -> None:
    """Pages have exactly their size, every font is embedded (ISO 32000-1, 9.9), nothing is an image."""
    reader = PdfReader(BytesIO(draw_pdf(orchard(), page)))
    text = " ".join(one.extract_text() for one in reader.pages)
    for words in ("windfall", "recipe 3 of 3", "Pulled apart", "Labels for the bags"):
        assert words in text
    for one in reader.pages:
        assert float(one.mediabox.width) == pytest.approx(page.width / 25.4e6 * 72, abs=0.001)
        assert float(one.mediabox.height) == pytest.approx(page.height / 25.4e6 * 72, abs=0.001)
        assert not list(one.images)
        for font in one["/Resources"]["/Font"].values():
            (descendant,) = font.get_object()["/DescendantFonts"]
            assert "/FontFile2" in descendant.get_object()["/FontDescriptor"]


def test_the_same_plan_gives_the_same_bytes() -> None:
    """Drawn twice, the PDF with labels and recipes does not differ."""
    plan = CARD_PLANS["odd_names"]()
    first, second = (sha256(draw_pdf(plan)).hexdigest() for _ in range(2))
    assert first == second


def joined_plan() -> Plan:
    """A band of 16 in round a card, cut as two ends that meet under a seal."""
    band = Layer("band", BRICK.name, over="card", height=inches("2"), wrap=inches("4"), join="must")
    seal = Layer("seal", CREAM.name, over="card", width=inches("3"), height=inches("3"))
    card = Card("harvest", 3, inches("8"), inches("5"), layers=(band, seal))
    return cut_plan(Batch("Orchard supper", "in", (BRICK, CREAM), (card,)))


def test_two_ends_are_said_and_drawn() -> None:
    """The recipe says how long each end is, from where, under what they meet, and where to fold them."""
    words = " ".join(said(joined_plan(), "harvest")).replace("\N{NO-BREAK SPACE}", " ")
    assert (
        "two ends: A, 6 3/4 long at the left; A, 6 3/4 long at the right; the joint lies under seal"
        in words
    )
    assert "fold its ends behind, as it lies 4 from the left, 4 from the right" in words
    assert "16 x 2 in all" in words
    assert "1 on each card; 3 cut" in words


def test_labels_tell_the_ends_apart() -> None:
    """A bag has the name of the layer and of the end; one size for both ends has both names."""
    (ends, seal) = joined_plan().pieces
    assert (ends.name, ends.demand) == ("band, left end / band, right end", 6)
    assert seal.name == "seal"
    (words,) = joint_words(joined_plan())
    assert words == (
        "harvest, band: 3 in two ends: A, 6 3/4 long at the left; A, 6 3/4 long at the right; "
        "the joint lies under seal."
    )


def test_ends_of_cards_that_are_not_made_are_not_counted() -> None:
    """Where paper suffices for two of three cards, two bands are in two ends."""
    plan = joined_plan()
    ends, _ = plan.pieces
    lacking = tuple(replace(use, count=1) for use in ends.uses)
    (words,) = joint_words(replace(plan, uncut=(Uncut(ends.id, 2, lacking),)))
    assert words.startswith("harvest, band: 2 in two ends")


def test_a_layer_that_lacks_one_of_its_ends_is_not_counted() -> None:
    """The list of joints counts what the recipe does, whichever end is not cut."""
    plan = joined_plan()
    ends, _ = plan.pieces
    for use in ends.uses:
        lacking = Uncut(ends.id, 1, (replace(use, count=1),))
        short = replace(plan, uncut=(lacking,))
        (words,) = joint_words(short)
        assert words.startswith("harvest, band: 2 in two ends")
        assert "1 on each card; 2 of 3 cut" in " ".join(said(short, "harvest"))
