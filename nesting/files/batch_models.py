"""The shape of a batch file: which keys there are, and what each may hold.

Keys are the field names with spaces for underscores. The list is closed.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from nesting.batch import Aim, Fold, Join, KeyPath, MiddleUse, Where
from nesting.files.values import (
    ONE_LENGTH,
    ONE_NAME,
    ONE_SIZE,
    Angle,
    CardSize,
    CountFrom0,
    CountFrom1,
    EnvelopeSize,
    Have,
    Keyword,
    Length,
    LengthOrZero,
    Make,
    Marks,
    Name,
    NotEmpty,
    OffcutNumbers,
    Point,
    Price,
    ShortForm,
    Size,
    YesOrNo,
    one_or,
)
from nesting.papers import Edge, FaceName, Grain, Print, StripEdge, Turn
from nesting.units import Unit


class Keys(BaseModel):
    """A mapping of the file with a closed list of keys."""

    model_config = ConfigDict(
        defer_build=True,  # much reads no batch
        extra="forbid",
        frozen=True,
        alias_generator=lambda field: field.replace("_", " "),
    )


class TrimmerKeys(Keys):
    """What cuts."""

    kind: Annotated[Literal["sliding", "rotary", "lever", "knife"], Keyword] = Field(
        default="sliding", description="What kind of trimmer it is."
    )
    marks: Marks | None = Field(
        default=None, description="The finest mark of its ruler; 1/16 in or 1 mm unless given."
    )
    longest_cut: Length | None = Field(
        default=None, description="No cut is longer; no limit unless given."
    )
    narrowest_hold: Length | None = Field(
        default=None, description="The least paper it can hold; 1/2 in or 12 mm unless given."
    )
    cut_width: LengthOrZero = Field(default=0, description="What the blade takes away.")
    can_stop: YesOrNo = Field(default=False, description="Whether it can stop a cut part-way.")
    stack: CountFrom1 = Field(default=1, description="How many sheets it cuts at once.")
    hand: Annotated[Literal["right", "left"], Keyword] = Field(
        default="right", description="Which hand cuts."
    )
    repeat: Annotated[Literal["same ruler setting", "descending marks"], Keyword] = Field(
        default="same ruler setting", description="How repeated cuts are made."
    )


class FaceKeys(Keys):
    """A print and the sheet edge that is its top."""

    print: Annotated[Print, Keyword] = Field(description="Which turns of the print look right.")
    up: Annotated[Edge, Keyword] = Field(
        default="top", description="The sheet edge that is the top of the print."
    )


class EdgesKeys(Keys):
    """A length for each edge; 0 where not given."""

    left: LengthOrZero = 0
    right: LengthOrZero = 0
    top: LengthOrZero = 0
    bottom: LengthOrZero = 0


class StripKeys(Keys):
    """The maker's printed strip along one edge."""

    edge: Annotated[Edge, Keyword] = Field(description="The edge along which it runs.")
    width: Length
    beyond_the_sheet: YesOrNo = Field(
        description="Whether it comes on top of the sheet's size (true), or is part of it (false)."
    )
    back_usable: YesOrNo = Field(default=False, description="Whether its back may be cut from.")


class SheetKeys(Keys):
    """A size of sheet and how many are at hand."""

    size: Size
    have: Have = Field(description="How many are at hand: a number, plenty, or stash.")
    price: Price | None = Field(default=None, description="Of one new sheet.")
    offcut: YesOrNo = Field(default=False, description="Whether it is left over from earlier.")
    strip: Annotated[StripEdge, Keyword] | None = Field(
        default=None,
        description="The edge along which the barcode strip is still on, or none; "
        "a whole sheet's own edge and an offcut's none unless given.",
    )
    name: OffcutNumbers | None = Field(
        default=None, description="The numbers in the stash of offcuts that are alike."
    )


_PRINT = ShortForm(lambda text: {"print": text}, {"enum": list(Print.__args__)})  # type: ignore[attr-defined]
_Face = Annotated[FaceKeys, _PRINT]
_Edges = Annotated[EdgesKeys, ONE_LENGTH]


class PaperKeys(Keys):
    """A kind of paper: ``sheet`` and ``have``, or ``sheets``."""

    sheet: Size | None = None
    have: Have = Field(
        default=None, description="How many sheets are at hand: a number, plenty, or stash."
    )
    price: Price | None = Field(default=None, description="Of one new sheet.")
    sheets: Annotated[tuple[SheetKeys, ...], NotEmpty] | None = Field(
        default=None, description="Where there are several sizes or offcuts."
    )
    buy: YesOrNo = Field(default=True, description="Whether more may be bought.")
    front: _Face | None = Field(
        default=None, description="The print of the front; plain unless given."
    )
    back: _Face | None = Field(
        default=None, description="The print of the back; plain unless given."
    )
    grain: Annotated[Grain, Keyword] | None = Field(
        default=None, description="Along which edge it runs."
    )
    barcode_strip: StripKeys | None = Field(
        default=None, description="The maker's printed strip along one edge."
    )
    edge_trim: _Edges | None = Field(
        default=None, description="What is trimmed off every new sheet."
    )


#: A paper may be left to the stash altogether; that is filled in before the keys are read.
_Paper = Annotated[PaperKeys, ShortForm(lambda text: text, {"const": "stash"})]


class BaseKeys(Keys):
    """The folded card itself."""

    paper: Name
    face: Annotated[FaceName, Keyword] | None = Field(
        default=None, description="Needed where both faces of the paper are printed."
    )
    fold: Annotated[Fold, Keyword] = Field(
        default="left", description="The edge along which it is folded."
    )


class AtKeys(Keys):
    """Where a layer lies, from the card's edges, or its centre from the lower left corner."""

    left: LengthOrZero | None = None
    right: LengthOrZero | None = None
    top: LengthOrZero | None = None
    bottom: LengthOrZero | None = None
    centre: Point | None = None


class OptionKeys(Keys):
    """A paper to choose, and its face."""

    paper: Name
    face: Annotated[FaceName, Keyword] | None = Field(
        default=None, description="Needed where both faces of the paper are printed."
    )


class ChoiceKeys(Keys):
    """Papers to choose one from."""

    one_of: Annotated[tuple[one_or(OptionKeys, Name), ...], NotEmpty] = Field(  # type: ignore[valid-type]
        description="The papers to choose from: their names, with /front or /back where it matters."
    )
    alike: Annotated[Literal["all", "each"], Keyword] = Field(
        default="all", description="Whether all cards take the same one, or each its own."
    )


class BeltKeys(Keys):
    """A closed band round the whole card."""

    thickness: LengthOrZero = Field(
        description="How thick the closed card is with its layers; 1/16 in or 1.5 mm unless given."
    )


class LayerKeys(Keys):
    """One layer of a card: one of ``reveal``, ``size``, ``width``/``height``, ``circle``."""

    name: Name | None = None
    paper: one_or(ChoiceKeys, Name) = Field(  # type: ignore[valid-type]
        description="Its paper's name, or papers to choose one from."
    )
    face: Annotated[FaceName, Keyword] | None = Field(
        default=None, description="Needed where both faces of the paper are printed."
    )
    over: Name | None = Field(
        default=None, description="The layer underneath; the one before it unless given."
    )
    reveal: _Edges | None = Field(default=None, description="What shows of the layer underneath.")
    size: CardSize | None = None
    width: Length | None = None
    height: Length | None = None
    circle: Length | None = Field(default=None, description="A diameter.")
    at: AtKeys | None = Field(
        default=None, description="Where it lies; centred on the layer underneath unless given."
    )
    where: Annotated[Where, Keyword] = Field(
        default="outside",
        description="On the card's front, inside it, on its back, or in its envelope.",
    )
    each: CountFrom1 = Field(default=1, description="How many on every card.")
    turn: Annotated[Turn, Keyword] | None = Field(
        default=None, description="Whether the print may lie on its side."
    )
    die_allowance: LengthOrZero = Field(default=0, description="Paper left all round for a die.")
    wrap: one_or(EdgesKeys, LengthOrZero) = Field(  # type: ignore[valid-type]
        default=0, description="Folded behind: one length at both ends, or one for each edge."
    )
    belt: one_or(BeltKeys, YesOrNo) = Field(  # type: ignore[valid-type]
        default=False,
        description="Whether it is a closed band round the whole card; its length is worked out.",
    )
    middle: Annotated[MiddleUse, Keyword] | None = Field(
        default=None,
        description="Whether what the layers above hide of it may be cut out and used; "
        "as the file says in save middles unless given.",
    )
    angle: Angle = Field(
        default=0, description="By how many degrees it is turned, as a clock's hand turns."
    )
    print: Annotated[Literal["upright"], Keyword] | None = Field(
        default=None, description="Whether its print stands upright on the card all the same."
    )
    join: Annotated[Join, Keyword] = Field(
        default="never",
        description="Whether it may or must be cut as two ends whose joint the layers above hide.",
    )


class EnvelopeKeys(Keys):
    """What a card is sent in: bought, or cut from a paper."""

    size: EnvelopeSize | None = Field(
        default=None,
        description="The smallest of those sold that takes the card with its layers unless given.",
    )
    paper: Name | None = Field(default=None, description="Bought unless a paper is given.")
    face: Annotated[FaceName, Keyword] | None = Field(
        default=None,
        description="The face outside; needed where both faces of the paper are printed.",
    )


#: A size may stand for the keys, ``true`` for the smallest that takes the card, ``false`` for none.
_YES_OR_NO: dict[str, dict[str, str] | None] = {"true": {}, "yes": {}, "false": None, "no": None}
_ENVELOPE = ShortForm(
    lambda text: _YES_OR_NO.get(text.strip().lower(), {"size": text}),
    {"type": ["boolean", "string"]},
)


class CardKeys(Keys):
    """A card design, layers from bottom to top."""

    make: Make = Field(description="How many cards: a number, or as many as possible.")
    at_most: CountFrom1 | None = Field(
        default=None, description="Beside as many as possible: no more than this."
    )
    at_least: CountFrom1 | None = Field(
        default=None,
        description="Beside as many as possible: so many before any design has more.",
    )
    size: CardSize
    base: BaseKeys | None = Field(
        default=None, description="Left out where bases are bought ready."
    )
    layers: tuple[LayerKeys, ...] = Field(default=(), description="From the bottom to the top.")
    spares: CountFrom0 | None = Field(default=None, description="Sets beyond the cards to make.")
    envelope: Annotated[EnvelopeKeys | None, _ENVELOPE] = Field(
        default=None, description="true, the size or name of an envelope, or how one is made."
    )


class PieceKeys(Keys):
    """A piece asked for by itself: ``size`` or ``circle``."""

    name: Name | None = None
    size: CardSize | None = None
    circle: Length | None = Field(default=None, description="A diameter.")
    paper: Name
    face: Annotated[FaceName, Keyword] | None = Field(
        default=None, description="Needed where both faces of the paper are printed."
    )
    turn: Annotated[Turn, Keyword] | None = Field(
        default=None, description="Whether the print may lie on its side."
    )
    count: CountFrom1 = Field(description="How many.")
    die_allowance: LengthOrZero = Field(default=0, description="Paper left all round for a die.")


class PieceListKeys(Keys):
    """Loose pieces by themselves."""

    pieces: tuple[PieceKeys, ...]


class BatchKeys(Keys):
    """A batch of hand-made cards: papers, trimmer, card designs, loose pieces."""

    batch: Name = Field(description="The batch's name.")
    unit: Annotated[Unit, Keyword] = Field(
        description="The unit of every length that does not carry its own."
    )
    trimmer: TrimmerKeys | None = Field(default=None, description="What cuts.")
    papers: Annotated[dict[Name, _Paper], NotEmpty] = Field(
        description="The papers by their names."
    )
    cards: dict[Name, CardKeys] = Field(default={}, description="The card designs by their names.")
    pieces: tuple[PieceKeys, ...] = Field(default=(), description="Pieces that need no card.")
    spares: CountFrom0 = Field(
        default=0, description="Sets beyond the cards to make, of every design."
    )
    keep_from: Annotated[tuple[Size, ...], NotEmpty, ONE_SIZE] | None = Field(
        default=None, description="The smallest offcut worth keeping, one size or several."
    )
    lap: LengthOrZero | None = Field(
        default=None, description="The glue lap; 1/4 in or 6 mm unless given."
    )
    prefer: Annotated[Literal["easy-cutting", "big-offcut"], Keyword] = Field(
        default="easy-cutting", description="What decides between plans that cost the same."
    )
    first: Annotated[tuple[Name, ...], ONE_NAME] = Field(
        default=(), description="The designs to make before the others where paper is short."
    )
    aim: Annotated[Aim, Keyword] = Field(
        default="most cards",
        description="What comes first where paper limits the cards: their number, or as many of "
        "each design.",
    )
    save_middles: YesOrNo = Field(
        default=False,
        description="Whether what is hidden of a layer may be cut out and used, where that saves "
        "paper.",
    )
    frame: Length | None = Field(
        default=None,
        description="What stays round a covered middle that is cut out; 1/4 in or 6 mm unless given.",
    )


_KEYS_BELOW: dict[str | int, type[Keys]] = {
    "trimmer": TrimmerKeys,
    "papers": PaperKeys,
    "sheets": SheetKeys,
    "front": FaceKeys,
    "back": FaceKeys,
    "barcode strip": StripKeys,
    "edge trim": EdgesKeys,
    "cards": CardKeys,
    "base": BaseKeys,
    "layers": LayerKeys,
    "envelope": EnvelopeKeys,
    "paper": ChoiceKeys,
    "one of": OptionKeys,
    "reveal": EdgesKeys,
    "at": AtKeys,
    "wrap": EdgesKeys,
    "belt": BeltKeys,
    "pieces": PieceKeys,
}


def keys_at(path: KeyPath) -> type[Keys]:
    """The keys of the mapping at a place of the file, such as ``("papers", "pear toss")``."""
    if not path:
        return BatchKeys
    one_of_several = len(path) == 2 or isinstance(path[-1], int)
    return _KEYS_BELOW[path[-2] if one_of_several else path[-1]]


class _ForEditors(GenerateJsonSchema):
    """What a user writes: a key is there with a value, or not there."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        if schema.get("default") in (None, (), {}):
            return self.generate_inner(schema["schema"])
        return super().default_schema(schema)

    def field_title_should_be_set(self, schema: object) -> bool:  # noqa: ARG002
        return False


def batch_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a batch file, for editors that complete and check YAML."""
    schema = BatchKeys.model_json_schema(by_alias=True, schema_generator=_ForEditors)
    return {"$schema": _ForEditors.schema_dialect, **schema, "title": "nesting batch file"}
