"""Variants of a batch file: read with the keys of the batch file, every fault with its place."""

from pathlib import Path

import pytest
from project import SAMPLES

from nesting.batch import Batch
from nesting.files import InputError, read_batch, read_variants, read_vary
from nesting.papers import Edges
from nesting.typed_lengths import parse_length, parse_size

SUPPER = """\
batch: Orchard supper
unit: in
trimmer: {kind: sliding, longest cut: 15}
papers:
  pear toss: {sheet: 12 x 12, have: 3, front: four-way, back: {print: one-way, up: top}}
  brick cardstock: {sheets: [{size: 8 1/2 x 11, have: 6}]}
cards:
  windfall supper:
    make: 8
    size: 4 1/4 x 5 1/2
    layers:
      - {name: mat, paper: brick cardstock, reveal: 1/8}
      - {name: band, paper: pear toss, face: back, height: 1 1/4, at: {bottom: 1}}
  honey thanks:
    make: 6
    size: 4 x 4
    layers:
      - {paper: brick cardstock, size: 3 x 3}
pieces:
  - {name: tag, size: 2 x 3, paper: brick cardstock, count: 12}
"""


@pytest.fixture
def supper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A batch file in an empty folder."""
    monkeypatch.chdir(tmp_path)
    Path("supper.yaml").write_text(SUPPER)
    return "supper.yaml"


def of_file(text: str, batch: str) -> dict[str, Batch]:
    """The variants of a file with that text."""
    Path("variants.yaml").write_text(text)
    return {one.name: one.batch for one in read_variants("variants.yaml", batch)}


def of_line(text: str, batch: str) -> Batch:
    """The variant of one line."""
    (read,) = read_vary((text,), batch)
    return read.batch


def even(text: str) -> Edges:
    """The same reveal all round, in inches."""
    return Edges(*4 * [parse_length(text, "in")])


def test_a_file_of_variants(supper: str) -> None:
    """Only what is written is changed, and the variants keep their order."""
    found = of_file(
        """\
variants:
  thin mats:
    cards: {windfall supper: {layers: {mat: {reveal: 1/16}}}}
  wider trimmer: {trimmer: {longest cut: 18}, prefer: big-offcut, spares: 1}
  another: {file: other.yaml}
"""
        if Path("other.yaml").write_text(SUPPER.replace("make: 8", "make: 9"))
        else "",
        supper,
    )
    assert list(found) == ["thin mats", "wider trimmer", "another"]
    base = read_batch(supper)
    assert found["thin mats"].cards[0].layers[0].reveal == even("1/16")
    assert found["thin mats"].cards[1:] == base.cards[1:]
    assert found["wider trimmer"].trimmer.longest_cut == parse_length("18", "in")
    assert found["wider trimmer"].trimmer.kind == "sliding"
    assert found["wider trimmer"].prefer == "big-offcut"
    assert found["another"].cards[0].make == 9


@pytest.mark.parametrize(
    ("text", "same_as"),
    [
        ("windfall supper / mat / reveal = 1/16", "cards / windfall supper / layers / mat / reveal = 1/16"),
        ("every card / make = 3", "windfall supper / make = 3; honey thanks / make = 3"),
        ("every card / mat / reveal = 1/4", "windfall supper / mat / reveal = 1/4"),
        ("honey thanks / layer 1 / size = 2 x 2", "honey thanks / layer 1 / size = 2 × 2 in"),
        ("tag / count = 3", "pieces / tag / count = 3"),
        ("fewer tags: tag / count = 3", "tag/count = 3".replace("/", " / ")),
        ("pear toss / have = 9", "papers / pear toss / have = 9"),
        ("windfall supper / mat / reveal = {left: 1/8, right: 1/8, top: 1/8, bottom: 1/8}", "spares = 0"),
    ],
)  # fmt: skip
def test_short_and_long_ways_to_say_the_same(supper: str, text: str, same_as: str) -> None:
    """Sections may be left out, and ``every`` stands for each that has what is changed."""
    assert of_line(text, supper) == of_line(same_as, supper)


def test_a_size_of_another_kind_takes_the_place_of_the_first(supper: str) -> None:
    """A height becomes a reveal or a circle, sheets become a sheet: the keys in the way go."""
    band = of_line("windfall supper / band / reveal = 1/2", supper).cards[0].layers[1]
    assert (band.reveal, band.height, band.at) == (even("1/2"), None, None)
    moon = of_line("windfall supper / band / circle = 2", supper).cards[0].layers[1]
    assert (moon.circle, moon.height) == (parse_length("2", "in"), None)
    tag = of_line("tag / circle = 2", supper).pieces[0]
    assert (tag.circle, tag.width) == (parse_length("2", "in"), None)
    paper = of_line("brick cardstock / sheet = 12 x 12; brick cardstock / have = 2", supper)
    (sheet,) = paper.paper("brick cardstock").sheets
    assert ((sheet.width, sheet.height), sheet.have) == (parse_size("12 x 12", "in"), 2)


def test_names_of_variants_of_one_line(supper: str) -> None:
    """A name stands before a colon; without one the changes are the name."""
    read = read_vary(("thin: spares = 1", "spares = 2", "supper.yaml"), supper)
    assert [one.name for one in read] == ["thin", "spares = 2", "supper.yaml"]
    assert read[2].batch == read_batch(supper)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("windfall supper/make = 3", "'windfall supper/make'; expected a card, paper, piece or key of the batch file, and spaces round each /"),
        ("windfal supper / make = 3", "'windfal supper'; expected a card, paper, piece or key of the batch file; the nearest is 'windfall supper'"),
        ("windfall supper / mot / reveal = 1", "layer 'mot'; expected one of the layers; the nearest is 'mat'"),
        ("every card / mot / reveal = 1", "layer 'mot'; expected one of the layers; the nearest is 'mat'"),
        ("trimmer / longest kut = 3", "trimmer / longest kut: unknown key 'longest kut'; expected 'longest cut', the nearest of those known"),
        ("windfall supper / mat / reveal = 3", "cards / windfall supper / layers / mat / reveal: a reveal that leaves nothing of the layer; expected a reveal of less than half of what lies underneath"),
        ("windfall supper / mat / reveal = 1/16; windfall supper / mat / reveal / left = 1/8", "reveal / left beside another change of it; expected one of them"),
        ("windfall supper / mat / reveal / left = 1/8; windfall supper / mat / reveal = 1/16", "mat / reveal beside another change of it; expected one of them"),
        ("spares = 1; spares = 1", "spares beside another change of it; expected one of them"),
        ("spares = 1\nunit = mm", "several lines, or half a character; expected a text on one line"),
        ("spares\udcff = 1", "several lines, or half a character; expected a text on one line"),
        ("windfall supper = 3", "cards / windfall supper; expected the key that is changed, too, such as make or size"),
        ("make", "'make'; expected changes such as windfall / mat / reveal = 1/16, or a batch file"),
        ("tag / count = {a", "'tag / count = {a'"),
        ("windfall supper / make = -1", "cards / windfall supper / make: make: '-1'; expected a whole number, 1 or more"),
    ],
)  # fmt: skip
def test_a_line_that_will_not_do(supper: str, text: str, said: str) -> None:
    """One message, which begins with the line."""
    with pytest.raises(InputError) as raised:
        of_line(text, supper)
    (message,) = raised.value.messages
    assert message.startswith(f"--vary {text!r}")
    assert said in message


def test_every_fault_of_a_file_in_one_go(supper: str) -> None:
    """Each with line and column in the variants file, what was read and what would do."""
    with pytest.raises(InputError) as raised:
        of_file(
            """\
variants:
  a: {cards: {windfal supper: {make: 3}}}
  b:
    trimmer: {longest kut: 12}
  c:
    cards: {windfall supper: {layers: [{name: mat}]}}
  d: {papers: {pear toss: {sheet: 1 x 1}}}
  e: 3
  f: {file: nowhere.yaml}
  g: {file: supper.yaml, spares: 1}
  h: {cards: {honey thanks: 3}}
  " ": {spares: 1}
""",
            supper,
        )
    assert list(raised.value.messages) == [
        "variants.yaml:2:15: card 'windfal supper'; expected one of the cards; the nearest is 'windfall supper'",
        "variants.yaml:4:15: unknown key 'longest kut'; expected 'longest cut', the nearest of those known",
        "variants.yaml:6:31: layers: no names; expected the name of a layer and what is changed of it",
        "variants.yaml:7:3: cards / windfall supper / layers / band: band, 4 x 1 1/4 in; expected a piece that can be cut; this is larger than every sheet of its paper",
        "variants.yaml:8:6: e: no changes; expected changes, such as thin mats: {cards: {windfall: {layers: {mat: {reveal: 1/16}}}}}",
        "nowhere.yaml: no such file; expected a batch file",
        "variants.yaml:10:7: 'file' beside changes; expected one of them",
        "variants.yaml:11:29: honey thanks: no keys; expected what is changed of the card, such as {make: 7}",
        "variants.yaml:12:3: ' '; expected a name: text on one line",
    ]


def test_a_variant_without_a_name_is_called_by_its_changes(supper: str) -> None:
    """A colon with nothing before it names nothing."""
    assert [one.name for one in read_vary((": spares = 1",), supper)] == ["spares = 1"]


def test_a_batch_file_twice_has_one_name_twice(supper: str) -> None:
    """Two columns of one name cannot be told apart, those of batch files neither."""
    with pytest.raises(InputError, match=": the name of two variants"):
        read_vary(("supper.yaml", "supper.yaml"), supper)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("variant: {a: {spares: 1}}", "variants.yaml:1:1: unknown key 'variant'; expected 'variants', the nearest of those known"),
        ("variants: {}", "variants.yaml:1:1: no variants; expected variants: with "),
        ("- a", "variants.yaml:1:1: no variants; expected variants: with "),
        ("batch: a\nunit: in", "variants.yaml:1:1: no variants; expected variants: with "),
        ("variants:\n  a: {spares: 1}\n  a: {spares: 2}", "variants.yaml:3:3: key 'a' a second time, after line 2; expected each key once"),
    ],
)  # fmt: skip
def test_a_file_that_is_none_of_variants(supper: str, text: str, said: str) -> None:
    """What is wrong is said once, with its place."""
    with pytest.raises(InputError) as raised:
        of_file(text, supper)
    (message,) = raised.value.messages
    assert message.startswith(said)


def test_a_fault_of_the_batch_file_comes_first(supper: str) -> None:
    """What is wrong with the batch itself is said of the batch, once."""
    Path(supper).write_text(SUPPER.replace("make: 8", "make: none"))
    with pytest.raises(InputError, match=r"^supper\.yaml:9:") as raised:
        read_vary(("spares = 1", "spares = 2"), supper)
    assert len(raised.value.messages) == 1


def test_the_sample_of_variants_is_read() -> None:
    """Each of the sample's variants is another batch than the one it is of."""
    batch = SAMPLES / "orchard-short.yaml"
    found = read_variants(SAMPLES / "variants" / "orchard-short.yaml", batch)
    assert len({read_batch(batch), *(one.batch for one in found)}) == len(found) + 1 == 9


def test_two_variants_have_two_names(tmp_path: Path) -> None:
    """The columns of the table are told apart by their names."""
    batch = tmp_path / "supper.yaml"
    batch.write_text(
        Path("samples/orchard-short.yaml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    texts = ("a: windfall supper / make = 7", "a: windfall supper / make = 6")
    with pytest.raises(InputError, match="the name of two variants; expected a name of its own"):
        read_vary(texts, batch)
    assert [one.name for one in read_vary((texts[0], "b" + texts[1][1:]), batch)] == ["a", "b"]
