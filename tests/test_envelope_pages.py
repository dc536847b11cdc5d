"""Envelopes in files, on pages and in cut files: read, written, bought, made."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from cutfile_cases import read_exactly
from envelope_cases import LINER, MAT, SQUARE, batch, card, size_of, solved
from plans import inches
from pypdf import PdfReader
from test_draw_recipe import said

import nesting
from nesting.batch import At, Envelope, Layer
from nesting.cli.tables import figures_json, needs_json
from nesting.draw.pages.answer_words import answer_line
from nesting.draw.pages.plan_words import envelopes_words
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import count_words
from nesting.files import InputError, plan_to_json, read_batch, read_draft, read_plan
from nesting.pack import Rounds
from nesting.papers import Sheet
from nesting.plan import Plan

#: Of a card that fits into every envelope below.
FILE = """\
batch: suppers
unit: in
papers:
  kraft: {sheet: 12 x 12, have: 4}
  both: {sheet: 12 x 12, have: 4, front: one-way, back: four-way}
cards:
  windfall:
    make: 4
    size: 4 x 5 1/2
    envelope: ENVELOPE
    layers:
      - {name: mat, paper: kraft, reveal: 1/8}
      - {name: liner, paper: kraft, reveal: 1/8, where: envelope}
"""


def made() -> Plan:
    """Four cards with envelopes of kraft, lined."""
    return solved(batch(card("4 1/4 x 5 1/2", MAT, LINER, envelope=Envelope(paper="kraft"))))


def bought() -> Plan:
    """Two designs of four and five cards and a spare set, one size of envelope for both."""
    return solved(batch(card(), replace(card(), name="blossom", make=5, spares=1)))


def read(tmp_path: Path, envelope: str) -> Envelope | None:
    """The envelope of a batch file that says so."""
    path = tmp_path / "batch.yaml"
    path.write_text(FILE.replace("ENVELOPE", envelope), "utf-8")
    return read_batch(path).cards[0].envelope


@pytest.mark.parametrize(
    ("envelope", "size", "paper"),
    [
        ("true", "5 3/4 x 4 3/8", None),
        ("Yes", "5 3/4 x 4 3/8", None),
        ("a7", "7 1/4 x 5 1/4", None),
        ("no. 10", "9 1/2 x 4 1/8", None),
        ("4 3/4 x 6", "6 x 4 3/4", None),
        ("{paper: kraft}", "5 3/4 x 4 3/8", "kraft"),
        ("{size: A6, paper: both, face: back}", "6 1/2 x 4 3/4", "both"),
    ],
)
def test_an_envelope_is_read(tmp_path: Path, envelope: str, size: str, paper: str | None) -> None:
    """True, a name, a size, or how it is made."""
    one = read(tmp_path, envelope)
    assert one is not None
    assert ((one.width, one.height), one.paper) == (size_of(size), paper)


def test_a_card_may_say_that_it_has_no_envelope(tmp_path: Path) -> None:
    """As a variant of a batch does, for instance."""
    path = tmp_path / "batch.yaml"
    text = FILE.replace("ENVELOPE", "false").splitlines(keepends=True)[:-1]
    path.write_text("".join(text), "utf-8")
    assert read_batch(path).cards[0].envelope is None


@pytest.mark.parametrize(
    ("envelope", "words"),
    [
        ("C6", "10:15: envelope: 'C6'; expected yes, an envelope's size, or its name: A1, A2,"),
        ("{size: 5 x}", "10:22: size: '5 x'; expected"),
        ("{paper: both}", "10:5: no face, and 'both' is printed on both; expected face: front or"),
        ("{paper: krafd}", "10:23: paper 'krafd'; expected one of the papers; the nearest is 'kraft'"),
        ("{face: front}", "10:16: 'face' without 'paper'; expected the paper that it is cut from"),
        ("[A2]", "10:5: envelope: a list; expected keys with their values, such as {paper: cream}"),
        ("4 x 5", "10:15: envelope: 5 x 4 in for a card of 4 x 5 1/2 in with its layers"),
    ],
)  # fmt: skip
def test_a_wrong_envelope_is_told_with_its_place(tmp_path: Path, envelope: str, words: str) -> None:
    """One message, with what was read and what was expected."""
    with pytest.raises(InputError) as caught:
        read(tmp_path, envelope)
    (message,) = caught.value.messages
    assert words in message


def test_a_card_with_faults_still_shows_its_liner() -> None:
    """The page shows what of the card stands, its envelope with it."""
    text = FILE.replace("ENVELOPE", "A6").replace("reveal: 1/8}", "reveal: 9}", 1)
    standing = read_draft(text, "batch.yaml").standing_card("windfall")
    assert standing is not None
    (one,) = standing[0].cards
    assert [layer.name for layer in one.layers] == ["liner"]
    assert one.envelope is not None
    assert (one.envelope.width, one.envelope.height) == size_of("6 1/2 x 4 3/4")


def test_a_plan_with_envelopes_is_read_back(tmp_path: Path) -> None:
    """Score lines, folds and liners with it."""
    path = tmp_path / "plan.json"
    path.write_text(plan_to_json(made()), "utf-8")
    assert read_plan(path) == made()


def test_a_plan_without_envelopes_says_nothing_of_them() -> None:
    """It is written as it was before there were any."""
    plan = plan_to_json(solved(batch(card(envelope=None))))
    assert "envelope" not in plan
    assert "scores" not in plan


def test_bought_envelopes_are_listed_by_size() -> None:
    """One for each card and spare set, on the terminal, the summary, the shopping page and for programs."""
    words = "10 envelopes A2, 5 3/4 x 4 3/8 in, for windfall and blossom"
    plan = bought()
    assert list(envelopes_words(plan)) == [words]
    assert answer_line(plan) == "All 9 cards; to buy: 10 envelopes."
    needs = nesting.enough(plan.asked, Rounds(3))
    for pages in (nesting.draw_pdf(plan), nesting.draw_shopping(needs)):
        text = PdfReader(BytesIO(pages)).pages[0].extract_text()
        assert " ".join(words.split()) in " ".join(text.replace("\xa0", " ").split())
    listed = [
        {"width": inches("5 3/4"), "height": inches("4 3/8"), "count": 10,
         "cards": ("windfall", "blossom")},
    ]  # fmt: skip
    assert figures_json(plan)["envelopes"] == needs_json(needs)["envelopes"] == listed


def test_no_envelope_is_bought_for_a_card_that_is_not_made() -> None:
    """Six of eight cards come out of the last sheet: six envelopes, and six bases bought ready."""
    asked = batch(replace(card(base=None), make=8, spares=1))
    rare = replace(asked.papers[1], sheets=(Sheet(*SQUARE, have=1),), buy=False)
    plan = solved(replace(asked, papers=(rare,)))
    assert plan.cards[0].complete == 6
    assert (
        answer_line(plan)
        == "6 of 8 cards, 0 of 1 spare set; cream lacks 1 sheet; to buy: 6 envelopes."
    )
    assert list(envelopes_words(plan)) == ["6 envelopes A2, 5 3/4 x 4 3/8 in, for windfall"]
    lines = [line.replace("\xa0", " ") for line in said(plan, "windfall")]
    assert {"1 for each card; 6 needed", "1 on each card; 6 needed"} <= set(lines)


def test_made_envelopes_are_not_bought() -> None:
    """They are pieces like others."""
    assert list(envelopes_words(made())) == []
    assert figures_json(made())["envelopes"] == []
    assert "envelope" not in answer_line(made())


def test_a_recipe_says_how_an_envelope_is_made() -> None:
    """Where to score, what to cut away, what to fold and glue; where the liner folds."""
    lines = said(made(), "windfall")
    text = " ".join(lines).replace("\xa0", " ")
    for words in (
        "6 3/4 x 9 7/8",
        "makes A2, 5 3/4 x 4 3/8 in",
        "score 1/2 and 6 1/4 from the left, 3 5/16 and 7 11/16 from the bottom, on the outside",
        "cut away the corners: 1/2 x 3 5/16 at the bottom, 1/2 x 2 3/16 at the top, left and right",
        "fold in the side flaps, then the back, up from the bottom; glue it to the side flaps",
        "the top is the flap; flaps by common practice, no source",
        "1/8 from the left, at the bottom edge; on the envelope's inside",
        "folds with the flap, 4 3/8 from its own bottom edge",
        "1 for each card; 4 cut",
        "In the envelope, its flap open",
    ):
        assert words in text
    assert [line for line in lines if line in ("back", "front", "flap")].count("flap") == 1


def test_only_what_crosses_the_flap_s_fold_straight_folds_with_it() -> None:
    """A strip aslant over the liner has no edge to measure from, a low one does not reach the flap."""
    strip = Layer(
        "strip", "cream", over="liner", height=inches("1"), where="envelope", angle=30_000
    )
    low = replace(strip, name="low", over="envelope", angle=0, at=At(bottom=0))
    lined = card("4 1/4 x 5 1/2", MAT, LINER, strip, low, envelope=Envelope(paper="kraft"))
    text = " ".join(said(solved(batch(lined)), "windfall"))
    assert text.count("folds with the flap") == 1


def test_a_recipe_says_that_an_envelope_is_larger_for_a_thick_card() -> None:
    """Five layers on a folded base are seven papers; the envelope's own layers do not count."""
    five = [replace(MAT, name=f"layer {number}") for number in range(5)]
    for sent_in in (Envelope(), Envelope(paper="kraft")):
        text = " ".join(
            said(solved(batch(card("4 x 5 1/2", *five, LINER, envelope=sent_in))), "windfall")
        )
        assert "with room for a thick card: 7 papers above one another" in text.replace("\xa0", " ")
    assert "thick" not in " ".join(said(bought(), "windfall"))


def test_a_recipe_says_which_envelope_is_bought() -> None:
    """Its name, its size and how many are needed."""
    lines = [line.replace("\xa0", " ") for line in said(bought(), "blossom")]
    assert "A2, 5 3/4 x 4 3/8 in" in lines
    assert "1 for each card; 6 needed" in lines


def test_a_layout_and_its_cut_file_have_the_score_lines() -> None:
    """Four lines from edge to edge of the blank, in a group of their own, and words for them."""
    plan = made()
    layout = next(one for one in plan.layouts if one.paper == "kraft")
    words = dict(count_words(Subject(plan, layout, back_up=False)))
    letter = next(piece.letter for piece in plan.pieces if piece.scores)
    said_of = "; score 1/2 and 6 1/4 from the left, 3 5/16 and 7 11/16 from the bottom"
    assert said_of in words[letter].replace("\xa0", " ")
    read = read_exactly(nesting.cut_file(layout, plan))
    lengths = sorted(abs(a[0] - b[0]) + abs(a[1] - b[1]) for a, b in read.open_["score-lines"])
    assert lengths == sorted([inches("6 3/4"), inches("6 3/4"), inches("9 7/8"), inches("9 7/8")])


def test_the_card_pictures_show_the_lined_envelope() -> None:
    """A side of its own where something lies in it, and none where not."""
    lined = nesting.draw_card(made(), "windfall", "svg").decode()
    plain = nesting.draw_card(bought(), "windfall", "svg").decode()
    assert "In the envelope, its flap open" in lined
    assert "envelope" not in plain
