"""The JSON Schema of the batch file."""

from io import StringIO
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from nesting.files import batch_schema

SAMPLE = """
batch: Orchard supper invitations
unit: in
trimmer: {kind: sliding, marks: 1/16, longest cut: 12 1/2, narrowest hold: 1/2}
papers:
  pear toss:
    sheet: 12 x 12
    have: 3
    buy: false
    barcode strip: {edge: bottom, width: 1/2, beyond the sheet: true}
    front: four-way
    back: {print: one-way, up: top}
  brick cardstock: {sheet: 8 1/2 x 11, have: 6}
  cream cardstock: {sheet: 8 1/2 x 11, have: plenty, grain: long}
cards:
  windfall:
    make: 8
    size: 4 1/4 x 5 1/2
    base: {paper: cream cardstock, fold: left}
    layers:
      - {name: mat, paper: brick cardstock, reveal: 1/8}
      - {name: panel, paper: pear toss, face: front, reveal: {left: 1/8, top: 0.25}}
      - {name: band, paper: pear toss, face: back, over: panel, height: 1 1/4, at: {bottom: 1}}
      - {name: moon, paper: cream cardstock, over: panel, circle: 2 1/2, at: {centre: 2 1/8 x 3}, die allowance: 1/8}
pieces:
  - {name: tag, size: 2 x 3 1/2, paper: cream cardstock, count: 12}
keep from: [1/2 x 4, 2 x 2]
"""


def sample() -> Any:
    """The sample as an editor reads it."""
    return YAML(typ="safe", pure=True).load(StringIO(SAMPLE))


def is_valid(data: Any) -> bool:
    """Whether the schema lets the data pass."""
    return jsonschema.Draft202012Validator(batch_schema()).is_valid(data)


def test_it_is_a_schema_of_2020_12() -> None:
    """The schema names its dialect and is valid in it."""
    schema = batch_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)


def test_the_sample_is_valid() -> None:
    """A file with every kind of value passes."""
    assert is_valid(sample())


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("papers", "pear toss"), "colour"),
        (("cards", "windfall", "layers", 0), "kerf"),
        (("trimmer",), "blade"),
        ((), "sheets"),
    ],
)
def test_an_unknown_key_is_not(path: tuple[str | int, ...], value: str) -> None:
    """The list of keys is closed everywhere."""
    data = sample()
    inner = data
    for part in path:
        inner = inner[part]
    inner[value] = 1
    assert not is_valid(data)


@pytest.mark.parametrize(
    "length", ["4 1/4", "4-1/4", "17/4", "4¼", '4.25"', "108 mm", "10,8 cm", 4, 0.5]
)
def test_every_way_to_write_a_length_is_valid(length: object) -> None:
    """What the reader understands, the editor does not mark."""
    data = sample()
    data["lap"] = length
    assert is_valid(data)


@pytest.mark.parametrize("length", ["wide", -1, True, [1], "4 x 4"])
def test_what_is_no_length_is_not(length: object) -> None:
    """An editor marks what cannot be a length."""
    data = sample()
    data["lap"] = length
    assert not is_valid(data)


@pytest.mark.parametrize(
    ("size", "valid"),
    [
        ("4 1/4 x 5 1/2", True),
        ("A5", True),
        ("A6", False),
        ("a4", True),
        ("Letter", True),
        ("A", False),
        ("A4 x A4", False),
        ("A44", False),
        ("12", False),
    ],
)
def test_a_size_is_two_lengths_or_a_name(size: str, valid: bool) -> None:
    """An editor marks what is neither."""
    data = sample()
    data["cards"]["windfall"]["size"] = size
    assert is_valid(data) == valid


def test_every_key_is_described() -> None:
    """An editor can say what each key is for."""
    schema = batch_schema()
    definitions = schema["$defs"]
    for mapping in [schema, *definitions.values()]:
        assert mapping["additionalProperties"] is False
        for key, value in mapping["properties"].items():
            reference = definitions.get(value.get("$ref", "").removeprefix("#/$defs/"), {})
            assert "description" in value or "description" in reference, key
