"""Single values of a file, from their source text: lengths, sizes, counts, prices, yes or no.

Every reader takes the text as it stands in the file, so a number never passes through a float.
What is wrong is said as an ``expected`` error, whose context has what would do.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    Discriminator,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    Tag,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from nesting.envelopes import envelopes_sold
from nesting.files.faults import is_one_line
from nesting.papers import EDGES
from nesting.prices import parse_price
from nesting.typed_lengths import (
    TWO_SIZES,
    LengthError,
    parse_card_size,
    parse_length,
    parse_point,
    parse_size,
)
from nesting.units import NAMED_SIZES, Unit

_Read = TypeVar("_Read")

_LONGEST_TEXT = 60
_MOST = 999_999
_FINEST_MARKS, _COARSEST_MARKS = 254_000, 12_700_000

#: How a batch file says that a design has no number.
AS_MANY_AS_POSSIBLE = "as many as possible"

_WORDS = {"true": True, "yes": True, "false": False, "no": False}


def expected(text: str) -> PydanticCustomError:
    """The error of a value that will not do; ``text`` says what would."""
    return PydanticCustomError("expected", "expected {expected}", {"expected": text})


def _text(value: object, expects: str) -> str:
    """The value's source text; more than a line of it is no single value."""
    if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
        raise expected(expects)
    return value.strip()


def _measure(parse: Callable[[str, Unit], _Read], expects: str) -> BeforeValidator:
    """Read a length or a pair of lengths, in the file's unit where the text carries none."""

    def read(value: object, info: ValidationInfo) -> _Read:
        try:
            return parse(_text(value, expects), (info.context or {})["unit"])
        except LengthError as error:
            raise expected(error.expected) from None

    return BeforeValidator(read)


def _marks(text: str, unit: Unit) -> int:
    """How far one mark of a ruler is from the next: sixteen to the inch is 1/16, not 16."""
    length = parse_length(text, unit)
    if not _FINEST_MARKS <= length <= _COARSEST_MARKS:
        words = "the distance from one mark to the next, 1/100 to 1/2 in, such as 1/16 in or 1 mm"
        raise LengthError(text, words)
    return length


def _envelope(text: str, unit: Unit) -> tuple[int, int]:
    """The size of an envelope, or the name of one that is sold where this unit is used."""
    names = {one.name: (one.width, one.height) for one in envelopes_sold(unit) if one.name}
    for name, size in names.items():
        if text.lower() == name.lower():
            return size
    if not re.search(r"[x×]", text):
        raise LengthError(text, f"yes, an envelope's size, or its name: {', '.join(names)}")
    return parse_size(text, unit)


def _count(least: int) -> BeforeValidator:
    def read(value: object) -> int:
        expects = f"a whole number, {least} or more"
        text = _text(value, expects)
        if not re.fullmatch(r"[0-9]+", text):
            raise expected(expects)
        return _number(text, least)

    return BeforeValidator(read)


def _number(text: str, least: int) -> int:
    """A whole number within sense."""
    if int(text) > _MOST:
        raise expected(f"a whole number of at most {_MOST}")
    if int(text) < least:
        raise expected(f"a whole number, {least} or more")
    return int(text)


def _make(value: object) -> int | None:
    expects = "a whole number, 1 or more, or 'as many as possible'"
    text = " ".join(_text(value, expects).lower().split())
    if text == AS_MANY_AS_POSSIBLE:
        return None
    if not re.fullmatch(r"[0-9]+", text) or int(text) < 1:
        raise expected(expects)
    return _number(text, 1)


def _have(value: object) -> int | None:
    expects = "the number of sheets at hand, plenty, or stash"
    text = _text(value, expects)
    if text.lower() == "plenty":
        return None
    if text.lower() == "stash":  # what is filled in from there is a number by now
        raise expected("a number; offcuts of the stash come with have: stash on whole sheets")
    if not re.fullmatch(r"[0-9]+", text):
        raise expected(expects)
    if int(text) > _MOST:
        raise expected(f"at most {_MOST} sheets, plenty, or stash")
    return int(text)


def _offcut_numbers(value: object) -> str:
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]+(, [0-9]+)*", value):
        raise expected("numbers of offcuts in the stash, such as 3 or 3, 7")
    return value


def _price(value: object) -> int:
    expects = "a price such as 2, 1.5 or 0.95, without a sign of money"
    price = parse_price(_text(value, expects))
    if price is None:
        raise expected(expects)
    return price


def _yes_or_no(value: object) -> bool:
    word = _text(value, "true or false").lower()
    if word not in _WORDS:
        raise expected("true or false")
    return _WORDS[word]


def _name(value: object) -> str:
    """A name is any text that can stand on one printed line."""
    expects = "a name: text on one line"
    if not isinstance(value, str) or not value.strip() or not is_one_line(value):
        raise expected(expects)
    if value != value.strip():
        raise expected("a name without blanks around it")
    return value


def _lower(value: object) -> object:
    """Words of a closed list are understood in capitals, too."""
    return value.strip().lower() if isinstance(value, str) else value


def _angle(value: object) -> int:
    """An angle from its text, exactly: thousandths of a degree."""
    expects = "an angle in degrees, clockwise, such as 30, 22.5 or -15, with at most three decimals"
    found = re.fullmatch(r"([-−]?)\s*(\d{1,3})(?:[.,](\d{1,3}))?\s*°?", _text(value, expects))
    if found is None:
        raise expected(expects)
    angle = int(found[2]) * 1000 + int((found[3] or "").ljust(3, "0"))
    if angle >= 90_000:
        raise expected(
            "an angle between -90 and 90: what runs the other way has its width for its height"
        )
    return -angle if found[1] else angle


def _not_empty(value: _Read) -> _Read:
    if not value:
        raise expected("at least one entry")
    return value


_NUMBER_OR_TEXT = {"type": ["number", "string"]}
#: Digits, signs and fraction characters, and at most one unit: what ``typed_lengths`` refuses beyond
#: that is said when the file is read.
_LENGTH_PATTERN = r"""[0-9.,/⁄¼-¾⅐-⅞ \-]+([A-Za-z]+|"|''|’’|″|”)?\.?"""
_SCHEMA_LENGTH = {
    **_NUMBER_OR_TEXT,
    "minimum": 0,
    "pattern": rf"^\s*{_LENGTH_PATTERN}\s*$",
    "description": "A length, in the file's unit unless it carries its own.",
    "examples": ["4 1/4", 4.25, "108 mm"],
}
_PAIR_PATTERN = rf"{_LENGTH_PATTERN}\s*[xX×]\s*{_LENGTH_PATTERN}"


def _names_pattern(names: Iterable[str]) -> str:
    """A pattern of names in which capitals do not matter."""
    return "|".join("".join(f"[{c.upper()}{c.lower()}]" for c in name) for name in names)


_SCHEMA_PAIR = {"type": "string", "pattern": rf"^\s*{_PAIR_PATTERN}\s*$"}
_SCHEMA_SIZE = {
    "type": "string",
    "pattern": rf"^\s*({_PAIR_PATTERN}|{_names_pattern(NAMED_SIZES)})\s*$",
    "description": "A size, width first, or the name of one, which then lies upright.",
    "examples": ["4 1/4 x 5 1/2", "105 x 148 mm", "A4", "letter"],
}
_ONE_MEANING = _names_pattern(name for name in NAMED_SIZES if name not in TWO_SIZES)
_SCHEMA_CARD_SIZE = {
    **_SCHEMA_SIZE,
    "pattern": rf"^\s*({_PAIR_PATTERN}|{_ONE_MEANING})\s*$",
}
_SCHEMA_POINT = {
    **_SCHEMA_PAIR,
    "description": "A place, from the left and the bottom.",
    "examples": ["2 1/8 x 3", "12 x 60 mm"],
}

_A_LENGTH = "a length such as 4 1/4, 4.25 or 108 mm"
Length = Annotated[
    int,
    _measure(partial(parse_length, or_zero=False), _A_LENGTH),
    WithJsonSchema(_SCHEMA_LENGTH),
]
LengthOrZero = Annotated[int, _measure(parse_length, _A_LENGTH), WithJsonSchema(_SCHEMA_LENGTH)]
Marks = Annotated[int, _measure(_marks, _A_LENGTH), WithJsonSchema(_SCHEMA_LENGTH)]
Size = Annotated[
    tuple[int, int],
    _measure(parse_size, "a size, width first, such as 4 1/4 x 5 1/2 or A4"),
    WithJsonSchema(_SCHEMA_SIZE),
]
CardSize = Annotated[
    tuple[int, int],
    _measure(parse_card_size, "a size, width first, such as 4 1/4 x 5 1/2 or A5"),
    WithJsonSchema(_SCHEMA_CARD_SIZE),
]
EnvelopeSize = Annotated[
    tuple[int, int],
    _measure(_envelope, "yes, or an envelope's size or name, such as 7 1/4 x 5 1/4 or C6"),
    WithJsonSchema(
        {
            "type": "string",
            "description": "The size of an envelope, or the name of one that is sold.",
            "examples": ["7 1/4 x 5 1/4", "A7", "C6"],
        }
    ),
]
Point = Annotated[
    tuple[int, int],
    _measure(parse_point, "a place X x Y from the left and the bottom, such as 2 1/8 x 3"),
    WithJsonSchema(_SCHEMA_POINT),
]
Angle = Annotated[
    int,
    BeforeValidator(_angle),
    WithJsonSchema(
        {
            **_NUMBER_OR_TEXT,
            "exclusiveMinimum": -90,
            "exclusiveMaximum": 90,
            "description": "Degrees, as a clock's hand turns.",
            "examples": [30, -22.5],
        }
    ),
]
CountFrom0 = Annotated[int, _count(0), WithJsonSchema({"type": "integer", "minimum": 0})]
CountFrom1 = Annotated[int, _count(1), WithJsonSchema({"type": "integer", "minimum": 1})]
Make = Annotated[
    int | None,
    BeforeValidator(_make),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 1}, {"const": AS_MANY_AS_POSSIBLE}]}),
]
Have = Annotated[
    int | None,
    BeforeValidator(_have),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 0}, {"enum": ["plenty", "stash"]}]}),
]
OffcutNumbers = Annotated[
    str,
    BeforeValidator(_offcut_numbers),
    WithJsonSchema({"type": ["integer", "string"], "pattern": r"^[0-9]+(, [0-9]+)*$"}),
]
Price = Annotated[
    int,
    BeforeValidator(_price),
    WithJsonSchema({**_NUMBER_OR_TEXT, "minimum": 0, "examples": [0.95]}),
]
YesOrNo = Annotated[
    bool,
    BeforeValidator(_yes_or_no),
    WithJsonSchema({"enum": [True, False, "true", "false", "yes", "no"]}),
]
_SCHEMA_NAME: dict[str, Any] = {
    "type": ["string", "number", "boolean", "null"],
    "minLength": 1,
    "description": "A name, taken as it is written.",
}
Name = Annotated[str, BeforeValidator(_name), WithJsonSchema(_SCHEMA_NAME)]
#: What pydantic adds to the place of a fault where there may be a single value or keys.
ONE_OR_KEYS = ("<one>", "<keys>")


def one_or(keys: type[BaseModel], single: Any) -> Any:
    """Make the type of a value that is a single one, or keys with their values."""
    one, mapping = ONE_OR_KEYS
    return Annotated[
        Annotated[single, Tag(one)] | Annotated[keys, Tag(mapping)],
        Discriminator(lambda value: mapping if isinstance(value, dict) else one),
    ]


Keyword = BeforeValidator(_lower)
NotEmpty = AfterValidator(_not_empty)


@dataclass(frozen=True, slots=True, eq=False)
class ShortForm:
    """A single text may stand for the mapping or list that ``spell_out`` makes of it."""

    spell_out: Callable[[str], object]
    schema: dict[str, Any]

    def __get_pydantic_core_schema__(
        self, source: type, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Spell the text out before the long form is read."""
        return core_schema.no_info_before_validator_function(
            lambda value: self.spell_out(value) if isinstance(value, str) else value,
            handler(source),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Either form will do in the file."""
        return {"anyOf": [self.schema, handler(schema)]}


#: One length may stand for four.
ONE_LENGTH = ShortForm(lambda text: dict.fromkeys(EDGES, text), _SCHEMA_LENGTH)
#: One size may stand for a list.
ONE_SIZE = ShortForm(lambda text: [text], _SCHEMA_SIZE)
#: One name may stand for a list.
ONE_NAME = ShortForm(lambda text: [text], _SCHEMA_NAME)
