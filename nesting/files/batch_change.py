"""Changes written into the text of a batch file: all else stays as it is, byte for byte.

They are written as the file has such values: one length for all edges or one for each, a size as
one text or as two.
"""

from typing import Any

from nesting.advice.variants import Change
from nesting.batch import Batch, KeyPath
from nesting.files.batch_draft import BatchDraft, unchangeable
from nesting.files.values import AS_MANY_AS_POSSIBLE
from nesting.files.yaml_edit import YamlValue
from nesting.papers import EDGES, Edges
from nesting.typed_lengths import typed_length, typed_size
from nesting.units import Unit

_LENGTHS = ("width", "height", "circle")


def with_changes_written(
    draft: BatchDraft, changes: tuple[Change, ...], after: Batch
) -> BatchDraft:
    """A batch file with some changes in it.

    Parameters
    ----------
    changes
        Their paths are those of the file, numbers for layers and loose pieces.
    after
        The batch that the changed file has to give.

    Raises
    ------
    InputError
        The changes do not give that batch, as where one value stands for several by an alias.
    """
    for change in changes:
        draft = draft.replace(_written(draft, change, after.unit))
    if draft.batch != after:
        raise unchangeable(draft.name)
    return draft


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
