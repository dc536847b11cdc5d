"""The batch that is being written, its fields named by JSON Pointers (RFC 6901)."""

from itertools import count
from typing import Any

from nesting.batch import Batch, KeyPath
from nesting.files import BatchDraft, InputError, read_draft
from nesting.page.folder.other_unit import TRIMMERS, in_other_unit
from nesting.page.folder.renaming import renamed
from nesting.papers import EDGES
from nesting.units import NANOMETRES, Unit

#: What stands before the pointer of a paper or card, in the name of the field that has its name.
NAME_OF = "name:"
#: What one text in place of a mapping stands for.
_SHORT = {"front": ("print",), "back": ("print",), "reveal": EDGES, "edge trim": EDGES}
#: What a mapping is nothing without: it goes when that is taken away.
_HANGS_ON = {"barcode strip": "edge", "front": "print", "back": "print", "base": "paper"}
#: What a choice shows where the file says nothing: not written by a form that only shows it.
_UNLESS_SAID = {
    "unit": "in", "kind": "sliding", "hand": "right", "repeat": "same ruler setting",
    "can stop": "false", "buy": "true", "print": "plain", "up": "top", "back usable": "false",
    "offcut": "false", "where": "outside", "fold": "left", "alike": "all",
    "prefer": "easy-cutting", "aim": "most cards", "belt": "false",
    "save middles": "false", "join": "never",
}  # fmt: skip
#: Words that have two spellings, and the keys that have one of them.
_SPELLINGS = {"yes": "true", "no": "false"}
_YES_OR_NO = (
    "can stop",
    "buy",
    "beyond the sheet",
    "back usable",
    "offcut",
    "belt",
    "save middles",
)
_STRIP_WIDTH: dict[Unit, str] = {"in": "1/2", "mm": "12", "cm": "1.2"}


def pointer_of(path: KeyPath) -> str:
    """A path as a JSON Pointer.

    Examples
    --------
    >>> pointer_of(("papers", "a/b", "sheets", 0))
    '/papers/a~1b/sheets/0'
    """
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in path)


def is_in(pointer: str, around: str) -> bool:
    """Whether a pointer is of a place, or of something in it."""
    return pointer == around or pointer.startswith(f"{around}/")


class Draft:
    """A batch file as it is now; a change gives another draft.

    ``batch`` is None while there are faults, or no papers; ``sound`` has what is free of faults.
    """

    def __init__(self, file: BatchDraft) -> None:
        self.file = file
        self.faults: dict[str, list[str]] = {}
        for fault in file.faults:
            words = f"{fault.read}; expected {fault.expected}"
            told = self.faults.setdefault(pointer_of(fault.path), [])
            if words not in told:  # one text stands for four edges
                told.append(words)
        self.warnings: dict[str, list[str]] = {}
        for path, words in file.warnings:
            self.warnings.setdefault(pointer_of(path), []).append(words)

    @property
    def text(self) -> str:
        """The file's text."""
        return self.file.text

    @property
    def batch(self) -> Batch | None:
        """The batch, where there are papers and no faults."""
        return self.file.batch

    @property
    def sound(self) -> Batch | None:
        """What of the batch is free of faults, with stand-ins for papers that are not."""
        return self.file.sound

    @property
    def unit(self) -> Unit:
        """The unit of the file's lengths; inches where it names none."""
        return self.file.unit

    def has_fault(self, *places: str) -> bool:
        """Whether something is wrong at one of some pointers, or in what is there."""
        return any(is_in(fault, place) for fault in self.faults for place in places)

    def path(self, pointer: str) -> KeyPath:
        """The path that a pointer names: what is a number in a list is one.

        Raises
        ------
        InputError
            It is no pointer.
        """
        if not pointer.startswith("/"):
            raise InputError(f"{pointer!r}; expected a pointer to a place in the file")
        path: KeyPath = ()
        for part in pointer.split("/")[1:]:
            key = part.replace("~1", "/").replace("~0", "~")
            in_list = isinstance(self.file.value(path), list) and key.isdecimal()
            path = (*path, int(key) if in_list else key)
        return path

    def value(self, pointer: str) -> Any:
        """What is written at a place, spelled out where one text stands for several."""
        return self.file.value(self.place(pointer))

    def place(self, pointer: str) -> KeyPath:
        """Where what a pointer names is written: one text may stand for several."""
        path = self.path(pointer)
        return path[:-1] if self._short(path) else path

    def text_at(self, pointer: str) -> str:
        """The text at a place; empty where there is none."""
        value = self.value(pointer)
        return value if isinstance(value, str) else ""

    def print_of(self, paper: object, face: str) -> str:
        """The print on a face of a paper, as the stash has it where the paper is left to that."""
        there = self.file.filled_value(("papers", str(paper), face))
        text = there.get("print") if isinstance(there, dict) else there
        return text if isinstance(text, str) else "plain"

    def printed_faces(self, paper: object) -> list[str]:
        """The faces of a paper that are not plain."""
        return [face for face in ("front", "back") if self.print_of(paper, face) != "plain"]

    def keys(self, pointer: str) -> list[str]:
        """The keys or numbers of what is at a place."""
        value = self.file.value(self.path(pointer))
        if isinstance(value, list):
            return [str(number) for number, _ in enumerate(value)]
        return list(value) if isinstance(value, dict) else []

    def numbers(self, pointer: str) -> list[int]:
        """The numbers of the entries of a list; none of what is no list, which is a fault."""
        value = self.file.value(self.path(pointer))
        return [number for number, _ in enumerate(value)] if isinstance(value, list) else []

    def _short(self, path: KeyPath) -> bool:
        """Whether one text stands for the mapping that a path leads into."""
        return (
            len(path) > 1
            and path[-1] in _SHORT.get(str(path[-2]), ())
            and isinstance(self.file.value(path[:-1]), str)
        )

    def says(self, pointer: str, text: str) -> bool:
        """Whether a text is what a form shows at a place, or the name of what is there."""
        if pointer.startswith(NAME_OF):
            return text == str(self.path(pointer.removeprefix(NAME_OF))[-1])
        return text == self.shown_at(pointer)

    def shown_at(self, pointer: str) -> str:
        """What a choice shows at a place: the text there, or what holds where there is none."""
        key, text = pointer.rpartition("/")[2], self.text_at(pointer)
        if key in _YES_OR_NO:
            text = _SPELLINGS.get(text.lower(), text.lower())
        return text or _UNLESS_SAID.get(key, "")

    def with_entry(self, pointer: str, name: str, value: Any) -> "Draft":
        """Put a new entry after the last of a list, or under a new name.

        Raises
        ------
        InputError
            There is no name, or one that is there already.
        """
        path = self.path(pointer)
        if path[-1] == "one of" and isinstance(self.file.value(path[:-1]), str):
            return self._with_choice(path[:-2], value)
        if path[-1] == "sheets" and self.file.value(path) is None:
            return Draft(self._with_sheets(path[:-1]).append(path, value))
        if len(path) > 1 or path[0] == "pieces":
            return Draft(self.file.append(path, value))
        _refuse_taken(name, self.keys(pointer))
        return Draft(self.file.write((*path, name), value))

    def _with_choice(self, layer: KeyPath, option: str) -> "Draft":
        """Let the plan choose between the paper and face that a layer has and another one."""
        here = self.file.value(layer)
        own = f"{here['paper']}/{here['face']}" if "face" in here else here["paper"]
        file = self.file.write((*layer, "paper"), {"one of": [own, option]})
        return Draft(file.remove((*layer, "face")) if "face" in here else file)

    def _with_sheets(self, paper: KeyPath) -> BatchDraft:
        """The one size of a paper as the first of a list."""
        keys = {"sheet": "size", "have": "have", "price": "price"}
        there = [key for key in keys if self.file.value((*paper, key)) is not None]
        if not there:
            return self.file
        one = {keys[key]: self.file.value((*paper, key)) for key in there}
        # Before they go: a paper with nothing in it has no style.
        file = self.file.append((*paper, "sheets"), one)
        for key in there:
            file = file.remove((*paper, key))
        return file

    def written_out(self, pointer: str) -> "Draft":
        """A paper that is left to the stash with all that the stash says of it."""
        path = self.path(pointer)
        return Draft(self.file.write(path, self.file.filled_value(path)))

    def free_name(self, path: KeyPath, name: str) -> str:
        """A name that is not there yet, with a number where it is."""
        there = self.file.value(path)
        names = (f"{name} {number}" if number > 1 else name for number in count(1))
        return next(one for one in names if one not in there)

    def with_field(self, name: str, text: str) -> "Draft":
        """Put a text at its place, or give what is there a name; an empty text takes the key away.

        Raises
        ------
        InputError
            The file cannot be changed there without changing something else.
        """
        if self.says(name, text):
            return self
        if name.startswith(NAME_OF):
            return self.with_name(name.removeprefix(NAME_OF), text)
        unit = next((one for one in NANOMETRES if one == text), None)
        if name == "/unit" and unit is not None and self.value("/unit"):
            return Draft(in_other_unit(self.file, unit))
        return self._with_field(self.path(name), text)

    def _with_field(self, path: KeyPath, text: str) -> "Draft":
        match path:
            case ("cards", _, "layers", int(), "name"):
                return self._with_layer_name(path[:-1], text)
        if not text:
            return self._without_field(path)
        *_, above, key = ("", *path)
        holder = path[:-1]
        there = self.file.value(holder)
        value: Any = text
        if isinstance(there, str) and above in _SHORT:
            value = dict.fromkeys(_SHORT[str(above)], there) | {key: text}
            path = holder
        elif there is None and above in _SHORT and len(_SHORT[str(above)]) == 1:
            value = {"print": "plain", key: text}
            path = holder
        elif isinstance(there, str) and above == "envelope":
            size = {} if there in (*_SPELLINGS, *_SPELLINGS.values()) else {"size": there}
            value = size | {key: text}
            path = holder
        elif there is None and above == "barcode strip":
            width = _STRIP_WIDTH[self.unit]
            value = {"edge": "bottom", "width": width, "beyond the sheet": "true"} | {key: text}
            path = holder
        if isinstance(value, dict) and value.keys() == {"print"}:
            value = value["print"]
        file = self.file.write(path, value)
        return Draft(self._facing(file, holder, text) if key == "paper" else file)

    def _facing(self, file: BatchDraft, path: KeyPath, paper: str) -> BatchDraft:
        """What gets a paper that is printed on both faces shows one of them; else none is named."""
        both = len(self.printed_faces(paper)) > 1
        face = (*path, "face")
        if both == (file.value(face) is not None):
            return file
        return file.write(face, "front") if both else file.remove(face)

    def _without_field(self, path: KeyPath) -> "Draft":
        above = str(path[-2]) if len(path) > 1 else ""
        if self._short(path) and _SHORT[above] == EDGES:
            there = self.file.value(path[:-1])
            others = {edge: there for edge in _SHORT[above] if edge != path[-1]}
            return Draft(self.file.write(path[:-1], others))
        face = (*path[:-1], "face")
        if path[-1] == "paper" and self.file.value(face) is not None:
            return Draft(self.file.remove(face))._without_field(path)
        if self._short(path) or _HANGS_ON.get(above) == path[-1]:
            path = path[:-1]
        while self._is_all_of(path):
            path = path[:-1]
        return self if self.file.value(path) is None else Draft(self.file.remove(path))

    def _is_all_of(self, path: KeyPath) -> bool:
        """Whether what is around a place would be nothing without it: not a paper, card or layer."""
        around = self.file.value(path[:-1])
        named = len(path) <= 3 or isinstance(path[-2], int)
        return not named and around is not None and len(around) == 1

    def _with_layer_name(self, layer: KeyPath, name: str) -> "Draft":
        layers = pointer_of(layer[:-1])
        others = [number for number in self.numbers(layers) if number != layer[-1]]
        _refuse_taken(name, [self.text_at(f"{layers}/{number}/name") for number in others])
        return Draft(renamed(self.file, layer, name))

    def with_name(self, pointer: str, name: str) -> "Draft":
        """Give a paper or a card another name; whatever refers to it follows."""
        path = self.path(pointer)
        _refuse_taken(name, [one for one in self.keys(pointer_of(path[:-1])) if one != path[-1]])
        return Draft(renamed(self.file, path, name))


def _refuse_taken(name: str, others: list[str]) -> None:
    """Refuse no name, and one that differs from another in capitals alone: it would be a slip."""
    if not name:
        raise InputError("no name; expected a new one")
    for other in others:
        if other.casefold() == name.casefold():
            raise InputError(f"{other!r}, which is there already; expected a new name")


def new_batch(name: str, unit: Unit) -> str:
    """The text of a batch file with nothing in it yet but a trimmer.

    Raises
    ------
    InputError
        The name is none that a batch can have.
    """
    file = read_draft(f"batch: batch\nunit: {unit}\n", "a new batch").write(("batch",), name)
    if file.faults:
        faults = ((fault.read.removeprefix("batch: "), fault.expected) for fault in file.faults)
        raise InputError(*(f"{read}; expected {expected}" for read, expected in faults))
    return file.write(("trimmer",), TRIMMERS[unit]).text
