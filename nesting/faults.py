"""What is wrong with what was asked, beyond the shape of the file."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from nesting.batch import (
    Base,
    Batch,
    BatchError,
    Card,
    Fault,
    Layer,
    LoosePiece,
    Paper,
    PaperOption,
    Piece,
    Sheet,
    Trimmer,
    full_size,
    taken_off,
    usable_size,
)
from nesting.layers import Path, face_of, place, wanted_loose, wanted_of_cards
from nesting.nearest import Nearest
from nesting.units import Unit, format_length, format_size, with_unit


def refuse_faults(batch: Batch) -> None:
    """Let a batch pass that can be planned.

    Raises
    ------
    BatchError
        It cannot; every fault is in it.
    """
    faults = find_faults(batch)
    if faults:
        raise BatchError(faults)


def find_faults(batch: Batch) -> tuple[Fault, ...]:
    """Find what is wrong with what was asked, beyond the shape of the file.

    Returns
    -------
    tuple[Fault, ...]
        Unknown papers, missing faces, layers that cannot be placed, sheets that cannot be cut,
        pieces larger than every sheet; empty where the batch can be planned.
    """
    nearest = Nearest()
    faults = [*_find_sheet_faults(batch), *_find_facing_faults(batch, nearest)]
    faults += find_order_faults(batch.first, [card.name for card in batch.cards])
    for card in batch.cards:
        faults.extend(place(card, nearest)[1])
    broken: dict[Path, list[Path]] = defaultdict(list)
    for fault in faults:
        broken[fault.path[:2]].append(fault.path[2:])
    bad_papers = frozenset(paper.name for paper in batch.papers if ("papers", paper.name) in broken)
    sound = replace(
        batch,
        cards=tuple(
            _sound_part(card, broken.get(("cards", card.name), [])) for card in batch.cards
        ),
        pieces=(),
    )
    wanted = list(wanted_of_cards(sound, without=bad_papers))
    wanted.extend(
        wanted_loose(batch, number, piece)
        for number, piece in enumerate(batch.pieces)
        if ("pieces", number) not in broken and piece.paper not in bad_papers
    )
    for want in wanted:
        reason = _misfit(want.piece, batch.paper(want.piece.paper), batch.trimmer)
        if reason:
            size = _size_words(want.piece, batch.unit)
            faults.append(
                Fault(
                    want.path,
                    f"{want.use.layer}, {size}",
                    f"a piece that can be cut; this is {reason}",
                )
            )
    return tuple(faults)


def _sound_part(card: Card, faults: list[Path]) -> Card:
    """A card without its base, if that has a fault, and without its layers from the first with one."""
    first = min((int(path[1]) for path in faults if path[0] == "layers"), default=None)
    base = None if any(path[0] == "base" for path in faults) else card.base
    return replace(card, base=base, layers=card.layers[:first])


def find_name_faults(batch: Batch) -> Iterator[Fault]:
    """Find papers that are not there and faces left open; no size is looked at."""
    yield from _find_facing_faults(batch, Nearest())


def _find_facing_faults(batch: Batch, nearest: Nearest) -> Iterator[Fault]:
    """Papers that are not there, and faces left open where both are printed."""
    papers = {paper.name: paper for paper in batch.papers}
    asked: list[tuple[Path, Base | Layer | LoosePiece | PaperOption]] = []
    for card in batch.cards:
        path: Path = ("cards", card.name)
        if card.base is not None:
            asked.append(((*path, "base"), card.base))
        for number, layer in enumerate(card.layers):
            here = (*path, "layers", number)
            if layer.choice is None:
                asked.append((here, layer))
            else:
                places = [(*here, "paper", "one of", n) for n in range(len(layer.options))]
                asked.extend(zip(places, layer.options, strict=True))
                yield from _find_repeated(layer.options, papers, places)
    asked.extend((("pieces", n), piece) for n, piece in enumerate(batch.pieces))
    for path, what in asked:
        paper = papers.get(what.paper)
        if paper is None:
            expected = f"one of the papers; {nearest.words(what.paper, papers)}"
            yield Fault((*path, "paper"), f"paper {what.paper!r}", expected)
        elif what.face is None and len(paper.printed_faces) > 1:
            expected = "face: front or face: back"
            if isinstance(what, PaperOption):
                expected = f"{paper.name}/front or {paper.name}/back"
            said = f"no face, and {paper.name!r} is printed on both"
            yield Fault((*path, "face"), said, expected)


def _find_repeated(
    options: tuple[PaperOption, ...], papers: dict[str, Paper], places: list[Path]
) -> Iterator[Fault]:
    """Papers to choose that stand twice, their default faces said."""
    seen: set[tuple[str, str | None]] = set()
    for option, at in zip(options, places, strict=True):
        paper = papers.get(option.paper)
        key = option.paper, face_of(paper, option.face) if paper else option.face
        if key in seen:
            yield Fault(at, f"{option.paper!r} twice", "each paper and face once")
        seen.add(key)


def find_order_faults(first: Sequence[str], names: Collection[str]) -> Iterator[Fault]:
    """Find the designs put first that are none of these names, or stand twice."""
    nearest = Nearest()
    known = dict.fromkeys(names)
    seen: set[str] = set()
    for number, name in enumerate(first):
        if name not in known:
            expected = f"one of the cards; {nearest.words(name, known)}"
            yield Fault(("first", number), f"card {name!r}", expected)
        elif name in seen:
            yield Fault(("first", number), f"card {name!r} twice", "each card once")
        seen.add(name)


def _find_sheet_faults(batch: Batch) -> Iterator[Fault]:
    """What is wrong with the papers themselves: nothing left of a sheet, no cut short enough."""
    for paper in batch.papers:
        path = ("papers", paper.name)
        if all(sheet.offcut for sheet in paper.sheets):
            yield Fault(
                (*path, "sheets"),
                "only offcuts",
                "at least one size of whole sheets (have: 0 where there are none)",
            )
        if paper.grain and any(s.width == s.height for s in paper.sheets if not s.offcut):
            yield Fault(
                (*path, "grain"),
                f"grain: {paper.grain} on a square sheet",
                "grain only on oblong sheets: a square one has no long edge",
            )
        for number, sheet in enumerate(paper.sheets):
            if sheet.strip not in (None, "none") and paper.barcode_strip is None:
                yield Fault(
                    (*path, "sheets", number, "strip"),
                    f"strip: {sheet.strip} on a sheet of {paper.name}",
                    "a barcode strip on the paper, whose width it is",
                )
            else:
                yield from _find_faults_of(sheet, paper, batch)


def _find_faults_of(sheet: Sheet, paper: Paper, batch: Batch) -> Iterator[Fault]:
    size = with_unit(format_size(sheet.width, sheet.height, batch.unit), batch.unit)
    name = f"the sheet {size}"
    width, height = usable_size(paper, sheet, batch.trimmer.cut_width)
    if width <= 0 or height <= 0:
        yield Fault(
            ("papers", paper.name),
            f"{name} of {paper.name} with barcode strip and edge trim as wide as the sheet",
            "a strip and trims that leave something of the sheet",
        )
    elif not _opens(sheet, paper, batch.trimmer):
        longest = with_unit(format_length(batch.trimmer.longest_cut or 0, batch.unit), batch.unit)
        yield Fault(
            ("papers", paper.name),
            f"{name} of {paper.name}",
            f"a sheet with an edge no longer than the trimmer's longest cut, {longest} "
            "(or halve it with scissors first and list the halves as sheets)",
        )


def _opens(sheet: Sheet, paper: Paper, trimmer: Trimmer) -> bool:
    """Whether strip, edge trim and one more cut are each short enough for the trimmer."""
    longest = trimmer.longest_cut
    if longest is None:
        return True
    width, height = full_size(paper, sheet)
    for edge, off, _ in taken_off(paper, sheet, trimmer.cut_width):
        if edge in ("left", "right"):
            if height > longest:
                return False
            width -= off
        else:
            if width > longest:
                return False
            height -= off
    return min(width, height) <= longest


def _misfit(piece: Piece, paper: Paper, trimmer: Trimmer) -> str | None:
    """Say why the piece cannot be cut from any whole sheet of its paper; None where it can."""
    whole = [sheet for sheet in paper.sheets if not sheet.offcut]
    sizes = [usable_size(paper, sheet, trimmer.cut_width) for sheet in whole]
    fitting = _fits(piece, piece.turns, sizes)
    if not fitting:
        if _fits(piece, (False, True), sizes):
            return f"larger than every sheet of its paper unless turned (turn: {piece.turn})"
        if _fits(piece, piece.turns, [(sheet.width, sheet.height) for sheet in whole]):
            return "larger than what strip, edge trim and cut width leave of every sheet"
        return "larger than every sheet of its paper"
    if not any(_reachable(blank, size, trimmer.longest_cut) for blank, size in fitting):
        return "not to be reached with cuts as short as the trimmer's longest cut"
    return None


def _fits(
    piece: Piece, turns: tuple[bool, ...], sizes: list[tuple[int, int]]
) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Every way to lay the piece's blank on a sheet that holds it: blank and sheet."""
    blanks = [piece.on_sheet(turned=turned) for turned in turns]
    return [
        (blank, size)
        for blank in blanks
        for size in sizes
        if blank[0] <= size[0] and blank[1] <= size[1]
    ]


def _reachable(blank: tuple[int, int], size: tuple[int, int], longest: int | None) -> bool:
    """Whether a blank can be trimmed out of a corner of a rectangle, in one order or the other."""
    if longest is None or blank == size:
        return True
    (width, height), (full_width, full_height) = blank, size
    across_first = (width == full_width or full_height <= longest) and (
        height == full_height or width <= longest
    )
    along_first = (height == full_height or full_width <= longest) and (
        width == full_width or height <= longest
    )
    return across_first or along_first


def _size_words(piece: Piece, unit: Unit) -> str:
    """A piece's size in words, with the allowance that makes it larger."""
    if piece.shape == "circle":
        size = f"circle {with_unit(format_length(piece.width, unit), unit)}"
    else:
        size = with_unit(format_size(piece.width, piece.height, unit), unit)
    if piece.die_allowance:
        allowance = with_unit(format_length(piece.die_allowance, unit), unit)
        size += f" and a die allowance of {allowance} all round"
    return size
