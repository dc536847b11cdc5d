"""A batch file as it is being written: what is there so far, every fault by its path, changes."""

from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from nesting.batch import Batch, Fault, KeyPath
from nesting.files.at_hand import AtHand
from nesting.files.batch_shape import unit_of
from nesting.files.batch_sound import read_standing_card
from nesting.files.batch_yaml import find_batch_faults, slips_beside
from nesting.files.faults import InputError, said
from nesting.files.yaml_edit import Edit, Editor, YamlValue, edited
from nesting.files.yaml_source import FileText, parse_yaml
from nesting.units import Unit


@dataclass(frozen=True, slots=True)
class BatchDraft:
    """The text of a batch file, and all that it says so far.

    ``data`` has the texts as written, ``filled`` the same with what the stash has. ``batch`` is None
    while there are faults or no papers; ``sound`` has what of it is free of faults, with stand-ins
    for papers that are not. Faults and warnings have the path of what they are about.
    """

    text: str
    name: str
    at_hand: AtHand | None
    source: FileText
    data: dict[str, Any]
    filled: dict[str, Any]
    batch: Batch | None
    sound: Batch | None
    faults: tuple[Fault, ...]
    warnings: tuple[tuple[KeyPath, str], ...]

    @property
    def unit(self) -> Unit:
        """The unit of its lengths; inches where it names none, which is a fault."""
        return unit_of(self.data) or "in"

    def value(self, path: KeyPath) -> Any:
        """What is written at a place; None where there is nothing."""
        return _at(self.data, path)

    def filled_value(self, path: KeyPath) -> Any:
        """What holds at a place, with what the stash has; None where there is nothing."""
        return _at(self.filled, path)

    def texts(self, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str]]:
        """Every text of the file, or at a place and in it, with its own place."""
        return _texts(self.value(path), path)

    def standing_card(self, name: str) -> tuple[Batch, dict[str, int]] | None:
        """What of a card stands, faulty or not, and the numbers of its layers in the file."""
        return read_standing_card(self.filled, name, self.faults)

    def write(self, path: KeyPath, value: YamlValue) -> "BatchDraft":
        """Put a value at a place; mappings above it are made where there are none.

        Raises
        ------
        InputError
            The text cannot be changed there without changing something else.
        """
        while len(path) > 1 and self.value(path[:-1]) in (None, {}):
            value = {str(path[-1]): value}
            path = path[:-1]

        def change(data: Any) -> None:
            _at(data, path[:-1])[path[-1]] = value

        return self._changed(lambda editor: editor.write(path, value), change)

    def append(self, path: KeyPath, value: YamlValue) -> "BatchDraft":
        """Put a value after the last of a list, which is made where there is none."""
        if not self.value(path):
            return self.write(path, [value])

        def change(data: Any) -> None:
            _at(data, path).append(value)

        return self._changed(lambda editor: editor.append(path, value), change)

    def remove(self, path: KeyPath) -> "BatchDraft":
        """Take away a key or an entry of a list."""

        def change(data: Any) -> None:
            del _at(data, path[:-1])[path[-1]]

        return self._changed(lambda editor: editor.remove(path), change)

    def swap(self, path: KeyPath, first: int, second: int) -> "BatchDraft":
        """Change the places of two entries of a list."""

        def change(data: Any) -> None:
            entries = _at(data, path)
            entries[first], entries[second] = entries[second], entries[first]

        return self._changed(lambda editor: editor.swap(path, first, second), change)

    def copy(self, path: KeyPath, name: str) -> "BatchDraft":
        """Put a copy of what is under a key after the last key of its mapping."""

        def change(data: Any) -> None:
            _at(data, path[:-1])[name] = deepcopy(_at(data, path))

        return self._changed(lambda editor: editor.copy(path, name), change)

    def replace(self, values: Mapping[KeyPath, YamlValue]) -> "BatchDraft":
        """Put several values at their places at once."""
        if not values:
            return self
        return self._changed(
            lambda editor: [
                edit for path, value in values.items() for edit in editor.write(path, value)
            ],
            lambda data: _put(data, values),
        )

    def rename(self, path: KeyPath, name: str, uses: Mapping[KeyPath, str]) -> "BatchDraft":
        """Give a key another name, and write the new texts of what refers to it."""

        def edits(editor: Editor) -> list[Edit]:
            others = (edit for use, text in uses.items() for edit in editor.write(use, text))
            return [*editor.rename(path, name), *others]

        def change(data: Any) -> None:
            _put(data, uses)
            mapping = _at(data, path[:-1])
            renamed = {name if key == path[-1] else key: value for key, value in mapping.items()}
            mapping.clear()
            mapping.update(renamed)

        return self._changed(edits, change)

    def _changed(
        self, edits: Callable[[Editor], list[Edit]], change: Callable[[Any], None]
    ) -> "BatchDraft":
        """The text edited, which has to say what it said, the change apart."""
        expected = deepcopy(self.data)
        try:
            text = edited(self.text, edits(Editor(self.text, self.source)))
            change(expected)
            draft = read_draft(text, self.name, self.at_hand)
        except (InputError, LookupError, TypeError, ValueError):
            draft = None
        if draft is None or draft.data != expected or list(draft.data) != list(expected):
            raise unchangeable(self.name)
        return draft


def unchangeable(name: str) -> InputError:
    """What is said of a change that would reach further than was said, as one value may stand for several."""
    read = "a value that cannot be changed by itself"
    return InputError(said(name, read, "values written out, without aliases (*)"))


def read_draft(text: str, name: str, at_hand: AtHand | None = None) -> BatchDraft:
    """Read as much as there is of a batch file; ``name`` is the file's in messages.

    Raises
    ------
    InputError
        The text is no YAML, or no keys with their values.
    """
    source = parse_yaml(text, name)
    if not isinstance(source.data, dict):
        raise source.error(find_batch_faults(source, at_hand)[1])
    data = source.data
    paths = {place: path for path, place in source.values.items()}
    warnings = [(paths.get(place, ()), words) for place, words in source.warnings]
    sound, found = find_batch_faults(source, at_hand)
    faults = [fault for fault in found if fault.path != ("papers",) or data.get("papers")]
    batch = sound if not faults and data.get("papers") else None
    warnings += slips_beside(sound, faults)
    filled: Any = source.data  # by now with what the stash has (``fill_from_stash``)
    return BatchDraft(
        text, name, at_hand, source, data, filled, batch, sound, tuple(faults), tuple(warnings)
    )


def _texts(data: Any, path: KeyPath) -> Iterator[tuple[KeyPath, str]]:
    if isinstance(data, str):
        yield path, data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield from _texts(value, (*path, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from _texts(value, (*path, number))


def _put(data: Any, values: Mapping[KeyPath, YamlValue]) -> None:
    for path, value in values.items():
        _at(data, path[:-1])[path[-1]] = value


def _at(data: Any, path: KeyPath) -> Any:
    """What is at a place of plain data; None where there is nothing."""
    for part in path:
        if isinstance(data, dict):
            data = data.get(part)
        elif isinstance(data, list) and isinstance(part, int) and part < len(data):
            data = data[part]
        else:
            return None
    return data
