"""From the keys of a file to the model: what was not written takes the model's default."""

from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import Any, get_args

from nesting.batch import (
    At,
    Base,
    Batch,
    Card,
    Envelope,
    Fault,
    Layer,
    LoosePiece,
    PaperChoice,
    PaperOption,
    Trimmer,
)
from nesting.cards.resolving import resolve
from nesting.files.batch_models import (
    AtKeys,
    BaseKeys,
    BatchKeys,
    BeltKeys,
    CardKeys,
    ChoiceKeys,
    EdgesKeys,
    EnvelopeKeys,
    FaceKeys,
    Keys,
    LayerKeys,
    OptionKeys,
    PaperKeys,
    PieceKeys,
    StripKeys,
)
from nesting.papers import BarcodeStrip, Edges, Face, FaceName, Paper, Sheet
from nesting.units import Unit

#: The model's defaults are those of a file in inches; these are for one in mm or cm.
_METRIC_TRIMMER = {"marks": 1_000_000, "narrowest_hold": 12_000_000}
_METRIC_BATCH = {
    "lap": 6_000_000,
    "keep_from": ((12_000_000, 100_000_000), (50_000_000, 50_000_000)),
}
#: How thick a closed card is taken to be: a folded base of 80 lb cover and some three layers are
#: a little less (common practice, no source).
_THICKNESS, _METRIC_THICKNESS = 1_587_500, 1_500_000

_MODEL_OF: dict[type[Keys], type] = {
    AtKeys: At,
    BaseKeys: Base,
    EdgesKeys: Edges,
    FaceKeys: Face,
    StripKeys: BarcodeStrip,
}


def build_batch(keys: BatchKeys, numbers: list[int]) -> Batch:
    """Make the batch that a file asks for; faces, turns and ``over`` may still be open.

    ``numbers`` are those of the loose pieces in the file, from 0.
    """
    empty = empty_batch(keys.batch, keys.unit)
    trimmer = {} if keys.trimmer is None else _written(keys.trimmer)
    return replace(
        empty,
        trimmer=replace(empty.trimmer, **trimmer),
        papers=tuple(_paper(name, paper) for name, paper in keys.papers.items()),
        cards=tuple(_card(name, card, keys) for name, card in keys.cards.items()),
        pieces=build_pieces(keys.pieces, numbers),
        **_written(keys, "batch", "trimmer", "papers", "cards", "pieces"),
    )


def empty_batch(name: str, unit: Unit) -> Batch:
    """Make a batch of nothing, with the defaults of its unit."""
    trimmer = Trimmer(**_metric(unit, _METRIC_TRIMMER))
    return Batch(name, unit, papers=(), trimmer=trimmer, **_metric(unit, _METRIC_BATCH))


def build_pieces(pieces: tuple[PieceKeys, ...], numbers: list[int]) -> tuple[LoosePiece, ...]:
    """Make loose pieces; one without a name is called by its number in the file."""
    return tuple(
        LoosePiece(**_named(piece, f"piece {number + 1}"))
        for number, piece in zip(numbers, pieces, strict=True)
    )


def resolve_in_file(batch: Batch, numbers: list[int]) -> tuple[Batch, list[Fault]]:
    """Fill in a batch, and find what is wrong beyond the shape, with the paths of its file.

    ``numbers`` are those of the batch's pieces in the file.
    """
    resolved = resolve(batch)
    return resolved.batch, in_file(resolved.faults, numbers)


def in_file(faults: Iterable[Fault], numbers: list[int]) -> list[Fault]:
    """Faults of a batch with the paths of its file."""
    return [
        replace(fault, path=("pieces", numbers[int(fault.path[1])], *fault.path[2:]))
        if fault.path[:1] == ("pieces",)
        else fault
        for fault in faults
    ]


def _metric(unit: Unit, defaults: dict[str, Any]) -> dict[str, Any]:
    return {} if unit == "in" else defaults


def _written(keys: Keys, *but: str) -> dict[str, Any]:
    """What the user wrote, mappings made into their models."""
    written = {}
    for field in keys.model_fields_set.difference(but):
        value = getattr(keys, field)
        model = _MODEL_OF.get(type(value))
        written[field] = value if model is None else model(**_written(value))
    return written


def _named(keys: LayerKeys | PieceKeys, name: str) -> dict[str, Any]:
    """What the user wrote of a layer or piece, its size as width and height."""
    written = {"name": name} | _written(keys, "size")
    if keys.size is not None:
        written["width"], written["height"] = keys.size
    return written


def _paper(name: str, keys: PaperKeys) -> Paper:
    if keys.sheet is not None:
        sheets: tuple[Sheet, ...] = (Sheet(*keys.sheet, have=keys.have, price=keys.price),)
    else:
        sheets = tuple(Sheet(*sheet.size, **_written(sheet, "size")) for sheet in keys.sheets or ())
    return Paper(name, sheets, **_written(keys, "sheet", "have", "price", "sheets"))


def _layer(keys: LayerKeys, name: str, batch: BatchKeys) -> Layer:
    """A layer; of papers to choose from, one alone is no choice."""
    written = _named(keys, name) | {"belt": _belt(keys.belt, batch.unit)}
    if not isinstance(keys.paper, ChoiceKeys):
        return Layer(**written)
    options = tuple(_option(option, batch.papers) for option in keys.paper.one_of)
    first = options[0]
    layer = Layer(**written | {"paper": first.paper, "face": first.face})
    if len(options) == 1:
        return layer
    return replace(layer, choice=PaperChoice(options, keys.paper.alike))


def _belt(keys: BeltKeys | bool, unit: Unit) -> int | None:
    """How thick a card is taken to be that a belt goes round; None where there is no belt."""
    if isinstance(keys, BeltKeys):
        return keys.thickness
    return (_THICKNESS if unit == "in" else _METRIC_THICKNESS) if keys else None


def _option(keys: OptionKeys | str, papers: Collection[str]) -> PaperOption:
    """A paper to choose: a name that is a paper's, or else a paper's name, ``/`` and a face."""
    if isinstance(keys, OptionKeys):
        return PaperOption(**_written(keys))
    for face in get_args(FaceName):
        if keys not in papers and keys.endswith(f"/{face}"):
            return PaperOption(keys.removesuffix(f"/{face}"), face)
    return PaperOption(keys)


def _envelope(keys: EnvelopeKeys) -> Envelope:
    width, height = keys.size or (None, None)
    return Envelope(width, height, **_written(keys, "size"))


def _card(name: str, keys: CardKeys, batch: BatchKeys) -> Card:
    width, height = keys.size
    return Card(
        name=name,
        width=width,
        height=height,
        layers=tuple(
            _layer(layer, f"layer {number}", batch) for number, layer in enumerate(keys.layers, 1)
        ),
        envelope=None if keys.envelope is None else _envelope(keys.envelope),
        **{"spares": batch.spares if keys.make is not None else 0}
        | _written(keys, "size", "layers", "envelope"),
    )
