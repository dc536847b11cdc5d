"""Another name for a paper, a card or a layer: whatever refers to it follows."""

from collections.abc import Iterator

from nesting.batch import KeyPath
from nesting.files import BatchDraft, InputError


def renamed(file: BatchDraft, path: KeyPath, name: str) -> BatchDraft:
    """The file with another name for what is at a place, and in all places that name it.

    Raises
    ------
    InputError
        It is nothing that has a name, or the file cannot be changed there.
    """
    match path:
        case ("papers", str(paper)):
            return file.rename(path, name, dict(_paper_uses(file, paper, name)))
        case ("cards", str(card)):
            uses = {place: name for place in _first_names(file) if file.value(place) == card}
            return file.rename(path, name, uses)
        case ("cards", _, "layers", int(number)):
            over = _layers_over(file, path, file.value((*path, "name")) or f"layer {number + 1}")
            return file.write((*path, "name"), name).replace(dict.fromkeys(over, name))
    raise InputError(f"{path[-1]}; expected a paper, a card or a layer to rename")


def _paper_uses(file: BatchDraft, old: str, new: str) -> Iterator[tuple[KeyPath, str]]:
    """Every place that names a paper, and the text for it."""
    papers = file.value(("papers",))
    for path, text in file.texts():
        if path[0] not in ("cards", "pieces"):
            continue
        if text == old and (path[-1] == "paper" or path[-2] == "one of"):
            yield path, new
        elif path[-2] == "one of" and text not in papers:
            name, slash, face = text.rpartition("/")
            if name == old and face in ("front", "back"):
                yield path, f"{new}{slash}{face}"


def _layers_over(file: BatchDraft, path: KeyPath, name: str) -> list[KeyPath]:
    """Where other layers of the card say that they lie over one."""
    places = ((*path[:-1], number, "over") for number, _ in enumerate(file.value(path[:-1])))
    return [place for place in places if file.value(place) == name]


def _first_names(file: BatchDraft) -> list[KeyPath]:
    """Where the names under ``first`` stand, which may be one or a list."""
    value = file.value(("first",))
    if isinstance(value, list):
        return [("first", number) for number, _ in enumerate(value)]
    return [("first",)] if value is not None else []
