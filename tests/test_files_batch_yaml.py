"""Batch files: what is read, and what is said about what cannot be."""

from pathlib import Path

import pytest
from plans import inches
from project import SAMPLE_BATCHES

from nesting.batch import At, Base, Batch
from nesting.files import InputError, read_batch, read_batch_with_warnings, read_papers
from nesting.files.batch_models import Keys
from nesting.files.batch_shape import EXAMPLES, find_shape_faults, read_keys
from nesting.files.yaml_source import parse_yaml
from nesting.papers import Edges, Face, Sheet
from nesting.typed_lengths import parse_length, parse_size

HEAD = """\
batch: Orchard supper
unit: in
papers:
  cream: {sheet: 12 x 12, have: plenty}
  two faces: {sheet: 12 x 12, have: 3, front: four-way, back: one-way}
"""
TAG = "pieces: [{name: tag, size: 2 x 3, paper: cream, count: 12}]\n"
CARD = """\
cards:
  windfall:
    make: 8
    size: 4 x 5
    layers:
      - paper: cream
        reveal: 1/8
        name: mat
"""


def read(tmp_path: Path, text: str) -> Batch:
    """The batch of a file with that text."""
    path = tmp_path / "batch.yaml"
    path.write_text(text, encoding="utf-8")
    return read_batch(path)


def faults(tmp_path: Path, text: str | bytes) -> list[str]:
    """What is said of a file that cannot be used, without the folder."""
    path = tmp_path / "batch.yaml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(InputError) as caught:
        read_batch(path)
    return [message.removeprefix(f"{tmp_path}/") for message in caught.value.messages]


def card_with(layer: str) -> str:
    """A file whose one card has one more layer, in line 12."""
    return (
        f"{HEAD}cards:\n  windfall:\n    make: 8\n    size: 4 x 5\n    layers:\n"
        f"      - {{name: mat, paper: cream, reveal: 1/8}}\n      - {layer}\n"
    )


@pytest.mark.parametrize("path", SAMPLE_BATCHES, ids=lambda path: path.stem)
def test_the_samples_are_read(path: Path) -> None:
    """Every sample file is free of faults and of warnings."""
    batch, warnings = read_batch_with_warnings(path)
    assert batch.cards
    assert not warnings


def test_everything_is_read(tmp_path: Path) -> None:
    """Each key of the file reaches its field, in nm."""
    batch = read(
        tmp_path,
        """\
batch: Orchard supper
unit: in
spares: 1
lap: 0
prefer: big-offcut
keep from: 1 x 3
trimmer: {kind: knife, marks: 1/8, longest cut: 13, narrowest hold: 1, cut width: 0.5 mm,
          can stop: yes, stack: 2, hand: left, repeat: descending marks}
papers:
  pear toss:
    sheets:
      - {size: 12 x 11, have: 3, price: 0.95}
      - {size: 30,5 x 20 mm, have: plenty, offcut: true, strip: Top}
    buy: no
    grain: short
    front: {print: one-way, up: left}
    back: Four-way
    barcode strip: {edge: left, width: 5/8, beyond the sheet: false, back usable: true}
    edge trim: {left: 1/8, top: 0}
cards:
  windfall:
    make: 8
    size: 4¼ × 5½
    base: {paper: pear toss, face: back, fold: top}
    layers:
      - {paper: pear toss, face: front, reveal: {left: 1/4, top: 0}, turn: must}
      - {name: moon, paper: pear toss, face: back, over: layer 1, circle: 1, each: 2,
         at: {centre: 0 x 2}, where: outside, die allowance: 1/8, wrap: 0}
      - {name: band, paper: pear toss, face: back, size: 1 x 2, at: {left: 0, top: 1}}
  market:
    make: 2
    size: 4 x 4
    spares: 0
    layers: [{name: inner, paper: pear toss, face: back, width: 1, where: inside}]
pieces:
  - {circle: 2, paper: pear toss, face: back, turn: may, count: 1, die allowance: 1/16}
""".replace("30,5 x 20 mm", '"30,5 x 20 mm"'),
    )
    trimmer, (paper,), (card, market), (piece,) = (
        batch.trimmer, batch.papers, batch.cards, batch.pieces,
    )  # fmt: skip
    assert (batch.spares, batch.lap, batch.prefer) == (1, 0, "big-offcut")
    assert batch.keep_from == (parse_size("1 x 3", "in"),)
    assert (trimmer.kind, trimmer.marks, trimmer.longest_cut) == (
        "knife",
        inches("1/8"),
        inches("13"),
    )
    assert (trimmer.narrowest_hold, trimmer.cut_width) == (inches("1"), 500_000)
    assert (trimmer.can_stop, trimmer.stack, trimmer.hand) == (True, 2, "left")
    assert trimmer.repeat == "descending marks"
    assert paper.sheets == (
        Sheet(inches("12"), inches("11"), have=3, price=95),
        Sheet(30_500_000, 20_000_000, have=None, offcut=True, strip="top"),
    )
    assert (paper.buy, paper.grain) == (False, "short")
    assert (paper.front, paper.back) == (Face("one-way", "left"), Face("four-way"))
    strip = paper.barcode_strip
    assert strip is not None
    assert (strip.edge, strip.width) == ("left", inches("5/8"))
    assert (strip.beyond_the_sheet, strip.back_usable) == (False, True)
    assert paper.edge_trim == Edges(left=inches("1/8"))
    assert (card.make, card.spares, market.spares) == (8, 1, 0)
    assert (card.width, card.height) == (inches("4 1/4"), inches("5 1/2"))
    assert card.base == Base("pear toss", "back", "top")
    first, moon, band = card.layers
    assert (first.name, first.turn, first.over) == ("layer 1", "must", "card")
    assert first.reveal == Edges(left=inches("1/4"))
    assert (moon.circle, moon.each, moon.die_allowance) == (inches("1"), 2, inches("1/8"))
    assert moon.at == At(centre=(0, inches("2")))
    assert (band.width, band.height, band.over) == (inches("1"), inches("2"), "moon")
    assert band.at == At(left=0, top=inches("1"))
    assert (market.layers[0].width, market.layers[0].height) == (inches("1"), None)
    assert market.layers[0].where == "inside"
    assert (piece.name, piece.circle, piece.turn) == ("piece 1", inches("2"), "may")
    assert piece.die_allowance == inches("1/16")


@pytest.mark.parametrize(
    ("unit", "marks", "hold", "lap", "keep"),
    [
        ("in", "1/16 in", "1/2 in", "1/4 in", ("1/2 x 4 in", "2 x 2 in")),
        ("mm", "1 mm", "12 mm", "6 mm", ("12 x 100 mm", "50 x 50 mm")),
        ("cm", "1 mm", "12 mm", "6 mm", ("12 x 100 mm", "50 x 50 mm")),
    ],
)
def test_defaults_go_with_the_unit(
    tmp_path: Path, unit: str, marks: str, hold: str, lap: str, keep: tuple[str, ...]
) -> None:
    """What is not written is a round number in the file's unit, also beside what is."""
    text = (HEAD + TAG).replace("unit: in", f"unit: {unit}\ntrimmer: {{kind: rotary}}")
    batch = read(tmp_path, text)
    assert batch.trimmer.kind == "rotary"
    assert batch.trimmer.marks == parse_length(marks, "in")
    assert batch.trimmer.narrowest_hold == parse_length(hold, "in")
    assert batch.lap == parse_length(lap, "in")
    assert batch.keep_from == tuple(parse_size(size, "in") for size in keep)
    plain = read(tmp_path, text.replace("trimmer: {kind: rotary}", ""))
    assert plain.trimmer.marks == parse_length(marks, "in")


def test_numbers_are_never_floats(tmp_path: Path) -> None:
    """A length and a price are taken from their source text, so 0.1 and 4.10 are exact."""
    text = HEAD.replace("12 x 12, have: plenty", "12 x 12, have: 3, price: 4.10")
    batch = read(tmp_path, text + "pieces: [{size: 0.1 x 4.10 in, paper: cream, count: 1}]")
    assert batch.papers[0].sheets[0].price == 410
    assert (batch.pieces[0].width, batch.pieces[0].height) == (2_540_000, 104_140_000)


@pytest.mark.parametrize(
    "name",
    ["yes", "2024", "1e3", "2024-12-01", "null", "~", "1:30", "0o17", "017", "4.10", ".5", "on"],
)
def test_a_name_is_what_was_written(tmp_path: Path, name: str) -> None:
    """Names that YAML takes for booleans, numbers, dates or nothing stay as they are written."""
    text = f"batch: {name}\nunit: in\npapers:\n  {name}: {{sheet: 9 x 9, have: 1}}\n"
    batch = read(
        tmp_path, f"{text}pieces: [{{name: {name}, size: 1 x 1, paper: {name}, count: 2}}]"
    )
    assert (
        batch.name == batch.papers[0].name == batch.pieces[0].name == batch.pieces[0].paper == name
    )


@pytest.mark.parametrize(
    ("word", "value"), [("true", True), ("No", False), ("FALSE", False), ("yes", True)]
)
def test_yes_and_no(tmp_path: Path, word: str, value: bool) -> None:
    """Four words say yes or no."""
    batch = read(tmp_path, HEAD.replace("have: plenty", f"have: 1, buy: {word}") + TAG)
    assert batch.papers[0].buy is value


@pytest.mark.parametrize(
    "number", ["1:30", "1e3", "0x10", "1_000", "3.0", "-1", "three", "9999999999"]
)
def test_a_count_is_written_in_digits(tmp_path: Path, number: str) -> None:
    """What YAML would make a number of is not one here, unless it is plain digits."""
    (message,) = faults(tmp_path, HEAD.replace("plenty", number) + TAG)
    assert message.startswith(f"batch.yaml:4:33: have: {number!r}; expected ")


def test_a_fault_names_place_read_and_expected(tmp_path: Path) -> None:
    """A message leads to line and column and says what would do."""
    assert faults(tmp_path, HEAD + TAG.replace("2 x 3", "2 on 3")) == [
        (
            "batch.yaml:6:28: size: '2 on 3'; expected a size, width first, such as 4 1/4 x 5 1/2, "
            "105 x 148 mm, A4 or letter"
        )
    ]


def test_all_faults_come_in_one_go(tmp_path: Path) -> None:
    """Faults of shape and of sense come together, in the order of the file, without echoes."""
    text = """\
batch: Orchard supper
unit: in
papers:
  cream: {sheet: 12 x 12, have: some}
  brick: {sheet: 12 x 12, have: 3}
cards:
  first: {make: 3, size: 4 x 4, layers: [{paper: cream, size: 40 x 40}]}
  second: {make: 3, size: 4 x 4, layers: [{paper: brik, reveal: 1/8}]}
  third: {make: no, size: 4 x 4, layers: [{paper: brikk, reveal: 1/8}]}
pieces:
  - {size: 2 x, paper: brick, count: 1}
  - {size: 20 x 2, paper: brick, count: 1}
"""
    messages = faults(tmp_path, text)
    assert [message.split(";")[0] for message in messages] == [
        "batch.yaml:4:33: have: 'some'",
        "batch.yaml:8:51: paper 'brik'",
        "batch.yaml:9:17: make: 'no'",
        "batch.yaml:9:51: paper 'brikk'",
        "batch.yaml:11:12: size: '2 x'",
        "batch.yaml:12:5: piece 2, 20 x 2 in",
    ]


def test_a_faulty_trimmer_or_unit_brings_no_echoes(tmp_path: Path) -> None:
    """What depends on a value that cannot be read is not held against it."""
    trimmer = HEAD + "trimmer: {longest cut: short}\n" + TAG
    assert len(faults(tmp_path, trimmer)) == 1
    assert faults(tmp_path, (HEAD + TAG).replace("unit: in", "unit: ell")) == [
        "batch.yaml:2:7: unit: 'ell'; expected in, mm or cm"
    ]


def test_the_unit_has_to_be_said(tmp_path: Path) -> None:
    """A guessed unit ruins paper."""
    assert faults(tmp_path, (HEAD + TAG).replace("unit: in\n", "")) == [
        "batch.yaml:1:1: no 'unit'; expected unit: in, mm or cm"
    ]


def test_how_many_sheets_has_to_be_said(tmp_path: Path) -> None:
    """Plenty is never assumed; the message leads to the paper."""
    assert faults(tmp_path, HEAD.replace(", have: plenty", "") + TAG) == [
        "batch.yaml:4:3: no 'have' in 'cream'; expected have: the number of sheets at hand, plenty, or stash"
    ]
    assert faults(tmp_path, HEAD.replace("plenty", "lots") + TAG) == [
        "batch.yaml:4:33: have: 'lots'; expected the number of sheets at hand, plenty, or stash"
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HEAD.replace("have: 3", "hvae: 3, have: 3") + TAG, "5:31: unknown key 'hvae'; expected 'have', the nearest of those known"),
        ((HEAD + TAG).replace("batch:", "name:"), "1:1: unknown key 'name'; expected 'batch', the nearest of those known"),
        (HEAD + TAG + "Spare: 1\n", "7:1: unknown key 'Spare'; expected 'spares', the nearest of those known"),
        (card_with("{paper: cream, reveal: 1/8, at: {middle: 3}}"), "12:37: 'at' beside 'reveal'; expected one of them: a reveal is a place, too"),
        (card_with("{paper: cream, size: 1 x 1, at: {zzz: 3}}"), "12:42: unknown key 'zzz'; expected left, right, top, bottom or centre"),
    ],
)  # fmt: skip
def test_an_unknown_key_names_the_nearest(tmp_path: Path, text: str, message: str) -> None:
    """A slip of the pen is met with the key that was meant."""
    assert f"batch.yaml:{message}" in faults(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HEAD.replace("sheet: 12 x 12, have: p", "sheat: 12 x 12, hav: p") + TAG, ["4:11: unknown key 'sheat'", "4:27: unknown key 'hav'"]),
        ((HEAD + TAG).replace("unit:", "units:"), ["2:1: unknown key 'units'"]),
        ((HEAD + TAG).replace("pieces:", "peices:"), ["6:1: unknown key 'peices'"]),
        (HEAD + TAG.replace("size:", "szie:"), ["6:22: unknown key 'szie'"]),
        (HEAD + TAG.replace("pieces:", "Pieces:").replace("size:", "Size:"), ["6:1: unknown key 'Pieces'"]),
        (card_with("{paper: cream, reveel: 1/8}"), ["12:24: unknown key 'reveel'"]),
        (card_with("{papir: cream, reveal: 1/8}"), ["12:10: unknown key 'papir'"]),
        (card_with("{paper: cream, reveal 1/8}"), ["12:24: 'reveal 1/8' without a value"]),
        (card_with("{paper: cream, zzz: 1/8}"), ["12:9: nothing that says how large it is", "12:24: unknown key 'zzz'"]),
        (HEAD + "cards:\n  windfall:\n    make: 1\n    size: 1 x 1\n    layrs: [{paper: cream, reveal: 0}]\n", ["10:5: unknown key 'layrs'"]),
    ],
)  # fmt: skip
def test_a_misspelt_key_is_not_missed_as_well(
    tmp_path: Path, text: str, message: list[str]
) -> None:
    """One slip is one message; what stands under no known name is still missed."""
    told = [one.split(";")[0] for one in faults(tmp_path, text)]
    assert told == [f"batch.yaml:{one}" for one in message]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HEAD.replace("plenty", "1, barcode strip: 1/2") + TAG, "4:51: barcode strip: '1/2'; expected keys with their values, such as {edge: bottom, width: 1/2, beyond the sheet: true}"),
        (HEAD.replace("{sheet: 12 x 12, have: plenty}", "12 x 12") + TAG, "4:10: cream: '12 x 12'; expected keys with their values, such as {sheet: 12 x 12, have: 3}"),
        (HEAD + "cards: 8\n", "6:8: cards: '8'; expected keys with their values, such as windfall: {make: 8, size: 4 1/4 x 5 1/2, base: {paper: cream}}"),
        (HEAD + "pieces: [tag]\n", "6:10: pieces: 'tag'; expected keys with their values, such as {name: tag, size: 2 x 3 1/2, paper: cream, count: 12}"),
        (HEAD + TAG + "trimmer: sliding\n", "7:10: trimmer: 'sliding'; expected keys with their values, such as {kind: sliding, longest cut: 12 1/2}"),
        (card_with("{paper: cream, circle: 1, at: left}"), "12:39: at: 'left'; expected keys with their values, such as {left: 1, bottom: 1/2}"),
    ],
)  # fmt: skip
def test_a_value_in_place_of_keys_is_met_with_an_example(
    tmp_path: Path, text: str, message: str
) -> None:
    """Who writes one value where several are needed sees what they look like."""
    assert faults(tmp_path, text) == [f"batch.yaml:{message}"]


@pytest.mark.parametrize("kind", EXAMPLES, ids=lambda kind: kind.__name__)
def test_every_example_is_read(kind: type[Keys]) -> None:
    """What the messages show can be written as it stands."""
    example = parse_yaml(EXAMPLES[kind], "example").data
    assert isinstance(example, dict)
    assert read_keys(kind, example, "in").model_fields_set
    assert not list(find_shape_faults(kind, example, "in"))


@pytest.mark.parametrize(
    ("layer", "expected"),
    [
        ("{paper: cream, reveal: -1/8}", "a length of zero or more"),
        ("{paper: cream, circle: -1}", "a length of more than zero"),
        ("{paper: cream, circle: 0}", "a length of more than zero"),
        ("{paper: cream, size: 4 x -1}", "two lengths of more than zero"),
        ("{paper: cream, circle: 1, at: {centre: -1 x 0}}", "two lengths of zero or more"),
        (
            "{paper: cream, reveal: 1/3}",
            "a length that a ruler shows exactly, such as 21/64 in (the nearest 64th)",
        ),
    ],
)
def test_a_length_that_will_not_do_says_which_will(
    tmp_path: Path, layer: str, expected: str
) -> None:
    """Whether zero will do is said as the key needs it."""
    (message,) = faults(tmp_path, card_with(layer))
    assert message.endswith(f"; expected {expected}")


@pytest.mark.parametrize(
    ("layer", "column", "read"),
    [
        ("{paper: cream}", 9, "nothing that says how large it is"),
        ("{paper: cream, reveal: 1, circle: 2}", 35, "'circle' beside 'reveal'"),
        ("{paper: cream, size: 1 x 1, width: 2}", 37, "'width' beside 'size'"),
        ("{paper: cream, circle: 1, at: {left: 1, right: 1}}", 49, "'right' beside 'left'"),
        ("{paper: cream, circle: 1, at: {top: 1, bottom: 1}}", 48, "'bottom' beside 'top'"),
        ("{paper: cream, circle: 1, at: {centre: 1 x 1, top: 1}}", 40, "'centre' beside an edge"),
        ("{paper: cream, circle: 1, at: {center: 1 x 1}}", 40, "unknown key 'center'"),
        ("{paper: cream, circle: 0}", 32, "circle: '0'"),
        ("{paper: cream, reveal: {left: -1}}", 39, "left: '-1'"),
        ("{paper: cream, reveal: wide}", 32, "reveal: 'wide'"),
        ("{paper: cream, circle: 11 m}", 32, "circle: '11 m'"),
        ("{paper: cream, circle: 12000 cm}", 32, "circle: '12000 cm'"),
        ("{circle: 1}", 9, "no 'paper'"),
        ("{paper: cream, circle: 1, each: 0}", 41, "each: '0'"),
        ("{paper: cream, circle: 1, turn: maybe}", 41, "turn: 'maybe'"),
        ("{paper: crem, circle: 1}", 17, "paper 'crem'"),
        ("{paper: two faces, circle: 1}", 9, "no face, and 'two faces' is printed on both"),
        ("{paper: cream, circle: 1, over: hat}", 41, "over: 'hat'"),
        ("round", 9, "layers: 'round'"),
    ],
)  # fmt: skip
def test_layer_faults(tmp_path: Path, layer: str, column: int, read: str) -> None:
    """Each thing that a layer can get wrong is one message at its place."""
    (message,) = faults(tmp_path, card_with(layer))
    assert message.startswith(f"batch.yaml:12:{column}: {read}; expected ")


@pytest.mark.parametrize(
    ("paper", "read"),
    [
        ("{have: 3}", "no 'sheet' in 'cream'"),
        ("{sheet: 3 x 3, have: 1, sheets: [{size: 3 x 3, have: 1}]}", "'sheet' beside 'sheets'"),
        ("{have: 1, sheets: [{size: 3 x 3, have: 1}]}", "'have' beside 'sheets'"),
        ("{sheets: []}", "sheets: an empty list"),
        ("{sheets: 3 x 3}", "sheets: '3 x 3'"),
        ("{sheets: [{size: 9 x 9, have: 1, offcut: true, price: 1}]}", "a price of an offcut"),
        ("{sheet: 9 x 9, have: 1, price: 1.234}", "price: '1.234'"),
        ("{sheet: 9 x 9, have: 1, price: [1, 2]}", "price: a list"),
        ("{sheet: 9 x 9, have: 1, buy: perhaps}", "buy: 'perhaps'"),
        ("{sheet: 9 x 9, have: 1, front: tossed}", "front: 'tossed'"),
        (
            "{sheet: 9 x 9, have: 1, barcode strip: {edge: top, width: 1}}",
            "no 'beyond the sheet' in 'barcode strip'",
        ),
        ("{sheet: 9 x 9, have: 1, back: {up: top}}", "no 'print' in 'back'"),
        ("{sheet: 9 x 9, have: 1, barcode strip: {edge: top}}", "no 'width' in 'barcode strip'"),
        ("{sheet: {wide: 9}, have: 1}", "sheet: several keys"),
        ("[1]", "cream: a list"),
    ],
)
def test_paper_faults(tmp_path: Path, paper: str, read: str) -> None:
    """Each thing that a paper can get wrong is one message in its line."""
    text = HEAD.replace("{sheet: 12 x 12, have: plenty}", paper) + TAG
    messages = faults(tmp_path, text)
    assert any(m.startswith("batch.yaml:4:") and f": {read}; expected " in m for m in messages)


@pytest.mark.parametrize("text", ["", "cards: {}\n", "pieces: []\n"])
def test_a_batch_of_nothing_is_refused(tmp_path: Path, text: str) -> None:
    """Papers alone are nothing to cut."""
    assert faults(tmp_path, HEAD + text) == [
        "batch.yaml:1:1: neither cards nor pieces; expected something to cut"
    ]


def test_a_card_of_nothing_is_refused(tmp_path: Path) -> None:
    """A card needs a base or layers."""
    (message,) = faults(tmp_path, HEAD + "cards: {windfall: {make: 1, size: 3 x 3}}\n")
    assert message == "batch.yaml:6:9: neither base nor layers; expected something to cut"


def test_papers_alone_can_be_read(tmp_path: Path) -> None:
    """For a list of pieces the papers of a file do, whatever is wrong with its cards."""
    path = tmp_path / "batch.yaml"
    path.write_text(HEAD + "cards: {windfall: {make: none, make: 1}}\n")
    batch = read_papers(path)
    assert [paper.name for paper in batch.papers] == ["cream", "two faces"]
    assert not batch.cards


def test_a_hash_that_cuts_a_value_short(tmp_path: Path) -> None:
    """A # that touches a word is most likely part of the name."""
    path = tmp_path / "batch.yaml"
    path.write_text(HEAD + "pieces:\n- size: 1 x 1\n  paper: cream #2\n  count: 1 # of each\n")
    batch, (warning,) = read_batch_with_warnings(path)
    assert batch.pieces[0].paper == "cream"
    assert warning.removeprefix(f"{tmp_path}/") == (
        "batch.yaml:8:10: 'cream' ends before '#2', which is read as a comment; put the whole value "
        "in quotes if the # belongs to it, or a space after the # if not"
    )


def test_a_hash_that_breaks_the_file(tmp_path: Path) -> None:
    """In braces the # swallows the closing one; the message says so."""
    (message,) = faults(tmp_path, HEAD + "pieces:\n  - {size: 1 x 1, paper: kraft #2, count: 1}\n")
    assert message == (
        "batch.yaml:8:1: more text after a value; expected a comma or a closing } for the bracket "
        "opened in line 7 (perhaps quotes around the value with a # in line 7)"
    )
    (message,) = faults(tmp_path, HEAD.replace("cream:", "kraft #2:") + TAG)
    assert message.startswith("batch.yaml:4:3: a line without a colon; expected a key and a colon")
    assert message.endswith("(perhaps quotes around the value with a # in line 4)")
    (message,) = faults(tmp_path, HEAD.replace("two faces:", "kraft #2:") + TAG)
    assert message.startswith(
        "batch.yaml:5:3: a line without a colon; expected a key and a colon with a space after it"
    )
    assert message.endswith("(perhaps quotes around the value with a # in line 5)")


def test_a_hash_in_quotes_is_a_name(tmp_path: Path) -> None:
    """Quotes keep the whole name."""
    text = HEAD.replace("cream:", '"kraft #2":') + TAG.replace("cream", "'kraft #2'")
    assert read(tmp_path, text).pieces[0].paper == "kraft #2"


def test_a_hash_is_told_of_beside_what_it_broke(tmp_path: Path) -> None:
    """A name cut short by # is no paper: the fault and the reason are both said."""
    text = HEAD + "pieces:\n  - {name: tag, size: 2 x 3, count: 1, paper: kraft#2}\n"
    told = faults(tmp_path, text.replace("kraft#2}", "kraft #2\n    }") + "prefer: luck\n")
    assert [message.split(";")[0] for message in told] == [
        "batch.yaml:7:47: 'kraft' ends before '#2', which is read as a comment",
        "batch.yaml:7:47: paper 'kraft'",
        "batch.yaml:9:9: prefer: 'luck'",
    ]


def test_curly_quotes_are_told_of(tmp_path: Path) -> None:
    """They belong to the text: what they were to hold together is no size, and a name has them."""
    told = faults(
        tmp_path, HEAD + TAG.replace("2 x 3", "“2 x 3”").replace("name: tag", "name: ‘tag’")
    )
    assert [message.split(";")[0] for message in told] == [
        "batch.yaml:6:17: ‘tag’: curly quotes are read as part of the text",
        "batch.yaml:6:30: size: '“2 x 3”'",
        "batch.yaml:6:30: “2 x 3”: curly quotes are read as part of the text",
    ]
    assert read(tmp_path, HEAD + TAG.replace("2 x 3", "2” x 3”")).pieces[0].width == inches("2")


def test_a_plan_is_no_batch(tmp_path: Path) -> None:
    """It is told in one line, not taken for YAML."""
    text = '{"format": "nesting-plan", "version": 1,\n "batch": "Orchard supper", "unit": "in"}\n'
    assert faults(tmp_path, text) == ["batch.yaml: a plan; expected a batch file"]


def test_a_decimal_comma_in_braces(tmp_path: Path) -> None:
    """A comma in braces parts keys; the message shows the quotes that keep it."""
    text = HEAD + "pieces: [{size: 3,5 x 20 cm, paper: cream, count: 1}]\n"
    assert faults(tmp_path, text) == [
        'batch.yaml:6:17: size: 3,5 x 20 cm, which its comma cuts up; expected quotes, size: "3,5 x 20 cm"'
    ]
    twice = HEAD + "pieces: [{size: 21,6 x 27,9, paper: cream, count: 1}]\n"
    assert faults(tmp_path, twice) == [
        'batch.yaml:6:17: size: 21,6 x 27,9, which its comma cuts up; expected quotes, size: "21,6 x 27,9"'
    ]
    between = HEAD + "pieces: [{size: 3 1/2, 20, paper: cream, count: 1}]\n"
    assert faults(tmp_path, between) == [
        "batch.yaml:6:17: size: 3 1/2,20, which its comma cuts up; expected size: 3 1/2 x 20"
    ]
    quoted = text.replace("3,5 x 20 cm", '"3,5 x 20 cm"')
    assert read(tmp_path, quoted).pieces[0].width == 35_000_000


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("spares:\n", "7:1: 'spares' without a value; expected a key, a colon, a space and a value (in quotes where it holds a comma or begins with #)"),
        ("cards:\n", "7:1: 'cards' without a value; expected a key, a colon, a space and a value (in quotes where it holds a comma or begins with #)"),
        ("prefer: #1\n", "7:1: 'prefer' without a value; expected a key, a colon, a space and a value (in quotes where it holds a comma or begins with #)"),
        ("keep from:\n  -\n", "8:4: an empty entry in a list; expected a value after the dash (in quotes where it begins with #)"),
    ],
)  # fmt: skip
def test_a_key_without_a_value(tmp_path: Path, text: str, message: str) -> None:
    """Nothing after a colon or a dash is one message, never a default."""
    assert faults(tmp_path, HEAD + TAG + text) == [f"batch.yaml:{message}"]


def test_a_key_twice_names_both_lines(tmp_path: Path) -> None:
    """The second would silently win otherwise."""
    assert faults(tmp_path, HEAD + TAG + "batch: Another\n") == [
        "batch.yaml:7:1: key 'batch' a second time, after line 1; expected each key once"
    ]


def test_papers_whose_names_differ_only_in_capitals(tmp_path: Path) -> None:
    """On a label nobody would tell them apart; with a letter more they are two papers."""
    two = "  Cream: {sheet: 6 x 6, have: 1}\npieces:"
    text = (HEAD + TAG).replace("pieces:", two)
    assert faults(tmp_path, text) == [
        "batch.yaml:6:3: paper 'Cream' beside 'cream'; expected a name that differs in more than capitals"
    ]
    assert len(read(tmp_path, text.replace("Cream", "Creams")).papers) == 3


def test_cards_whose_names_differ_only_in_capitals(tmp_path: Path) -> None:
    """The page refuses them, too: one of the two was to replace the other."""
    cards = "".join(
        f"  {name}: {{make: 1, size: 4 x 4, base: {{paper: cream}}}}\n" for name in ("Moon", "moon")
    )
    assert faults(tmp_path, f"{HEAD}cards:\n{cards}") == [
        "batch.yaml:8:3: card 'moon' beside 'Moon'; expected a name that differs in more than capitals"
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "1:1: an empty file; expected batch, unit, papers and so on"),
        ("# nothing yet\n", "1:1: an empty file; expected batch, unit, papers and so on"),
        ("- a\n", "1:1: the file: a list; expected keys with their values"),
        ("hello\n", "1:1: the file: 'hello'; expected keys with their values"),
        ("a: 1\n---\nb: 2\n", "2:1: a second document after ---; expected one batch in a file"),
        ("papers:\n\tcream: 1\n", "2:1: a tab; expected plain spaces"),
        ("a: !!python/object:os.system x\n", "1:4: a YAML tag, tag:yaml.org,2002:python/object:os.system; expected a value without a tag (in quotes where it begins with !)"),
        ("a: &x [*x]\n", "1:8: *x inside the value that it stands for; expected an end to it"),
        ("a: *x\n", "1:4: *x, which stands for nothing; expected &x at an earlier value (or quotes where the value begins with *)"),
        ("a: 'x\nb: 1\n", "1:4: a quote that is never closed; expected a closing quote"),
        ("a: 'it's'\n", "1:8: more text after the closing quote; expected a value wholly inside its quotes, '…' where it holds \", and \"…\" where it holds '"),
        ('a: "2" x 3"\n', "1:8: more text after the closing quote; expected a value wholly inside its quotes, '…' where it holds \", and \"…\" where it holds '"),
        ("a:\n  b: 1\n c: 2\n", "3:2: a line that is not lined up with the lines above; expected keys of one kind indented alike"),
        ("a: b: c\n", "1:5: a colon in the middle of a value; expected one key on a line, lined up with its neighbours, or quotes around a value with ': ' in it"),
        ("a: 1\n- b\n", "2:1: a dash where no list begins; expected each '- ' on a line of its own below its key, lined up with the others"),
        ("a: {b: c\nd: e\n", "2:2: more text after a value; expected a comma or a closing } for the bracket opened in line 1"),
        ("a: {b: 1}}\n", "1:10: a closing } without an opening one; expected as many closing as opening brackets"),
        ("a: {b: 1},\nc: 2\n", "1:10: a comma after a value; expected nothing after it"),
        ("a:\n  - {b: 1},\n  - {b: 2}\n", "2:11: a comma after a value; expected nothing after it"),
        ("a: @x\n", "1:4: a value that begins with @; expected quotes around a value that begins with @"),
        ("a: 1\nb\n", "2:1: a line without a colon; expected a key and a colon with a space after it"),
        ("a: x\x01\n", "1:5: a control character (U+0001); expected plain text"),
    ],
)  # fmt: skip
def test_what_is_no_batch_file(tmp_path: Path, text: str, message: str) -> None:
    """YAML's complaints come in plain words, with their place."""
    assert faults(tmp_path, text) == [f"batch.yaml:{message}"]


@pytest.mark.parametrize(
    ("right", "wrong", "place"),
    [
        ("make: 8", "make 8", "8:5"),
        ("make: 8", "make:8", "8:5"),
        ("make: 8", "make 8 # note: of each", "8:5"),
        ("make: 8", "make 8\n    # of each", "8:5"),
        ("size: 4 x 5", "size 4 x 5", "9:5"),
        ("windfall:", "windfall", "7:3"),
        ("- paper: cream", "- paper cream", "11:9"),
        ("reveal: 1/8", "reveal:1/8", "12:9"),
        ("batch: O", "batch O", "1:1"),
        ("unit: in", "unit in", "2:1"),
    ],
)
def test_the_line_that_lacks_its_colon_is_named(
    tmp_path: Path, right: str, wrong: str, place: str
) -> None:
    """The parser gives up a line later; the message leads to the slip."""
    text = HEAD + CARD
    assert read(tmp_path, text).cards
    only_space = wrong in ("make:8", "reveal:1/8")
    read_as = "a colon without a space after it" if only_space else "a line without a colon"
    assert faults(tmp_path, text.replace(right, wrong, 1)) == [
        f"batch.yaml:{place}: {read_as}; expected a key and a colon with a space after it"
    ]


@pytest.mark.parametrize(
    ("place", "right", "wrong"),
    [
        ("5:2", "  two faces", " \u00a0two faces"),
        ("8:10", "make: 8", "make:\u00a08"),
        ("11:8", "- paper", "-\u00a0paper"),
    ],
)
def test_a_blank_that_is_no_space_is_named(
    tmp_path: Path, place: str, right: str, wrong: str
) -> None:
    """Editors of letters put blanks that look like spaces before a line, after a dash or a colon."""
    text = HEAD + CARD
    assert faults(tmp_path, text.replace(right, wrong, 1)) == [
        f"batch.yaml:{place}: a blank that is no plain space (U+00A0); expected plain spaces"
    ]


def test_a_colon_without_a_space_in_braces(tmp_path: Path) -> None:
    """What YAML takes for a key without a value is a key and a value to whoever wrote it."""
    assert faults(tmp_path, HEAD + TAG.replace("count: 12", "count:12")) == [
        "batch.yaml:6:49: 'count:12', a colon without a space after it; expected 'count: 12'"
    ]


def test_a_size_in_curly_quotes_is_answered_by_a_size(tmp_path: Path) -> None:
    """What will not do as a size is told what would, not what a length is."""
    message, *_ = faults(tmp_path, HEAD + TAG.replace("2 x 3", "“2 x 3”"))
    assert message.endswith(
        "size: '“2 x 3”'; expected a size, width first, such as 4 1/4 x 5 1/2, 105 x 148 mm, A4 or letter"
    )


@pytest.mark.parametrize(
    ("layers", "message"),
    [
        ("- {paper: cream, reveal: 1}\n{paper: cream, reveal: 1}", "11:1: an entry of a list without its dash; expected '- ' before each entry"),
        ("{paper: cream, reveal: 1}\n{paper: cream, reveal: 1}", "11:1: an entry of a list without its dash; expected '- ' before each entry"),
        ("- paper: cream\n  reveal: 1\npaper: cream\nreveal: 1", "12:1: an entry of a list without its dash; expected '- ' before each entry"),
        ("paper: cream\n  reveal: 1", "11:3: a key below one that has its value; expected keys of one kind indented alike, '- ' before the first of each entry"),
        ("-{paper: cream, reveal: 1}", "10:2: a dash without a space; expected '- ' before the entry"),
    ],
)  # fmt: skip
def test_a_dash_that_is_missing_is_named(tmp_path: Path, layers: str, message: str) -> None:
    """Layers are a list: what each entry begins with is said where it is not there."""
    head = HEAD.replace("  two faces", "# two faces") + "cards:\n  c:\n    make: 8\n    layers:\n"
    text = head + "".join(f"      {line}\n" for line in layers.split("\n"))
    line, column, rest = message.split(":", 2)
    assert faults(tmp_path, text) == [f"batch.yaml:{line}:{int(column) + 6}:{rest}"]


def test_other_encodings_are_refused(tmp_path: Path) -> None:
    """The byte that is not UTF-8 is shown with its place."""
    text = (HEAD + TAG).replace("supper", "café").encode("latin-1")
    assert faults(tmp_path, text) == [
        "batch.yaml:1:19: a byte that is not UTF-8 (0xE9); expected a batch file saved as UTF-8 text"
    ]


def test_a_byte_order_mark_is_nothing(tmp_path: Path) -> None:
    """Neither the data nor the columns know of it."""
    path = tmp_path / "batch.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + TAG).encode())
    assert read_batch(path).name == "Orchard supper"
    text = b"\xef\xbb\xbf" + (HEAD + TAG).replace("batch:", "btch:").encode()
    assert faults(tmp_path, text)[0].startswith("batch.yaml:1:1: ")


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    """A missing file and a folder are faults like any other."""
    with pytest.raises(InputError, match=r"lost\.yaml: no such file; expected a batch file"):
        read_batch(tmp_path / "lost.yaml")
    with pytest.raises(InputError, match="cannot be read"):
        read_batch(tmp_path)


def test_anchors_are_fine(tmp_path: Path) -> None:
    """A value may stand for another; a fault in it is told once, where it is written."""
    text = (
        "batch: Orchard supper\nunit: in\npapers:\n  cream: &a {sheet: 9 x 9, have: 1}\n"
        "  brick: *a\npieces: [{size: 1 x 1, paper: brick, count: 1}]\n"
    )
    assert read(tmp_path, text).papers[1].sheets == (Sheet(inches("9"), inches("9"), have=1),)
    (message,) = faults(tmp_path, text.replace("have: 1", "have: x"))
    assert message.startswith("batch.yaml:4:34: ")


def test_endless_files_are_refused(tmp_path: Path) -> None:
    """Deep nesting, aliases that multiply and huge files end in a message, not in a crash."""
    assert "levels of nesting" in faults(tmp_path, "a: " + "[" * 50_000)[0]
    assert "levels of nesting" in faults(tmp_path, "".join(f"{' ' * n}a:\n" for n in range(500)))[0]
    aliases = "a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]\n" + "".join(
        f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]\n" for n in range(1, 9)
    )
    assert "stand for too much" in faults(tmp_path, aliases)[0]
    deep = "a0: &a0 [1]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}]\n" for n in range(1, 40))
    assert "deep aliases" in faults(tmp_path, deep)[0]
    assert "a larger file" in faults(tmp_path, "a" * 1_000_001)[0]
    assert len(faults(tmp_path, HEAD + TAG.replace("2 x 3", "9" * 9_000))[0]) < 300
    assert len(faults(tmp_path, HEAD + TAG.replace("12}", "9" * 9_000 + "}"))[0]) < 300


def test_names_fit_on_a_line(tmp_path: Path) -> None:
    """A name with a line break or of nothing at all is refused; other scripts and emoji are not."""
    for name in (r'"a\nb"', '""', '" a"', r'"\ud800"'):
        assert len(faults(tmp_path, HEAD + TAG.replace("name: tag", f"name: {name}"))) == 1
    for name in ("תפוח", "pomme d'api \N{RED APPLE}", "jar\N{NO-BREAK SPACE}tag"):
        assert (
            read(tmp_path, HEAD + TAG.replace("name: tag", f"name: {name}")).pieces[0].name == name
        )


def test_first_is_held_against_every_card_of_the_file(tmp_path: Path) -> None:
    """A card with a fault of its own may be put first, and a misspelt one is met with its name."""
    head = (
        HEAD
        + "first: [windfall]\ncards: {windfall: {make: x, size: 3 x 3, layers: [{paper: cream, circle: 1}]}}\n"
    )
    assert [message.split(": ", 1)[1] for message in faults(tmp_path, head)] == [
        "make: 'x'; expected a whole number, 1 or more, or 'as many as possible'"
    ]
    said = faults(tmp_path, head.replace("[windfall]", "[windfal]"))
    assert len(said) == 2
    assert said[0].endswith("card 'windfal'; expected one of the cards; the nearest is 'windfall'")


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (
            r"\UFFFFFFFF",
            r"6:6: the character \UFFFFFFFF; expected a character's number, 00000000 to 0010FFFF",
        ),
        (
            r"\U00110000",
            r"6:6: the character \U00110000; expected a character's number, 00000000 to 0010FFFF",
        ),
        (
            r"\uD800",
            "6:4: half a character (U+D800); expected a whole character, by its own number or as it is",
        ),
    ],
)
def test_a_character_that_there_is_not(tmp_path: Path, value: str, said: str) -> None:
    """An escape for no character is refused at its place, in a key as in a value."""
    assert faults(tmp_path, f'{HEAD}a: "x{value}"\n') == [f"batch.yaml:{said}"]
    assert faults(tmp_path, f'{HEAD}"{value}": 1\n')[0].startswith("batch.yaml:6:")


def test_a_version_of_yaml_that_there_is_not(tmp_path: Path) -> None:
    """A first line for the parser with a number that it does not know is refused."""
    text = f"# supper\n%YAML 1.{'9' * 20}\n---\n{HEAD}{TAG}"
    (message,) = faults(tmp_path, text)
    assert message == (
        "batch.yaml:2:1: a version of YAML that is not known; expected no line with %YAML"
    )


def test_a_file_name_with_a_nul(tmp_path: Path) -> None:
    """No file has such a name: it is refused like a file that is not there."""
    with pytest.raises(InputError, match="no name of a file; expected a batch file"):
        read_batch(tmp_path / "a\0b")


def test_a_file_of_too_many_values(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What no batch of cards needs is refused where it goes too far, before it is read on."""
    monkeypatch.setattr("nesting.files.yaml_source._MOST_VALUES", 400)
    layers = "      - {paper: cream, reveal: 1/8}\n" * 220
    (message,) = faults(tmp_path, f"{HEAD}cards:\n  a:\n    make: 1\n    layers:\n{layers}")
    assert message.startswith("batch.yaml:16")
    assert message.endswith(": more than 400 values; expected a batch file of fewer")


def test_a_fault_hides_no_other_one_of_its_card(tmp_path: Path) -> None:
    """What comes before a faulty layer is placed, and the papers of all are looked up."""
    text = f"""\
{HEAD}cards:
  windfall:
    make: 8
    size: 4 x 5
    base: {{paper: creem, fold: up}}
    layers:
      - {{name: mat, paper: cream, reveal: 3}}
      - {{name: band, paper: two faces, revael: 1/8}}
      - {{name: moon, paper: kraft, reveal: 1/8}}
pieces:
  - {{paper: cream, size: 2 x 3, count: 1}}
  - {{paper: brick, size: 2 y 3, count: 1}}
"""
    assert [message.split(";")[0] for message in faults(tmp_path, text)] == [
        "batch.yaml:10:19: paper 'creem'",
        "batch.yaml:10:32: fold: 'up'",
        "batch.yaml:12:43: a reveal that leaves nothing of the layer",
        "batch.yaml:13:9: no face, and 'two faces' is printed on both",
        "batch.yaml:13:40: unknown key 'revael'",
        "batch.yaml:14:29: paper 'kraft'",
        "batch.yaml:17:13: paper 'brick'",
        "batch.yaml:17:26: size: '2 y 3'",
    ]


def test_a_paper_that_cannot_be_read_hides_nothing(tmp_path: Path) -> None:
    """A card of a faulty paper is looked at all the same, and not said to be of an unknown one."""
    text = f"{HEAD}  kraft: {{sheet: 12 on 12, have: 1}}\ncards:\n  a: {{make: 1, size: 4 x 4, layers: [\n"
    text += "    {paper: kraft, size: 40 x 40}, {paper: creem, reveal: 1/8}, {paper: cream, reveal: 30}]}\n"
    assert [message.split(";")[0] for message in faults(tmp_path, text)] == [
        "batch.yaml:6:18: sheet: '12 on 12'",
        "batch.yaml:9:44: paper 'creem'",
        "batch.yaml:9:88: a reveal that leaves nothing of the layer",
    ]


def test_a_file_whose_only_paper_cannot_be_read(tmp_path: Path) -> None:
    """The names of its cards are looked up all the same; a card may be called as a paper is."""
    text = "batch: Orchard supper\nunit: in\npapers:\n  kraft: {sheet: 12 on 12, have: 1}\n"
    text += "cards:\n  kraft: {make: 1, size: 4 x 4, layers: [{paper: creem, reveal: 1/8}]}\n"
    assert [message.split(";")[0] for message in faults(tmp_path, text)] == [
        "batch.yaml:4:18: sheet: '12 on 12'",
        "batch.yaml:6:50: paper 'creem'",
    ]


@pytest.mark.parametrize("missing", ["batch: Orchard supper\n", "unit: in\n"])
def test_names_are_looked_up_in_a_file_without_its_head(tmp_path: Path, missing: str) -> None:
    """A batch without a name or a unit may name unknown papers, too."""
    text = (
        f"{HEAD}cards: {{a: {{make: 1, size: 4 x 4, layers: [{{paper: creem, reveal: 1/8}}]}}}}\n"
    )
    messages = faults(tmp_path, text.replace(missing, ""))
    assert len(messages) == 2
    assert messages[1].endswith("paper 'creem'; expected one of the papers; the nearest is 'cream'")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("A2", "4 1/4 x 5 1/2 in (107.95 x 139.7 mm) where cards are sold by the inch, and 420 x 594 mm (≈16.54 x ≈23.39 in) in ISO 216"),
        ("a6", "4 1/2 x 6 1/4 in (114.3 x 158.75 mm) where cards are sold by the inch, and 105 x 148 mm (≈4.13 x ≈5.83 in) in ISO 216"),
        ("A7", "5 x 7 in (127 x 177.8 mm) where cards are sold by the inch, and 74 x 105 mm (≈2.91 x ≈4.13 in) in ISO 216"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_name_of_two_sizes_is_read_as_neither(
    tmp_path: Path, name: str, said: str, unit: str
) -> None:
    """On a card, both sizes are said and numbers asked for, whatever the unit."""
    text = f"{HEAD}cards: {{a: {{make: 1, size: {name}, base: {{paper: cream}}}}}}\n"
    text = text.replace("12 x 12", "300 mm x 300 mm").replace("unit: in", f"unit: {unit}")
    (message,) = faults(tmp_path, text)
    expected = "expected width x height in numbers, for two sizes have this name: "
    assert message == f"batch.yaml:6:28: size: {name!r}; {expected}{said}"


def test_names_of_one_size_are_read(tmp_path: Path) -> None:
    """A5 has one meaning, on a card, too; on a sheet of paper every name is ISO's."""
    text = f"{HEAD}cards: {{a: {{make: 1, size: A5, base: {{paper: cream, fold: none}}}}}}\n"
    batch = read(tmp_path, text.replace("sheet: 12 x 12, have: plenty", "sheet: A4, have: 1"))
    assert (batch.cards[0].width, batch.cards[0].height) == parse_size("148 x 210 mm", "in")
    small = read(tmp_path, HEAD.replace("12 x 12", "A6") + TAG)
    assert small.papers[0].sheets[0].width == 105_000_000


@pytest.mark.parametrize(
    ("layer", "said"),
    [
        ("{paper: two faces, side: front, reveal: 1/8}", "'face', the nearest of those known"),
        ("{paper: cream, reveal: 1/8, turn: yes}", "never, may or must; the nearest is 'may'"),
        ("{paper: cream, reveal: 1/8, turn: nevr}", "never, may or must; the nearest is 'never'"),
        ("{paper: cream, reveal: 1/8, turn: purple}", "never, may or must"),
    ],
)
def test_other_words_lead_to_those_that_read(tmp_path: Path, layer: str, said: str) -> None:
    """What others call a key or a value is answered by the word for it."""
    (message,) = faults(tmp_path, card_with(layer))
    assert message.endswith(f"; expected {said}")


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("stripes", "two-way"),
        ("four way", "four-way"),
        ("oneway", "one-way"),
        ("tossed", "four-way"),
    ],
)
def test_the_nearest_print(tmp_path: Path, word: str, near: str) -> None:
    """A print in other words is answered by all that there are, and the nearest."""
    (message,) = faults(tmp_path, HEAD.replace("front: four-way", f"front: {word}") + TAG)
    assert message.endswith(
        f"{word!r}; expected plain, four-way, two-way or one-way; the nearest is {near!r}"
    )


def test_a_wide_reveal_is_asked_about_with_its_place(tmp_path: Path) -> None:
    """The batch is read, and the question has file, line and column."""
    file = tmp_path / "batch.yaml"
    file.write_text(card_with("{name: panel, paper: cream, reveal: 1 1/8}"))
    batch, warnings = read_batch_with_warnings(file)
    assert batch.cards[0].layers[1].name == "panel"
    asked = "panel: a reveal of 1 1/8 in all round; did you mean 1/8?"
    assert warnings == (f"{file}:12:45: {asked}",)


SIZES = """\
batch: Orchard supper
unit: in
papers:
  cream: {sheet: 12 x 12, have: 3}
  letter: {sheet: letter, have: 3}
cards:
  one: {make: 2, size: 5 1/2 x 4 1/4, base: {paper: letter}}
pieces:
  - {name: tag, size: 2 x 3 1/2, paper: letter, count: 3}
"""
SMALL = ["7:24: one: a card of 5.5 x 4.25 mm", "9:23: tag: a piece of 2 x 3.5 mm"]


@pytest.mark.parametrize(
    ("unit", "sheet", "asked", "meant"),
    [
        ("mm", "12 x 12", ["4:18: cream: a sheet of 12 x 12 mm", *SMALL], "inches"),
        ("mm", "40 x 12", SMALL, "inches"),
        ("in", "12 x 12", [], ""),
        ("in", "297 x 210", ["4:18: cream: a sheet of 297 x 210 in"], "mm"),
        ("cm", "297 x 210", ["4:18: cream: a sheet of 297 x 210 cm"], "mm"),
    ],
)
def test_a_size_in_another_unit_is_asked_about(
    tmp_path: Path, unit: str, sheet: str, asked: list[str], meant: str
) -> None:
    """What is as small as a stamp is likelier in inches; what no sheet is as large as, in mm."""
    file = tmp_path / "batch.yaml"
    text = SIZES.replace("12 x 12", sheet).replace("unit: in", f"unit: {unit}")
    file.write_text(text)
    _, warnings = read_batch_with_warnings(file)
    questions = [f"{one}; did you mean {meant}?" for one in asked]
    assert [one.removeprefix(f"{file}:") for one in warnings] == questions
    said = faults(tmp_path, text.replace("count: 3", "count: no"))
    assert set(said) >= {f"batch.yaml:{one}" for one in questions if "tag" not in one}


@pytest.mark.parametrize("marks", ["16", "16 mm", "1", "1/200", "0"])
def test_marks_are_how_far_one_is_from_the_next(tmp_path: Path, marks: str) -> None:
    """Sixteen to the inch is not 16."""
    text = SIZES.replace("papers:", f"trimmer: {{marks: {marks}}}\npapers:")
    expected = "the distance from one mark to the next, 1/100 to 1/2 in, such as 1/16 in or 1 mm"
    assert faults(tmp_path, text) == [f"batch.yaml:3:18: marks: {marks!r}; expected {expected}"]


@pytest.mark.parametrize(
    ("said", "wrap", "belt"),
    [
        ("wrap: 1/2", inches("1/2"), None),
        ("wrap: {left: 2, right: 1}", Edges(left=inches("2"), right=inches("1")), None),
        ("belt: true", 0, inches("1/16")),
        ("belt: no", 0, None),
        ("belt: {thickness: 1/4}", 0, inches("1/4")),
        ("belt: {thickness: 0}", 0, 0),
    ],
)
def test_what_goes_round_the_edge_is_read(
    tmp_path: Path, said: str, wrap: int | Edges, belt: int | None
) -> None:
    """One length or one for each edge; a belt with the usual thickness of a card, or another."""
    band = read(tmp_path, card_with(f"{{paper: cream, height: 1, {said}}}")).cards[0].layers[1]
    assert (band.wrap, band.belt) == (wrap, belt)


def test_a_metric_belt_goes_round_a_card_of_a_millimetre_and_a_half(tmp_path: Path) -> None:
    """The thickness that is taken unless given is a length on the unit's own ruler."""
    text = card_with("{paper: cream, height: 20, belt: true}").replace("unit: in", "unit: mm")
    text = text.replace("12 x 12", "300 x 300").replace("4 x 5", "100 x 140")
    assert read(tmp_path, text).cards[0].layers[1].belt == 1_500_000


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("wrap: {lft: 1}", "unknown key 'lft'; expected 'left', the nearest of those known"),
        ("belt: maybe", "belt: 'maybe'; expected true or false"),
        ("belt: {}", "no 'thickness' in 'belt'; expected thickness: how thick the closed card is"),
        ("belt: {thickness: x}", "thickness: 'x'; expected a length"),
    ],
)
def test_what_cannot_go_round_the_edge_is_one_message(tmp_path: Path, said: str, told: str) -> None:
    """Each with its place in the file."""
    (message,) = faults(tmp_path, card_with(f"{{paper: cream, height: 1, {said}}}"))
    assert message.startswith("batch.yaml:12:")
    assert told in message


@pytest.mark.parametrize(
    ("said", "angle"),
    [
        ("30", 30_000),
        ("22.5", 22_500),
        ("-15", -15_000),
        ("−0.125", -125),
        ('"7,05°"', 7_050),
        ("0", 0),
        ("89.999", 89_999),
    ],
)
def test_an_angle_is_read_exactly(tmp_path: Path, said: str, angle: int) -> None:
    """From its text: thousandths of a degree."""
    band = (
        read(tmp_path, card_with(f"{{paper: cream, height: 1, angle: {said}}}")).cards[0].layers[1]
    )
    assert band.angle == angle


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("90", "an angle between -90 and 90: what runs the other way has its width for its height"),
        ("-120", "an angle between -90 and 90: what runs the other way has its width"),
        ("1.2345", "an angle in degrees, clockwise, such as 30, 22.5 or -15, with at most three"),
        ("1e1", "an angle in degrees"),
        ("steep", "an angle in degrees"),
        ("[30]", "an angle in degrees"),
    ],
)
def test_what_is_no_angle_is_one_message(tmp_path: Path, said: str, told: str) -> None:
    """With its place and what would do."""
    (message,) = faults(tmp_path, card_with(f"{{paper: cream, height: 1, angle: {said}}}"))
    assert message.startswith("batch.yaml:12:")
    assert " angle: " in message
    assert told in message


def test_a_print_that_has_to_stand_on_an_aslant_layer_is_refused(tmp_path: Path) -> None:
    """With the place of the word in the file."""
    layer = "{paper: two faces, face: front, height: 1, angle: 30, print: upright}"
    (message,) = faults(tmp_path, card_with(layer))
    assert message.startswith("batch.yaml:12:")
    assert "'print: upright' on an aslant layer of two faces, which is printed" in message
