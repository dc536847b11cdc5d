"""A YAML file as texts, each with its place.

The parser's events are read, and nothing is ever made of a value but its source text: ``2024``,
``yes``, ``4.10`` and ``1e3`` stay what the user wrote, but for letters with accents: they are made
one character each (NFC), as the same name may have been typed in two ways. Tags are refused, so no
object is constructed.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Literal, NoReturn
from unicodedata import normalize

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from ruamel.yaml.reader import ReaderError

from nesting.batch import Fault, KeyPath
from nesting.files.faults import (
    InputError,
    KeyFault,
    TextPlace,
    cut_off,
    half_character,
    located,
    place_in,
    said_at,
)
from nesting.files.yaml_words import number_fault, syntax_fault

_DEEPEST = 20  # a batch file needs 6
#: A batch file has some hundred values. Aliases are counted wherever they stand: a few lines of them
#: can be endless.
_MOST_VALUES = 40_000

_CURLY_QUOTED = re.compile("[“„].*[”“]|[‘‚].*[’‘]")
_TOUCHED_BY_HASH = re.compile(r"[ \t]+#\w\S*")


@dataclass(slots=True)
class YamlNode:
    """A value as parsed; ``items`` of a mapping are keys and values by turns.

    ``start`` and ``end`` are the numbers of its first character and of the one after its last.
    """

    kind: Literal["text", "list", "mapping"]
    place: TextPlace
    text: str | None = None
    items: list["YamlNode"] = field(default_factory=list)
    flow: bool = False
    complete: bool = True
    start: int = 0
    end: int = 0


@dataclass(slots=True)
class FileText:
    """What a file says, and where.

    ``data`` has dicts, lists, texts, and None where a value is missing. ``values`` has the place
    of each value (of a mapping or list under a key, the key's), ``keys`` of each key. ``root`` has
    the same as it stands in the text, aliases and all. A fault under a path in ``silenced`` is a
    mere consequence of one in ``faults``.
    """

    name: str
    data: object = None
    root: YamlNode = field(default_factory=lambda: YamlNode("text", TextPlace(1, 1)))
    values: dict[KeyPath, TextPlace] = field(default_factory=dict)
    keys: dict[KeyPath, TextPlace] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    silenced: set[KeyPath] = field(default_factory=set)
    warnings: list[tuple[TextPlace, str]] = field(default_factory=list)

    def place_of(self, fault: Fault) -> TextPlace:
        """The place of a fault, or of the nearest thing around it that is there."""
        if isinstance(fault, KeyFault) and fault.path in self.keys:
            return self.keys[fault.path]
        for end in range(len(fault.path), 0, -1):
            if fault.path[:end] in self.values:
                return self.values[fault.path[:end]]
        return TextPlace(1, 1)

    def with_its_own(self, faults: Iterable[Fault]) -> list[Fault]:
        """Its faults, and those of some others that do not only follow from one of them."""
        return [
            *self.faults,
            *(
                fault
                for fault in faults
                if not any(
                    fault.path[:end] in self.silenced for end in range(1, len(fault.path) + 1)
                )
            ),
        ]

    def error(self, faults: list[Fault]) -> InputError:
        """The error of some faults, in the order of the file, and the warnings, which may say why."""
        placed = ((self.place_of(fault), fault) for fault in faults)
        said = {(place, said_at(self.name, place, one.read, one.expected)) for place, one in placed}
        return InputError(*(text for _, text in sorted({*said, *self.warned()})))

    def warned(self) -> Iterator[tuple[TextPlace, str]]:
        """The warnings as sentences, each with its place."""
        for place, words in self.warnings:
            yield place, f"{located(self.name, place)}: {words}"


def parse_yaml(text: str, name: str) -> FileText:
    """Read YAML text; ``name`` is the file's in messages.

    Raises
    ------
    InputError
        The text is no YAML, or holds what a batch file has no use for: tags, several documents,
        values nested without end.
    """
    source = FileText(name)
    parser = _Parser(text, source)
    root = parser.parse()
    if root is None:
        raise InputError(
            said_at(name, TextPlace(1, 1), "an empty file", "batch, unit, papers and so on")
        )
    source.root = root
    source.data = _Expansion(source).expand(root, ())
    return source


class _Parser:
    """Makes nodes of the parser's events, with a stack of its own: no nesting can overrun it."""

    def __init__(self, text: str, source: FileText) -> None:
        self.text = text
        self.source = source
        self.anchors: dict[str, YamlNode] = {}
        self.stack = [YamlNode("list", TextPlace(1, 1))]
        self.documents = 0
        self.values = 0

    def parse(self) -> YamlNode | None:
        """The root of the only document; None where there is nothing."""
        try:
            for event in YAML(typ="safe", pure=True).parse(self.text):
                self._take(event)
        except InputError:
            raise
        except ReaderError as error:
            character = f"a control character (U+{ord(self.text[error.position]):04X})"
            self._refuse(place_in(self.text, error.position), character, "plain text")
        except YAMLError as error:
            self._refuse(*syntax_fault(error, self.text))
        except (ValueError, OverflowError, AssertionError):  # ruamel takes any number there
            self._refuse(*number_fault(self.text))
        roots = self.stack[0].items
        return roots[0] if roots and (roots[0].kind != "text" or roots[0].text) else None

    def _refuse(self, place: TextPlace, read: str, expected: str) -> NoReturn:
        raise InputError(said_at(self.source.name, place, read, expected)) from None

    def _take(self, event: Event) -> None:
        place = TextPlace(event.start_mark.line + 1, event.start_mark.column + 1)
        if isinstance(event, MappingEndEvent | SequenceEndEvent):
            self._complete(self.stack.pop(), event)
        elif isinstance(event, DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                self._refuse(place, "a second document after ---", "one batch in a file")
        elif isinstance(event, AliasEvent):
            node = self._aliased(event.anchor, place)
            start, end = event.start_mark.index, event.end_mark.index
            self.stack[-1].items.append(replace(node, start=start, end=end))
        elif isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent):
            node = self._node(event, place)
            self.stack[-1].items.append(node)
            if not node.complete:
                self.stack.append(node)
                if len(self.stack) > _DEEPEST:
                    self._refuse(place, f"more than {_DEEPEST} levels of nesting", "a batch file")

    def _complete(self, node: YamlNode, event: MappingEndEvent | SequenceEndEvent) -> None:
        """End a list or mapping: the event of one without brackets comes after comments."""
        node.complete = True
        node.end = event.end_mark.index if node.flow or not node.items else node.items[-1].end

    def _node(
        self, event: ScalarEvent | MappingStartEvent | SequenceStartEvent, place: TextPlace
    ) -> YamlNode:
        self.values += 1
        if self.values > 2 * _MOST_VALUES:  # keys among them
            self._refuse(place, f"more than {_MOST_VALUES:,} values", "a batch file of fewer")
        if event.tag is not None:
            expected = "a value without a tag (in quotes where it begins with !)"
            self._refuse(place, f"a YAML tag, {event.tag}", expected)
        if isinstance(event, ScalarEvent):
            half = half_character(event.value)
            if half is not None:
                self._refuse(place, half, "a whole character, by its own number or as it is")
            plain = event.style is None
            missing = plain and not event.value
            node = YamlNode("text", place, None if missing else normalize("NFC", event.value))
            if plain and event.value:
                self._warn_of_hash(event, place)
                self._warn_of_curly_quotes(event.value, place)
        else:
            kind: Literal["list", "mapping"] = (
                "mapping" if isinstance(event, MappingStartEvent) else "list"
            )
            node = YamlNode(kind, place, flow=bool(event.flow_style), complete=False)
        node.start, node.end = event.start_mark.index, event.end_mark.index
        if event.anchor is not None:
            self.anchors[event.anchor] = node
        return node

    def _aliased(self, name: str, place: TextPlace) -> YamlNode:
        node = self.anchors.get(name)
        if node is None:
            expected = f"&{name} at an earlier value (or quotes where the value begins with *)"
            self._refuse(place, f"*{name}, which stands for nothing", expected)
        if not node.complete:
            self._refuse(place, f"*{name} inside the value that it stands for", "an end to it")
        return node

    def _warn_of_hash(self, event: ScalarEvent, place: TextPlace) -> None:
        rest = _TOUCHED_BY_HASH.match(self.text, event.end_mark.index)
        if rest is not None:
            warning = (
                f"{event.value!r} ends before "
                f"{rest[0].strip()!r}, which is read as a comment; put the whole value in quotes "
                "if the # belongs to it, or a space after the # if not"
            )
            self.source.warnings.append((place, warning))

    def _warn_of_curly_quotes(self, text: str, place: TextPlace) -> None:
        """Say of a value that an editor of letters has put into curly quotes that they belong to it."""
        if _CURLY_QUOTED.fullmatch(text):
            warning = f"{text}: curly quotes are read as part of the text; straight ones (\" or ') hold a text together"
            self.source.warnings.append((place, warning))


class _Expansion:
    """Writes nodes out as plain data, notes the places, and finds what is missing or doubled."""

    def __init__(self, source: FileText) -> None:
        self.source = source
        self.count = 0

    def expand(self, node: YamlNode, path: KeyPath) -> object:
        """The node's data; aliases are written out wherever they stand."""
        self.count += 1
        self.source.values.setdefault(path, node.place)
        if self.count > _MOST_VALUES or len(path) > _DEEPEST:
            deep = len(path) > _DEEPEST
            read = "deep aliases" if deep else "aliases that stand for too much"
            raise InputError(said_at(self.source.name, node.place, read, "a batch file"))
        match node.kind:
            case "text":
                return node.text
            case "list":
                return self._list(node, path)
            case "mapping":
                return self._mapping(node, path)

    def _list(self, node: YamlNode, path: KeyPath) -> list[object]:
        for number, item in enumerate(node.items):
            if item.kind == "text" and item.text is None:
                here = (*path, number)
                self.source.silenced.add(here)
                expected = "a value after the dash (in quotes where it begins with #)"
                self.source.faults.append(Fault(here, "an empty entry in a list", expected))
        return [self.expand(item, (*path, number)) for number, item in enumerate(node.items)]

    def _mapping(self, node: YamlNode, path: KeyPath) -> dict[str, object]:
        data: dict[str, object] = {}
        lines: dict[str, int] = {}
        cut_short = _CutShort(self.source, path) if node.flow else None
        for key_node, value in zip(node.items[::2], node.items[1::2], strict=True):
            key = key_node.text or ""
            here = (*path, key)
            self.source.keys[here] = key_node.place
            if key_node.kind != "text":
                fault = KeyFault(here, f"a {key_node.kind} as a key", "a word as a key")
                self.source.faults.append(fault)
                continue
            if key in data:
                again = f"key {key!r} a second time, after line {lines[key]}"
                self.source.faults.append(KeyFault(here, again, "each key once"))
                continue
            lines[key] = key_node.place.line
            if value.kind != "text":
                self.source.values[here] = key_node.place
            elif value.text is None:
                self.source.silenced.add(here)
                if cut_short is None or not cut_short.goes_on(key):
                    self.source.faults.append(_no_value(here, key))
            elif cut_short is not None:
                cut_short.end()
                cut_short = _CutShort(self.source, path, key, value.text)
            data[key] = self.expand(value, here)
        if cut_short is not None:
            cut_short.end()
        return data


def _no_value(path: KeyPath, key: str) -> KeyFault:
    """A key by itself, or one whose colon lacks its space."""
    name, colon, value = key.partition(":")
    if colon and name.strip() and value.strip():
        read = f"{cut_off(key)}, a colon without a space after it"
        return KeyFault(path, read, cut_off(f"{name}: {value}"))
    expected = (
        "a key, a colon, a space and a value (in quotes where it holds a comma or begins with #)"
    )
    return KeyFault(path, f"{cut_off(key)} without a value", expected)


#: Keys of a size or a place, which take an x between their lengths.
_OF_TWO_LENGTHS = "size", "sheet", "centre"


class _CutShort:
    """A value in braces that its decimal commas cut up: what follows them seems to be keys."""

    def __init__(self, source: FileText, path: KeyPath, key: str = "", text: str = "") -> None:
        self.source = source
        self.path = (*path, key)
        self.parts = [text]

    def goes_on(self, key: str) -> bool:
        """Whether a key without a value is the next part of the number; then it is taken."""
        if not (self.parts[-1][-1:].isdigit() and key[:1].isdigit()):
            return False
        self.parts.append(key)
        return True

    def end(self) -> None:
        """Report the value, put together again, if it was cut up."""
        if len(self.parts) > 1:
            self.source.silenced.add(self.path)
            key, text = self.path[-1], ",".join(self.parts)
            read = f"{key}: {text}, which its comma cuts up"
            of_two = key in _OF_TWO_LENGTHS and "x" not in text
            right = f"{key}: {' x '.join(self.parts)}" if of_two else f'quotes, {key}: "{text}"'
            self.source.faults.append(Fault(self.path, read, right))
