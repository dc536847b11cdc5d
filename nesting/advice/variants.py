"""A batch with something changed: named variants, made of changes by their place in the file."""

from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from nesting.batch import Batch, BatchError, Fault, KeyPath
from nesting.cards.resolving import resolve


@dataclass(frozen=True, slots=True)
class Change:
    """One value of a batch that is other than before.

    ``path`` has the keys of a batch file; a layer or a loose piece goes by its name or its number
    from 0. ``value`` is what the model holds there: a length in nm, ``Edges`` for a reveal, width
    and height for a ``size`` or for a ``sheet`` (of a paper with one size), a word, a number.
    """

    path: KeyPath
    value: Any


@dataclass(frozen=True, slots=True)
class Variant:
    """A batch to compare with another: some changes of it, or ``batch`` in its place.

    Examples
    --------
    >>> from nesting import Edges
    >>> thin = Edges(*4 * [1_587_500])
    >>> Variant("thin mats", (Change(("cards", "windfall", "layers", "mat", "reveal"), thin),)).name
    'thin mats'
    """

    name: str
    changes: tuple[Change, ...] = ()
    batch: Batch | None = None

    def of(self, batch: Batch) -> Batch:
        """The variant of a batch.

        Raises
        ------
        BatchError
            The batch has nothing where a change is to be made.
        """
        return with_changes(self.batch or batch, self.changes)


def with_changes(batch: Batch, changes: tuple[Change, ...]) -> Batch:
    """Make some changes; sizes that derive from a changed one follow it by themselves.

    Returns
    -------
    Batch
        With every default filled in. It may have faults (``nesting.cards.resolving``).

    Raises
    ------
    BatchError
        There is nothing where a change is to be made.
    """
    for change in changes:
        batch = _put(batch, change.path, change)
    return resolve(batch).batch if changes else batch


def _put(inside: Any, path: KeyPath, change: Change) -> Any:
    """The same with the value at the rest of a path put in the place of what is there."""
    if not path:
        return change.value
    key, rest = path[0], path[1:]
    if isinstance(inside, tuple):
        number = _number(inside, key, change)
        return (*inside[:number], _put(inside[number], rest, change), *inside[number + 1 :])
    field = str(key).replace(" ", "_")
    known = {one.name for one in fields(inside)} if is_dataclass(inside) else set()
    if not rest and field == "size" and {"width", "height"} <= known:
        width, height = change.value
        return replace(inside, width=width, height=height)
    if not rest and field in ("sheet", "have", "price") and "sheets" in known:
        (sheet,) = inside.sheets if len(inside.sheets) == 1 else _refuse(change)
        return replace(
            inside, sheets=(_put(sheet, ("size" if field == "sheet" else field,), change),)
        )
    if field not in known:
        _refuse(change)
    return replace(inside, **{field: _put(getattr(inside, field), rest, change)})


def _number(entries: tuple[Any, ...], key: str | int, change: Change) -> int:
    """The place of an entry of a list, by its name or its number."""
    if isinstance(key, int) and 0 <= key < len(entries):
        return key
    for number, entry in enumerate(entries):
        if getattr(entry, "name", None) == key:
            return number
    return int(_refuse(change))


def _refuse(change: Change) -> Any:
    """Say that there is nothing to change."""
    where = " / ".join(map(str, change.path))
    raise BatchError((Fault(change.path, f"a change of {where}", "something that the batch has"),))
