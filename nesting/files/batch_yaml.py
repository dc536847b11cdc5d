"""Batch files: from YAML to a ``Batch`` with every default filled in."""

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from nesting.batch import Batch, Fault, KeyPath
from nesting.cards.warnings import find_slips
from nesting.files.at_hand import AtHand, fill_from_stash
from nesting.files.batch_models import BatchKeys
from nesting.files.batch_shape import find_shape_faults, unit_of
from nesting.files.batch_sound import find_faults_beside
from nesting.files.faults import MOST_BY_HAND, InputError, nearest_key, read_text, said
from nesting.files.plan_json import FORMAT
from nesting.files.yaml_source import FileText, parse_yaml
from nesting.nearest import Nearest

_WHAT = "a batch file"
_ASKED = ("cards", "pieces")
_OF_CARDS = (*_ASKED, "first", "aim")


def read_batch(path: str | Path, at_hand: AtHand | None = None) -> Batch:
    """Read a batch file.

    Parameters
    ----------
    path
        Of the YAML file.
    at_hand
        Gives what the stash has of a paper, for ``have: stash``.

    Returns
    -------
    Batch
        Free of faults, every default filled in, lengths in nm.

    Raises
    ------
    InputError
        The file cannot be used; its messages name every fault with line and column.

    Examples
    --------
    >>> read_batch("samples/cider.yaml").name
    'Cider tasting cards'
    """
    return read_batch_with_warnings(path, at_hand)[0]


def read_batch_with_warnings(
    path: str | Path, at_hand: AtHand | None = None
) -> tuple[Batch, tuple[str, ...]]:
    """Read a batch file; also say what in it may not be meant, such as ``kraft #2`` unquoted.

    Raises
    ------
    InputError
        The file cannot be used.
    """
    source = parse_batch(path)
    batch = _read(source, at_hand)
    return batch, tuple(text for _, text in sorted(source.warned()))


def parse_batch(path: str | Path) -> FileText:
    """Parse a batch file that has something to cut, its texts still unread.

    Raises
    ------
    InputError
        The file is no YAML.
    """
    source = _parse(path)
    if isinstance(source.data, dict) and _asks_nothing(source.data):
        source.faults.append(Fault((), "neither cards nor pieces", "something to cut"))
    return source


def read_papers(path: str | Path, at_hand: AtHand | None = None) -> Batch:
    """Read the papers and the trimmer of a batch file; its cards and pieces are left out.

    Raises
    ------
    InputError
        What is left cannot be used.
    """
    source = _parse(path)
    if isinstance(source.data, dict):
        source.data = {key: value for key, value in source.data.items() if key not in _OF_CARDS}
    source.faults = [fault for fault in source.faults if fault.path[0] not in _OF_CARDS]
    return _read(source, at_hand)


def _parse(path: str | Path) -> FileText:
    """The file's texts; a plan in place of a batch is told before YAML finds fault with it."""
    text = read_text(path, _WHAT, MOST_BY_HAND)
    if re.match(r"\s*\{", text) and re.search(rf'"format"\s*:\s*"{FORMAT}"', text):
        raise InputError(said(str(path), "a plan", _WHAT))
    return parse_yaml(text, str(path))


def _asks_nothing(data: dict[str, object]) -> bool:
    """Whether there is nothing to cut, under a misspelt key neither."""
    if any(data.get(key, {}) not in ({}, []) for key in _ASKED):
        return False
    unknown = data.keys() - {field.alias for field in BatchKeys.model_fields.values()}
    nearest = Nearest()
    return all(nearest_key(key, _ASKED, nearest) is None for key in unknown)


def _read(source: FileText, at_hand: AtHand | None) -> Batch:
    """The batch, or an error with every fault of its shape and of what it asks."""
    batch, faults = find_batch_faults(source, at_hand)
    for path, words in slips_beside(batch, faults):
        source.warnings.append((source.place_of(Fault(path, "", "")), words))
    if faults or batch is None:
        raise source.error(faults)
    return batch


def find_batch_faults(source: FileText, at_hand: AtHand | None) -> tuple[Batch | None, list[Fault]]:
    """Make a batch of what is sound in a file's texts, and find every fault of the rest."""
    fill_from_stash(source, at_hand)
    found = find_shape_faults(BatchKeys, source.data, unit_of(source.data) or "in")
    shape = source.with_its_own(found)
    batch, sense = find_faults_beside(source.data, shape)
    return batch, shape + sense


def slips_beside(batch: Batch | None, faults: Iterable[Fault]) -> Iterator[tuple[KeyPath, str]]:
    """What looks like a slip of the pen in what is sound, and nothing in what has a fault itself."""
    faulty = {fault.path[:2] for fault in faults}
    for path, words in find_slips(batch) if batch is not None else ():
        if path[:2] not in faulty:
            yield path, words
