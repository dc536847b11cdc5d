"""Another unit for a file: every length that was written stays as long as it was."""

from typing import Any

from nesting.batch import KeyPath
from nesting.files import BatchDraft
from nesting.typed_lengths import LengthError, parse_length, parse_point, parse_size
from nesting.units import Unit

#: What a trimmer is taken to be until it is said otherwise.
TRIMMERS: dict[Unit, dict[str, Any]] = {
    "in": {"kind": "sliding", "marks": "1/16", "longest cut": "12 1/2", "hand": "right"},
    "mm": {"kind": "sliding", "marks": "1", "longest cut": "310", "hand": "right"},
    "cm": {"kind": "sliding", "marks": "0.1", "longest cut": "31", "hand": "right"},
}  # fmt: skip

#: The keys whose texts are lengths, or lists or mappings of them.
_LENGTHS = frozenset((
    "marks", "longest cut", "narrowest hold", "cut width", "sheet", "size", "edge trim", "width",
    "height", "circle", "reveal", "at", "die allowance", "wrap", "keep from", "lap", "frame",
    "thickness",
))  # fmt: skip


def in_other_unit(file: BatchDraft, unit: Unit) -> BatchDraft:
    """The file in another unit, the old one written behind every length that had none.

    What a trimmer was taken to be becomes what one is taken to be in the other unit.
    """
    texts: dict[KeyPath, str] = {("unit",): unit}
    for path, text in file.texts():
        if path[0] == "trimmer" and TRIMMERS[file.unit].get(str(path[-1])) == text:
            texts[path] = TRIMMERS[unit][str(path[-1])]
        elif _LENGTHS.intersection(_keys(path)) and _has_no_unit(text):
            texts[path] = f"{text} {file.unit}"
    return file.replace(texts)


def _keys(path: KeyPath) -> KeyPath:
    """The keys of a path that are not names of papers or cards."""
    return path[2:] if path[0] in ("papers", "cards") else path


def _has_no_unit(text: str) -> bool:
    """Whether a text is a length, a size or a place whose numbers are in the unit of the file."""
    for parse in (parse_length, parse_size, parse_point):
        try:
            return parse(text, "in") != parse(text, "mm")
        except LengthError:
            continue
    return False
