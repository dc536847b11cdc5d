"""Changes written into the text of a batch file: all else stays as it is, byte for byte.

They are written as the file has such values: one length for all edges or one for each, a size as
one text or as two.
"""

from pathlib import Path as FilePath
from typing import Any

from nesting.advice.variants import Change
from nesting.batch import Batch, KeyPath
from nesting.files.at_hand import AtHand
from nesting.files.batch_draft import BatchDraft, read_draft, unchangeable
from nesting.files.faults import read_text
from nesting.files.values import AS_MANY_AS_POSSIBLE
from nesting.files.yaml_edit import YamlValue
from nesting.papers import EDGES, Edges
from nesting.typed_lengths import typed_length, typed_size
from nesting.units import Unit

_LENGTHS = ("width", "height", "circle")


def changed_text(
    path: str | FilePath,
    changes: tuple[Change, ...],
    after: Batch,
    at_hand: AtHand | None = None,
) -> str:
    """The text of a batch file with some changes in it.

    Parameters
    ----------
    path
        The batch file.
    changes
        Their paths are those of the file, numbers for layers and loose pieces.
    after
        The batch that the changed file has to give.
    at_hand
        Gives what the stash has of a paper.

    Raises
    ------
    InputError
        The file cannot be read, or the changes do not give that batch, as where one value stands
        for several by an alias.
    """
    draft = read_draft(read_text(path, "a batch file"), str(path), at_hand)
    for change in changes:
        draft = draft.replace(_written(draft, change, after.unit))
    if draft.batch != after:
        raise unchangeable(draft.name)
    return draft.text


def _written(draft: BatchDraft, change: Change, unit: Unit) -> dict[KeyPath, YamlValue]:
    """The places in the file that a change is written to, and the values for them."""
    *above, key = change.path
    place, value = tuple(above), change.value
    inside = draft.value(place)
    if key in ("sheet", "have") and "sheets" in inside:
        place, key = (*place, "sheets", 0), "size" if key == "sheet" else key
        inside = draft.value(place)
    if key in ("size", "sheet"):
        width, height = value
        if key in inside or not {"width", "height"} & set(inside):
            return {(*place, key): typed_size(width, height, unit)}
        sides = zip(("width", "height"), value, strict=True)
        return {(*place, side): typed_length(length, unit) for side, length in sides}
    if isinstance(value, Edges):
        return _written_edges((*place, key), value, inside.get(str(key)), unit)
    if isinstance(value, bool):
        return {(*place, key): "true" if value else "false"}
    if value is None:
        return {(*place, key): {"make": AS_MANY_AS_POSSIBLE, "have": "plenty"}[str(key)]}
    return {(*place, key): typed_length(value, unit) if key in _LENGTHS else str(value)}


def _written_edges(
    place: KeyPath, edges: Edges, present: Any, unit: Unit
) -> dict[KeyPath, YamlValue]:
    """One length where all are the same and one was written, or else one for each edge."""
    texts: dict[str, YamlValue] = {edge: typed_length(getattr(edges, edge), unit) for edge in EDGES}
    if isinstance(present, dict):
        return {(*place, edge): text for edge, text in texts.items()}
    if len({*map(str, texts.values())}) == 1:
        return {place: texts["left"]}
    return {place: texts}
