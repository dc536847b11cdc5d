"""Whether the sheets can be cut at all, and whether each piece can be cut from them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import partial
from itertools import groupby

from nesting.batch import Batch, Fault, Trimmer
from nesting.cards.merging import Request
from nesting.papers import Paper, Sheet
from nesting.pieces import Piece
from nesting.sheets import find_used_up, full_size, taken_off, too_large_words, usable_size
from nesting.units import Unit, length_words, size_words


def find_sheet_faults(batch: Batch) -> Iterator[Fault]:
    """Find what is wrong with the papers themselves: nothing left of a sheet, no cut short enough.

    Sheets too long for the trimmer are no fault where nothing is cut from their paper. Offcuts of the
    stash, and what is left of sheets that were cut, are there, whatever their size.
    """
    for paper in batch.begun.papers if batch.begun else batch.papers:
        for number, sheet in enumerate(paper.sheets):
            if sheet.offcut and sheet.name is None:
                told = size_words(sheet.width, sheet.height, batch.unit)
                words = too_large_words(paper, sheet, told, partial(size_words, unit=batch.unit))
                if words is not None:
                    yield Fault(("papers", paper.name, "sheets", number, "size"), *words)
    used = batch.papers_used
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
                yield from _find_faults_of(sheet, paper, batch, used=paper.name in used)


def without_misfits(requests: Iterable[Request], batch: Batch) -> Iterator[Request]:
    """Leave out the ways to cut a layer that need a piece larger than any whole sheet of the paper.

    The first way stays where nothing else does, and the whole layer where there are papers to choose
    from: that they do not hold it is a fault.
    """
    papers = batch.papers_by_name
    for _, layer in groupby(requests, lambda one: (one.path, one.card)):
        ways = [list(way) for _, way in groupby(layer, lambda one: one.option)]
        number = 0
        for _, some in groupby(ways, lambda way: (way[0].piece.paper, way[0].piece.face)):
            of_paper = list(some)
            fitting = [
                way
                for way in of_paper
                if not any(
                    _misfit(one.piece, papers[one.piece.paper], batch.trimmer) for one in way
                )
            ]
            for way in fitting or of_paper[:1]:
                yield from (replace(one, option=number) for one in way)
                number += 1


def find_misfits(requests: Iterable[Request], batch: Batch) -> Iterator[Fault]:
    """Find the pieces that no whole sheet of their paper gives."""
    papers = batch.papers_by_name
    for one in requests:
        reason = _misfit(one.piece, papers[one.piece.paper], batch.trimmer)
        if reason:
            read = f"{one.use(None).name}, {_said_size(one.piece, batch.unit)}"
            yield Fault(one.path, read, f"a piece that can be cut; this is {reason}")


def _find_faults_of(sheet: Sheet, paper: Paper, batch: Batch, *, used: bool) -> Iterator[Fault]:
    path, told = ("papers", paper.name), size_words(sheet.width, sheet.height, batch.unit)
    used_up = list(find_used_up(paper, sheet, told, batch.trimmer.cut_width))
    yield from (Fault(path, *words) for words in used_up)
    if not used_up and used and not _opens(sheet, paper, batch.trimmer):
        most = batch.trimmer.longest_cut or 0
        fits = min(full_size(paper, sheet)) <= most
        yield Fault(
            path,
            f"the sheet {told} of {paper.name}",
            f"{'its strip and edge trim along edges' if fits else 'a sheet with an edge'} no longer than "
            f"the trimmer's longest cut, {length_words(most, batch.unit)} "
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
    every = "every sheet" if len(whole) == len(paper.sheets) else "every whole sheet"
    sizes = [usable_size(paper, sheet, trimmer.cut_width) for sheet in whole]
    fitting = _fits(piece, piece.turns, sizes)
    if not fitting:
        if _fits(piece, (False, True), sizes):
            return f"larger than {every} of its paper unless turned (turn: {piece.turn})"
        if _fits(piece, piece.turns, [(sheet.width, sheet.height) for sheet in whole]):
            return f"larger than what strip, edge trim and cut width leave of {every}"
        return f"larger than {every} of its paper"
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


def _said_size(piece: Piece, unit: Unit) -> str:
    """A piece's size in words, with the allowance that makes it larger."""
    if piece.shape == "circle":
        size = f"circle {length_words(piece.width, unit)}"
    else:
        size = size_words(piece.width, piece.height, unit)
    if piece.die_allowance:
        allowance = length_words(piece.die_allowance, unit)
        size += f" and a die allowance of {allowance} all round"
    return size
