"""Changes of the text of a YAML file: every byte that a change does not need stays as it is.

Each function gives the places of the text to replace, from the nodes of ``parse_yaml``. Writing the
file out again from its data would keep comments and order, too, but set lines and spaces anew.
"""

import json
from typing import NamedTuple

from nesting.batch import KeyPath
from nesting.files.faults import InputError
from nesting.files.yaml_source import FileText, YamlNode, parse_yaml

#: A value to write: a text, or mappings and lists of texts.
YamlValue = str | dict[str, "YamlValue"] | list["YamlValue"]

#: The papers, cards and their names stand on lines of their own, as do the entries of their lists.
_DEEPEST_BLOCK = 2


class Edit(NamedTuple):
    """What stands between two places of a text, and what is to stand there."""

    start: int
    end: int
    text: str


def edited(text: str, edits: list[Edit]) -> str:
    """The text with some edits that do not overlap."""
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return text


class Editor:
    """Finds what to replace in the text of a parsed file.

    Paths have to be there, but for the last key of one that is written.
    """

    def __init__(self, text: str, source: FileText) -> None:
        self.text = text
        self.root = source.root
        self.line_end = "\r\n" if "\r\n" in text else "\n"

    def write(self, path: KeyPath, value: YamlValue) -> list[Edit]:
        """Put a value at a place; a key that is not there comes after the others."""
        *above, key = path
        mapping, flow = self._node(tuple(above))
        if _has(mapping, key):
            return [self._replacement(_pair(mapping, key)[1], value, flow=flow, path=path)]
        if mapping.flow:
            entry = f"{_scalar(str(key), flow=True)}: {_flow(value)}"
            return [self._into_brackets(mapping, entry)]
        indent = mapping.items[0].place.column - 1
        return [self._new_lines(mapping.items[-1], _entry(str(key), value, indent, path))]

    def append(self, path: KeyPath, value: YamlValue) -> list[Edit]:
        """Put a value after the last of a list."""
        entries, _ = self._node(path)
        if entries.flow:
            return [self._into_brackets(entries, _flow(value))]
        line = " " * self._dash(entries.items[0]) + "- " + _flow(value, flow=False)
        return [self._new_lines(entries.items[-1], [line])]

    def remove(self, path: KeyPath) -> list[Edit]:
        """Take away a key or an entry of a list; the last of a mapping leaves an empty one."""
        *above, key = path
        parent, _ = self._node(tuple(above))
        firsts, lasts = _ends(parent)
        number = int(key) if parent.kind == "list" else _keys(parent).index(str(key))
        first, last = firsts[number], lasts[number]
        if len(firsts) == 1:
            return [self._emptied(parent, first, last)]
        if parent.flow and number:
            return [Edit(lasts[number - 1].end, last.end, "")]
        if parent.flow:
            return [Edit(first.start, firsts[1].start, "")]
        start = self._dash_place(first) if parent.kind == "list" else first.start
        line = self._line_start(start)
        if self.text[line:start].strip():  # behind the dash of a list, where the next key comes
            return [Edit(start, firsts[number + 1].start, "")]
        return [Edit(line, self._next_line(last.end), "")]

    def swap(self, path: KeyPath, first: int, second: int) -> list[Edit]:
        """Change the places of two entries of a list, with the comments that belong to them."""
        entries, _ = self._node(path)
        edits = []
        for here, there in ((first, second), (second, first)):
            start, end = self._extent(entries, here)
            other = slice(*self._extent(entries, there))
            edits.append(Edit(start, end, self.text[other]))
        return edits

    def copy(self, path: KeyPath, name: str) -> list[Edit]:
        """Put a copy of a key's value after the last key of the mapping, under another name."""
        *above, key = path
        mapping, flow = self._node(tuple(above))
        pair = _pair(mapping, key)
        body = self.text[pair[0].end : pair[1].end]
        entry = _scalar(name, flow=flow or mapping.flow) + body
        if mapping.flow:
            return [self._into_brackets(mapping, entry)]
        indent = " " * (mapping.items[0].place.column - 1)
        return [self._new_lines(mapping.items[-1], [indent + entry.rstrip("\r\n")])]

    def rename(self, path: KeyPath, name: str) -> list[Edit]:
        """Give a key another name."""
        *above, key = path
        mapping, flow = self._node(tuple(above))
        pair = _pair(mapping, key)
        return [Edit(pair[0].start, pair[0].end, _scalar(name, flow=flow or mapping.flow))]

    def _node(self, path: KeyPath) -> tuple[YamlNode, bool]:
        """The node at a place, and whether it stands in brackets, its own included."""
        node, flow = self.root, self.root.flow
        for part in path:
            node = _pair(node, part)[1]
            flow = flow or node.flow
        return node, flow

    def _replacement(self, node: YamlNode, value: YamlValue, *, flow: bool, path: KeyPath) -> Edit:
        """Another value for one that is there."""
        line = self.text[self._line_start(node.start) :]
        below = None if flow else _below(value, len(line) - len(line.lstrip(" ")) + 2, path)
        if below is not None:
            start = len(self.text[: node.start].rstrip(" "))
            return Edit(start, node.end, self.line_end + self.line_end.join(below))
        text = _flow(value, flow=flow)
        glued = node.start == node.end and self.text[node.start - 1 : node.start].strip()
        return Edit(node.start, node.end, f" {text}" if glued else text)

    def _into_brackets(self, node: YamlNode, entry: str) -> Edit:
        if not node.items:
            return Edit(node.start + 1, node.end - 1, entry)
        end = node.items[-1].end
        return Edit(end, end, f", {entry}")

    def _new_lines(self, last: YamlNode, lines: list[str]) -> Edit:
        """Lines after the one on which a value ends."""
        place = self._next_line(last.end)
        text = self.line_end.join(lines)
        ended = not place or self.text[place - 1] == "\n"
        text = text + self.line_end if ended else self.line_end + text
        return Edit(place, place, text)

    def _next_line(self, end: int) -> int:
        """Where the line after a value begins; a text of several lines may end with its own."""
        if end and self.text[end - 1] == "\n":
            return end
        found = self.text.find("\n", end)
        return len(self.text) if found < 0 else found + 1

    def _emptied(self, parent: YamlNode, first: YamlNode, last: YamlNode) -> Edit:
        brackets = "{}" if parent.kind == "mapping" else "[]"
        if parent.flow:
            return Edit(parent.start, parent.end, brackets)
        start = first.start if parent.kind == "mapping" else self._dash_place(first)
        if self.text[last.end - 1 : last.end] == "\n":
            brackets += self.line_end
        return Edit(start, last.end, brackets)

    def _extent(self, entries: YamlNode, number: int) -> tuple[int, int]:
        """An entry of a list as it stands: in brackets by itself, else lines, comments above too."""
        node = entries.items[number]
        if entries.flow:
            return node.start, node.end
        start = self._line_start(self._dash_place(node))
        while self.text[self._line_start(start - 1) : start].lstrip().startswith("#"):
            start = self._line_start(start - 1)
        return start, self._next_line(node.end)

    def _line_start(self, place: int) -> int:
        return self.text.rfind("\n", 0, place) + 1

    def _dash_place(self, node: YamlNode) -> int:
        return self.text.rindex("-", 0, node.start)

    def _dash(self, node: YamlNode) -> int:
        """The column, from 0, of the dash before an entry."""
        place = self._dash_place(node)
        return place - self._line_start(place)


def _has(node: YamlNode, key: str | int) -> bool:
    return int(key) < len(node.items) if node.kind == "list" else str(key) in _keys(node)


def _pair(node: YamlNode, key: str | int) -> tuple[YamlNode, YamlNode]:
    """A key and its value; an entry of a list stands for both."""
    if node.kind == "list":
        return node.items[int(key)], node.items[int(key)]
    number = 2 * _keys(node).index(str(key))
    return node.items[number], node.items[number + 1]


def _keys(node: YamlNode) -> list[str]:
    return [key.text or "" for key in node.items[::2]]


def _ends(node: YamlNode) -> tuple[list[YamlNode], list[YamlNode]]:
    """The first and the last node of every entry or pair."""
    if node.kind == "list":
        return node.items, node.items
    return node.items[::2], node.items[1::2]


def _entry(key: str, value: YamlValue, indent: int, path: KeyPath) -> list[str]:
    """The lines of a new key."""
    start = f"{' ' * indent}{_scalar(key, flow=False)}:"
    below = _below(value, indent + 2, path)
    return [f"{start} {_flow(value, flow=False)}"] if below is None else [start, *below]


def _below(value: YamlValue, indent: int, path: KeyPath) -> list[str] | None:
    """The lines below a key; None where its value stands on the same line."""
    if not value or isinstance(value, str) or len(path) > _DEEPEST_BLOCK + isinstance(value, list):
        return None
    if isinstance(value, list):
        return [f"{' ' * indent}- {_flow(one, flow=False)}" for one in value]
    return [line for k, v in value.items() for line in _entry(k, v, indent, (*path, k))]


def _flow(value: YamlValue, *, flow: bool = True) -> str:
    """A value on one line."""
    if isinstance(value, dict):
        pairs = (f"{_scalar(key, flow=True)}: {_flow(one)}" for key, one in value.items())
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _scalar(value, flow=flow)


def _scalar(text: str, *, flow: bool) -> str:
    """A text as it reads back: as it is where that will do, or in quotes."""
    doubled = text.replace("'", "''")
    for written in (text, f"'{doubled}'"):
        if _reads_as(written, text, flow=flow):
            return written
    return json.dumps(text, ensure_ascii=True)


def _reads_as(written: str, text: str, *, flow: bool) -> bool:
    line = f"{{a: {written}, {written}: b}}" if flow else f"a: {written}\n{written}: b\n"
    if not written or "\n" in written or "\r" in written:
        return False
    try:
        source = parse_yaml(line, "")
    except InputError:
        return False
    return source.data == {"a": text, text: "b"} and not (source.warnings or source.faults)
