"""What the YAML parser complains of, in plain words."""

import re
import sys

from ruamel.yaml.error import MarkedYAMLError, YAMLError

from nesting.files.faults import TextPlace, place_in

_NO_COLON = ("a line without a colon", "a key and a colon with a space after it")

#: A word and more, up to the end or a comment, with no colon that ends a key.
_LACKS_COLON = re.compile(r" *\w((?!:\s|:$| #).)*( #.*)?$")

_PLAIN_WORDS: tuple[tuple[str, str, str], ...] = (
    (r"character '\\t'", "a tab", "plain spaces"),
    (
        r"character '(.)' that cannot",
        "a value that begins with {0}",
        "quotes around a value that begins with {0}",
    ),
    (
        r"mapping values are not allowed",
        "a colon in the middle of a value",
        "one key on a line, lined up with its neighbours, or quotes around a value with ': ' in it",
    ),
    (
        r"sequence entries are not allowed|but found '-'",
        "a dash where no list begins",
        "each '- ' on a line of its own below its key, lined up with the others",
    ),
    (r"expected ',' or '([}\]])'", "more text after a value", "a comma or a closing {0}"),
    (r"could not find expected ':'", *_NO_COLON),
    (
        r"but found '([}\]])'",
        "a closing {0} without an opening one",
        "as many closing as opening brackets",
    ),
    (
        r"expected <block end>, but found '<scalar>'",
        "more text after the closing quote",
        """a value wholly inside its quotes, '…' where it holds ", and "…" where it holds '""",
    ),
    (r"expected <block end>, but found ','", "a comma after a value", "nothing after it"),
    (
        r"expected <block end>",
        "a line that is not lined up with the lines above",
        "keys of one kind indented alike",
    ),
    (r"scanning a quoted scalar", "a quote that is never closed", "a closing quote"),
    (r"undefined tag|scanning a (tag|directive)|<document start>", "text with ! or %", "quotes"),
)


def syntax_fault(error: YAMLError, text: str) -> tuple[TextPlace, str, str]:
    """Where the parser gave up, what it read and what was expected."""
    if not isinstance(error, MarkedYAMLError):
        return TextPlace(1, 1), "text that is not YAML", "key: value lines"
    complaint = f"{error.context or ''}: {error.problem or ''}"
    opened = error.context_mark
    stopped = error.problem_mark or opened
    if re.search("quoted scalar|simple key", complaint) and opened is not None:
        stopped = opened  # where it begins, not where the parser gave up
    place = TextPlace(1, 1)
    if stopped is not None:
        place = TextPlace(stopped.line + 1, stopped.column + 1)
    lines = text.split("\n")[: place.line]
    found = _odd_blank(lines) or _neighbour_fault(complaint, place, lines)
    place, read, expected = found or (place, *_in_plain_words(complaint))
    if (read, expected) == _NO_COLON:
        place, read, expected = _no_colon(place.line, lines[place.line - 1])
    first = place.line - 1
    if "flow" in complaint and opened is not None:
        first = opened.line + 1
        if first != place.line:
            expected += f" for the bracket opened in line {first}"
    return place, read, expected + _hash_hint(text, first, place.line)


def number_fault(text: str) -> tuple[TextPlace, str, str]:
    """Where a number of a character or of a version of YAML is beyond all there are."""
    for found in re.finditer(r"\\U([0-9a-fA-F]{8})", text):
        if int(found[1], 16) > sys.maxunicode:
            expected = f"a character's number, 00000000 to {sys.maxunicode:08X}"
            return place_in(text, found.start()), f"the character {found[0]}", expected
    directive = re.search(r"^%YAML.*", text, re.MULTILINE)
    place = place_in(text, directive.start()) if directive is not None else TextPlace(1, 1)
    return place, "a version of YAML that is not known", "no line with %YAML"


def _odd_blank(lines: list[str]) -> tuple[TextPlace, str, str] | None:
    """A blank that looks like a space and is none, as editors of letters put it, before a value."""
    for number, line in enumerate(lines, 1):
        blank = re.search(r"(?:^ *(?:- *)?|:)([^\S \t\r])", line)
        if blank is not None:
            read = f"a blank that is no plain space (U+{ord(blank[1]):04X})"
            return TextPlace(number, blank.end()), read, "plain spaces"
    return None


def _neighbour_fault(
    complaint: str, place: TextPlace, lines: list[str]
) -> tuple[TextPlace, str, str] | None:
    """What only the lines above the place explain: a colon, a dash or an indent that is not right."""
    here = lines[-1]
    written = [
        (number, line)
        for number, line in enumerate(lines[:-1], 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if "mapping values are not allowed" in complaint:
        if re.match(r" *-[^ -]", here):
            return _at_start(place.line, here), "a dash without a space", "'- ' before the entry"
        if written and not re.search(r":\s", here[: place.column - 1]):
            number, above = written[-1]
            if not re.search(r":(\s|$)", above):
                return _no_colon(number, above)
            if not above.rstrip().endswith(":"):
                expected = "keys of one kind indented alike, '- ' before the first of each entry"
                return _at_start(place.line, here), "a key below one that has its value", expected
    elif re.search(r"find expected ':'|expected '?<(block end|document start)>", complaint):
        alike = [line for _, line in written if _indent(line) == _indent(here)]
        beside_entry = bool(alike) and re.match(r" *(- |\{)", alike[-1])
        if beside_entry and re.search(r":\s", here) and not re.match(r" *- ", here):
            return place, "an entry of a list without its dash", "'- ' before each entry"
        number, above = written[-1] if written else (0, "")
        if _indent(above) == _indent(here) and _LACKS_COLON.match(above):
            return _no_colon(number, above)  # a comment after it ended the value
    return None


def _no_colon(number: int, line: str) -> tuple[TextPlace, str, str]:
    """What a line lacks that ends no key: the colon, or only the space after it."""
    start = _at_start(number, line)
    if re.match(r"[ -]*[^:'\"#]+:[^ ]", line):
        return start, "a colon without a space after it", "a key and a colon with a space after it"
    return start, *_NO_COLON


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _at_start(number: int, line: str) -> TextPlace:
    """The place of a line's first letter."""
    return TextPlace(number, len(line) - len(line.lstrip(" -")) + 1)


def _hash_hint(text: str, first: int, last: int) -> str:
    """A name like ``kraft #2`` without quotes is what breaks most files."""
    for number, line in enumerate(text.split("\n")[:last], 1):
        if number >= first and re.search(r"\S[ \t]+#\w", line):
            return f" (perhaps quotes around the value with a # in line {number})"
    return ""


def _in_plain_words(complaint: str) -> tuple[str, str]:
    """What was read and what was expected, for a complaint of the parser."""
    for pattern, read, expected in _PLAIN_WORDS:
        found = re.search(pattern, complaint)
        if found is not None:
            return read.format(*found.groups()), expected.format(*found.groups())
    return f"text that is not YAML ({complaint})", "key: value lines"
