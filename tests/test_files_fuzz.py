"""Every reader, given thousands of damaged texts: a value or the project's own error, no other end."""

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from nesting.advice.variants import Change, with_changes
from nesting.files import (
    InputError,
    batch_of_sheet,
    plan_to_json,
    read_batch_with_warnings,
    read_draft,
    read_papers,
    read_pieces_csv,
    read_plan_with_faults,
    read_text,
    read_variants,
    read_vary,
    with_changes_written,
)
from nesting.typed_lengths import LengthError, parse_length, parse_point, parse_size
from tests.plans import harvest_plan

BATCH = """\
batch: Orchard supper
unit: in
trimmer: {kind: sliding, marks: 1/16, longest cut: 12 1/2, cut width: 1/32}
papers:
  pear: {sheet: 12 x 12, have: 3, buy: false, front: four-way, back: {print: one-way, up: top}}
  cream: {sheets: [{size: A4, have: plenty, price: 1.20}, {size: 6 x 4, have: 2, offcut: true}]}
cards:
  windfall:
    make: 8
    size: 4 1/4 x 5 1/2
    base: {paper: cream, fold: left}
    layers:
      - {name: mat, paper: {one of: [pear/front, cream], alike: each}, reveal: 1/8}
      - {name: band, paper: pear, face: back, over: mat, height: 1 1/4, at: {bottom: 1}}
pieces:
  - {name: "tag", size: "50,8 x 90 mm", paper: cream, count: 12, die allowance: 1/8}
"""
CSV = 'name,size,circle,paper,face,turn,count\ntag,2 x 3½,,paper,front,may,12\n"a ""b""",,2 1/2,,,,3\n'
VARIANTS = """\
variants:
  thin: {cards: {every: {layers: {mat: {reveal: 1/16}}}}, spares: 1}
  other: {papers: {pear: {have: 4}}, pieces: {tag: {size: 2 x 4}}}
  another: {file: batch.yaml}
"""
VARY = (
    "thin: windfall / mat / reveal = 1/16; cream / sheets = [{size: 12 x 12, have: 1}]; spares = 1"
)
LENGTHS = ("4 1/4", "10.8 cm", '4¼"', "17/4", "4 1/4 x 5 1/2", "105 × 148 mm", "A4", "0 x 12 mm")
BITS = (
    *(
        "\t",
        " ",
        "  ",
        "\n",
        "\n  ",
        "\r",
        "- ",
        ":",
        ": ",
        "#",
        " #",
        '"',
        "'",
        "{",
        "}",
        "[",
        "]",
    ),
    *(
        ",",
        ";",
        "|",
        ">",
        "&a ",
        "*a",
        "!",
        "%",
        "@",
        "?",
        "\\",
        "½",
        "/",
        " / ",
        "=",
        "-",
        "x",
        "0",
    ),
    *("1e400", "9" * 30, "9" * 5000, "é", "\U0001f600", "---\n", "...\n", "~", "<<: ", "\ufeff"),
    *("\0", "\x07", "\x85", "\u2028", "\u00a0", "\u200b", "\u0663", "²", "“", "”", "-1", "null"),
    *('"\\UFFFFFFFF"', '"\\U00110000"', '"\\uD800"', '"\\0"', "\\ud800", "%YAML 1.9\n", "every"),
    *("true", "NaN", "Infinity", "1_000", "0x1f", "12:30", "A6", "letter", "\udc80", "one of"),
)
WORTHLESS: tuple[Any, ...] = (
    *(None, True, -1, 0, 1, 10**17, 10**18, 10**400, 0.5, 1e308, "", "x", "\ud800", "a\nb", [], {}),
    *([[]], {"": 0}, "front", "never", "y"),
)


def damaged(text: str, chance: random.Random) -> str:
    """The text with one to three small damages."""
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(text) + 1)
        match chance.randrange(4):
            case 0:
                text = text[:at] + text[at + chance.randint(1, 6) :]
            case 1:
                start = chance.randrange(len(text) + 1)
                text = text[:at] + text[start : start + chance.randint(1, 30)] + text[at:]
            case _:
                text = text[:at] + chance.choice(BITS) + text[at:]
    return text


def damaged_data(data: Any, chance: random.Random) -> Any:
    """JSON data with one value, somewhere, that is another."""
    if not isinstance(data, dict | list) or not data or chance.random() < 0.05:
        return chance.choice(WORTHLESS)
    key: Any = chance.choice(list(data) if isinstance(data, dict) else range(len(data)))
    copy = data.copy()
    if chance.random() < 0.03:
        del copy[key]
    else:
        copy[key] = damaged_data(data[key], chance)
    return copy


READERS = ("batch", "pieces", "variants", "vary", "plan_text", "plan_data", "length", "sheet")


class Readers:
    """Every reader of a damaged text, with its files in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sound = folder / "batch.yaml"
        self.sound.write_text(BATCH, encoding="utf-8")
        self.file = folder / "damaged"
        self.plan = plan_to_json(harvest_plan())
        self.data = json.loads(self.plan)

    def written(self, text: str) -> Path:
        """The damaged text as a file."""
        self.file.write_bytes(text.encode("utf-8", "surrogatepass"))
        return self.file

    def batch(self, chance: random.Random) -> None:
        """A batch file, and a change written into it."""
        file = self.written(damaged(BATCH, chance))
        read_papers(file)
        batch, _ = read_batch_with_warnings(file)
        changes = (Change(("cards", batch.cards[0].name, "make"), 9),) if batch.cards else ()
        draft = read_draft(read_text(file, "a batch file"), file.name)
        with_changes_written(draft, changes, with_changes(batch, changes))

    def pieces(self, chance: random.Random) -> None:
        """A list of pieces."""
        text = damaged(CSV, chance).replace(",", chance.choice(",,;\t"))
        read_pieces_csv(self.written(text), batch_of_sheet("12 x 12", "in"))

    def variants(self, chance: random.Random) -> None:
        """A file of variants."""
        read_variants(self.written(damaged(VARIANTS, chance)), self.sound)

    def vary(self, chance: random.Random) -> None:
        """Variants of one line."""
        read_vary((damaged(VARY, chance),), self.sound)

    def plan_text(self, chance: random.Random) -> None:
        """The text of a plan."""
        read_plan_with_faults(self.written(damaged(self.plan, chance)))

    def plan_data(self, chance: random.Random) -> None:
        """A plan that is JSON still."""
        read_plan_with_faults(self.written(json.dumps(damaged_data(self.data, chance))))

    def length(self, chance: random.Random) -> None:
        """The lengths and sizes of options."""
        text = damaged(chance.choice(LENGTHS), chance)
        parse = chance.choice([parse_length, parse_size, parse_point])
        parse(text, chance.choice(["in", "mm", "cm"]))  # type: ignore[operator]

    def sheet(self, chance: random.Random) -> None:
        """The size of a sheet."""
        batch_of_sheet(damaged("8 1/2 x 11", chance), "in")


def said(read: Callable[[random.Random], None], chance: random.Random) -> tuple[str, ...]:
    """What is said of a damaged text; nothing where it can still be read."""
    try:
        read(chance)
    except InputError as error:
        return error.messages
    except LengthError as error:
        return (str(error),)
    return ()


@pytest.mark.parametrize("name", READERS)
def test_a_damaged_text_is_read_or_refused_in_words(tmp_path: Path, name: str) -> None:
    """Whatever is damaged, there is a value or clear messages that can be printed, and no new file."""
    readers = Readers(tmp_path)
    readers.written("")
    before = sorted(tmp_path.iterdir())
    chance = random.Random(16)
    refused = 0
    for _ in range(400):
        messages = said(getattr(readers, name), chance)
        refused += bool(messages)
        for message in messages:
            message.encode()
            assert "expected" in message or "read as a comment" in message
            assert "\n" not in message
    assert 0 < refused < 400
    assert sorted(tmp_path.iterdir()) == before
