"""Check a plan against its batch: everything worked out again from the two alone.

A wrong plan ruins paper that nobody can buy again. So nothing the planner says is believed here:
pieces, sizes, counts, areas, figures and proofs are recomputed, and nothing is shared with the
planner but the model itself.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations
from math import ceil, gcd, pi
from typing import TYPE_CHECKING, Literal, NamedTuple

from nesting.batch import (
    BASE,
    ON_CARD,
    Axis,
    Base,
    Batch,
    Card,
    Edge,
    FaceName,
    Layer,
    LoosePiece,
    Paper,
    Piece,
    Print,
    Score,
    Sheet,
    Supply,
    Turn,
    Use,
    full_size,
    is_kept,
    starting_edges,
    supplies,
    taken_off,
    usable_size,
)
from nesting.plan import (
    Blank,
    Bound,
    Cut,
    EdgeTrim,
    Layout,
    Node,
    Offcut,
    PaperFigures,
    Plan,
    Strip,
)
from nesting.units import Unit, format_length, format_size, with_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

#: Cells of the dynamic programme beyond which a proof is not verified but refused.
_MOST_CELLS = 5_000_000
#: How far a share may be off: the last of its six decimals.
_LAST_DECIMAL = 1e-6


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a plan.

    ``rule`` is a short stable name, ``where`` such as "layout 2, blank A", ``said`` one sentence.
    """

    rule: str
    where: str
    said: str


class _Kind(NamedTuple):
    """Everything that makes two pieces equal."""

    shape: Literal["rect", "circle"]
    width: int
    height: int
    die_allowance: int
    paper: str
    face: FaceName
    print: Print
    up: Edge
    turn: Turn
    grain: Axis | None
    score: Score | None


class _Rect(NamedTuple):
    """A rectangle on the sheet, in nm."""

    x: int
    y: int
    width: int
    height: int

    @property
    def area(self) -> int:
        return self.width * self.height


_Leaf = Blank | Offcut | Strip | EdgeTrim


@dataclass(frozen=True, slots=True)
class _CutUp:
    """A layout cut up: leaves, cuts and impossible cuts, each with its rectangle.

    ``loss`` is the area that the cut width takes, in nm².
    """

    layout: Layout
    leaves: list[tuple[_Leaf, _Rect]]
    cuts: list[tuple[Cut, _Rect]]
    impossible: list[tuple[Cut, _Rect]]
    loss: int


@dataclass(frozen=True, slots=True)
class _Case:
    """What the rules look at: the batch with its defaults, the plan, and what is made of both.

    ``demand`` has the recounted demand of those pieces of the plan that are asked for.
    """

    batch: Batch
    plan: Plan
    papers: dict[str, Paper]
    wanted: dict[_Kind, list[Use]]
    pieces: dict[str, Piece]
    demand: dict[str, int]
    sheets: tuple[_CutUp, ...]

    def sheets_of(self, paper: str) -> list[_CutUp]:
        """The layouts of a paper, cut up."""
        return [one for one in self.sheets if one.layout.paper == paper]

    def uncut(self, paper: str) -> bool:
        """Whether some pieces of a paper are listed as uncut."""
        ids = {one.piece for one in self.plan.uncut}
        return any(id_ in ids and piece.paper == paper for id_, piece in self.pieces.items())


def check(batch: Batch, plan: Plan) -> tuple[Fault, ...]:
    """Check a plan against what was asked, from scratch.

    Parameters
    ----------
    batch
        What was asked, with or without its defaults filled in.
    plan
        Anyone's answer to it.

    Returns
    -------
    tuple[Fault, ...]
        Everything that is wrong, named; empty where the plan can be trusted. A bound ``by``
        search is taken on trust, and only held against the plan's own numbers.
    """
    unsound = list(_find_unsound(batch))
    if unsound:
        return tuple(unsound)
    batch = _filled(batch)
    wanted = _wanted(batch)
    unsound = list(_find_nothings(wanted))
    if unsound:
        return tuple(unsound)
    case = _Case(
        batch=batch,
        plan=plan,
        papers={paper.name: paper for paper in batch.papers},
        wanted=wanted,
        pieces={piece.id: piece for piece in plan.pieces},
        demand=_recount(plan.pieces, wanted),
        sheets=tuple(_cut_up(layout) for layout in plan.layouts),
    )
    return tuple(fault for rule in _RULES for fault in rule(case))


# What was asked ---------------------------------------------------------------------------------


def _find_unsound(batch: Batch) -> Iterator[Fault]:
    """Names in the batch that lead nowhere: no plan can be held against it."""
    papers = {paper.name: paper for paper in batch.papers}
    for paper in batch.papers:
        if all(sheet.offcut for sheet in paper.sheets):
            yield Fault("batch", paper.name, "the batch has no whole sheets of this paper.")
    asked: list[tuple[str, Base | Layer | LoosePiece]] = []
    for card in batch.cards:
        if card.base is not None:
            asked.append((f"{card.name}, {BASE}", card.base))
        below = {ON_CARD}
        for layer in card.layers:
            where = f"{card.name}, {layer.name}"
            asked.append((where, layer))
            if layer.over is not None and layer.over not in below:
                yield Fault("batch", where, f"it lies over {layer.over!r}, which is not below it.")
            below.add(layer.name)
    asked.extend((piece.name, piece) for piece in batch.pieces)
    for where, what in asked:
        if what.paper not in papers:
            yield Fault("batch", where, f"its paper {what.paper!r} is not in the batch.")
        elif what.face is None and len(papers[what.paper].printed_faces) > 1:
            said = f"{what.paper!r} is printed on both faces, and no face is given."
            yield Fault("batch", where, said)


def _find_nothings(wanted: dict[_Kind, list[Use]]) -> Iterator[Fault]:
    """Pieces of no size, as where a reveal leaves nothing, or of no number."""
    for kind, uses in wanted.items():
        if kind.width <= 0 or kind.height <= 0:
            yield Fault("batch", _use_words(uses[0]), "its size comes to nothing.")
        for use in uses:
            if use.count < 1:
                yield Fault("batch", _use_words(use), f"{use.count} are asked for, not 1 or more.")


def _filled(batch: Batch) -> Batch:
    """The batch with every face, turn and layer underneath said."""
    papers = {paper.name: paper for paper in batch.papers}
    cards = []
    for card in batch.cards:
        latest: dict[str, str] = {}
        layers = []
        for layer in card.layers:
            face, turn = _facing(papers[layer.paper], layer.face, layer.turn)
            over = layer.over or latest.get(layer.where, ON_CARD)
            layers.append(replace(layer, face=face, turn=turn, over=over))
            latest[layer.where] = layer.name
        base = card.base
        if base is not None:
            base = replace(base, face=_facing(papers[base.paper], base.face, None)[0])
        cards.append(replace(card, base=base, layers=tuple(layers)))
    pieces = []
    for piece in batch.pieces:
        face, turn = _facing(papers[piece.paper], piece.face, piece.turn)
        pieces.append(replace(piece, face=face, turn=turn))
    return replace(batch, cards=tuple(cards), pieces=tuple(pieces))


def _facing(paper: Paper, face: FaceName | None, turn: Turn | None) -> tuple[FaceName, Turn]:
    """Face and turn as given, or: the printed face, and never turned where the print shows it."""
    if face is None:
        only_back = paper.front.print == "plain" and paper.back.print != "plain"
        face = "back" if only_back else "front"
    if turn is None:
        print_ = (paper.back if face == "back" else paper.front).print
        turn = "may" if print_ in ("plain", "four-way") else "never"
    return face, turn


def _wanted(batch: Batch) -> dict[_Kind, list[Use]]:
    """What is to be cut, by kind, with the cards and layers it is for; ``batch`` is filled."""
    papers = {paper.name: paper for paper in batch.papers}
    wanted: defaultdict[_Kind, list[Use]] = defaultdict(list)
    for card in batch.cards:
        sets = card.make + card.spares
        if card.base is not None:
            kind = _base_kind(card, card.base, papers[card.base.paper])
            wanted[kind].append(Use(card.name, BASE, sets))
        for layer, (round_, width, height) in zip(card.layers, _layer_sizes(card), strict=True):
            kind = _kind(layer, papers[layer.paper], width, height, round_=round_)
            wanted[kind].append(Use(card.name, layer.name, sets * layer.each))
    for piece in batch.pieces:
        width, height = piece.circle or piece.width or 0, piece.circle or piece.height or 0
        round_ = piece.circle is not None
        kind = _kind(piece, papers[piece.paper], width, height, round_=round_)
        wanted[kind].append(Use(None, piece.name, piece.count))
    return dict(wanted)


def _layer_sizes(card: Card) -> Iterator[tuple[bool, int, int]]:
    """Of each layer whether it is round, and the width and height to cut, wrap and all."""
    seen = {ON_CARD: (False, card.width, card.height)}
    for layer in card.layers:
        round_, width, height = seen[layer.over or ON_CARD]
        if layer.reveal is not None:
            width -= layer.reveal.left + layer.reveal.right
            height -= layer.reveal.top + layer.reveal.bottom
        elif layer.circle is not None:
            round_, width, height = True, layer.circle, layer.circle
        else:
            round_ = False
            width = width if layer.width is None else layer.width
            height = height if layer.height is None else layer.height
        seen[layer.name] = round_, width, height
        left_open = [layer.width is None, layer.height is None]
        wraps_width = left_open[0] if left_open[0] != left_open[1] else width >= height
        if wraps_width:
            yield round_, width + 2 * layer.wrap, height
        else:
            yield round_, width, height + 2 * layer.wrap


def _kind(
    asked: Layer | LoosePiece, paper: Paper, width: int, height: int, *, round_: bool
) -> _Kind:
    """The kind of a layer or a loose piece whose size is known."""
    face, turn = _facing(paper, asked.face, asked.turn)
    side = paper.back if face == "back" else paper.front
    shape: Literal["rect", "circle"] = "circle" if round_ else "rect"
    return _Kind(
        shape, width, height, asked.die_allowance, paper.name, face, side.print, side.up, turn,
        grain=None, score=None,
    )  # fmt: skip


def _base_kind(card: Card, base: Base, paper: Paper) -> _Kind:
    """The kind of a card's base laid flat; its grain should run along the fold."""
    face, turn = _facing(paper, base.face, None)
    side = paper.back if face == "back" else paper.front
    width, height = card.width, card.height
    score: Score | None = None
    fold: Axis | None = None
    if base.fold == "left":
        width, score, fold = 2 * width, Score("x", card.width), "y"
    elif base.fold == "top":
        height, score, fold = 2 * height, Score("y", card.height), "x"
    return _Kind(
        "rect", width, height, 0, paper.name, face, side.print, side.up, turn,
        grain=fold if paper.grain else None, score=score,
    )  # fmt: skip


# Words ------------------------------------------------------------------------------------------


def _use_words(use: Use) -> str:
    """What a piece is for: "windfall, mat", or the name of a loose piece."""
    return use.layer if use.card is None else f"{use.card}, {use.layer}"


def _length_words(length: int, unit: Unit) -> str:
    """A length with its unit; below nothing with a sign."""
    sign = "-" if length < 0 else ""
    return sign + with_unit(format_length(abs(length), unit), unit)


def _size_words(width: int, height: int, unit: Unit) -> str:
    """A size with its unit."""
    if width < 0 or height < 0:
        return f"{_length_words(width, unit)} x {_length_words(height, unit)}"
    return with_unit(format_size(width, height, unit), unit)


def _blank_words(case: _Case, layout: Layout, id_: str) -> str:
    letter = case.pieces[id_].letter if id_ in case.pieces else repr(id_)
    return f"layout {layout.id}, blank {letter}"


def _repeated(names: Iterable[str | int]) -> list[str | int]:
    return [name for name, count in Counter(names).items() if count > 1]


# Pieces -----------------------------------------------------------------------------------------


def _kind_of(piece: Piece) -> _Kind:
    return _Kind(*(getattr(piece, name) for name in _Kind._fields))


def _recount(pieces: tuple[Piece, ...], wanted: dict[_Kind, list[Use]]) -> dict[str, int]:
    """The demand of each piece that is asked for; of pieces listed twice only the first counts."""
    left = dict(wanted)
    demand = {}
    for piece in pieces:
        uses = left.pop(_kind_of(piece), None)
        if uses is not None:
            demand[piece.id] = sum(use.count for use in uses)
    return demand


def _check_asked(case: _Case) -> Iterator[Fault]:
    """The plan answers this batch, every default said."""
    if case.plan.asked != case.batch:
        said = (
            f"it was made for another batch than {case.batch.name!r}, or for another state of it."
        )
        yield Fault("asked", "plan", said)


def _check_pieces(case: _Case) -> Iterator[Fault]:
    """The list of pieces is what the cards and loose pieces come to."""
    left = dict(case.wanted)
    for piece in case.plan.pieces:
        where = f"piece {piece.letter} {piece.name}"
        uses = left.pop(_kind_of(piece), None)
        if uses is None:
            size = _size_words(piece.width, piece.height, case.batch.unit)
            yield Fault(
                "piece", where, f"no piece of {size} like it is asked for, or it stands twice."
            )
            continue
        demand = sum(use.count for use in uses)
        if piece.demand != demand:
            said = f"the plan says {piece.demand} are needed; the batch asks for {demand}."
            yield Fault("piece", where, said)
        if Counter(piece.uses) != Counter(uses):
            asked = "; ".join(f"{_use_words(use)}: {use.count}" for use in uses)
            yield Fault(
                "piece", where, f"what it is for differs from the batch, which has {asked}."
            )
    for kind, uses in left.items():
        size = _size_words(kind.width, kind.height, case.batch.unit)
        said = f"a piece of {size} from {kind.paper!r} is asked for and not in the plan."
        yield Fault("piece", _use_words(uses[0]), said)
    for id_ in _repeated(piece.id for piece in case.plan.pieces):
        yield Fault("piece", f"piece {id_}", "two pieces have this id.")
    for letter in _repeated(piece.letter for piece in case.plan.pieces):
        yield Fault("piece", f"piece {letter}", "two pieces have this letter.")


# Layouts ----------------------------------------------------------------------------------------


def _cut_up(layout: Layout) -> _CutUp:
    """Cut a layout up; what lies beyond an impossible cut is lost."""
    leaves: list[tuple[_Leaf, _Rect]] = []
    cuts: list[tuple[Cut, _Rect]] = []
    impossible: list[tuple[Cut, _Rect]] = []
    loss = 0
    todo: list[tuple[Node, _Rect]] = [(layout.tree, _Rect(0, 0, layout.width, layout.height))]
    while todo:
        node, (x, y, width, height) = todo.pop()
        rect = _Rect(x, y, width, height)
        if not isinstance(node, Cut):
            leaves.append((node, rect))
            continue
        extent = width if node.axis == "x" else height
        if not 0 < node.at < extent:
            impossible.append((node, rect))
            continue
        cuts.append((node, rect))
        lost = min(layout.cut_width, extent - node.at)
        rest = extent - node.at - lost
        if node.axis == "x":
            low = _Rect(x, y, node.at, height)
            high = _Rect(x + width - rest, y, rest, height)
            loss += lost * height
        else:
            low = _Rect(x, y, width, node.at)
            high = _Rect(x, y + height - rest, width, rest)
            loss += lost * width
        todo += [(node.high, high), (node.low, low)]
    return _CutUp(layout, leaves, cuts, impossible, loss)


def _sheet_of(layout: Layout, paper: Paper) -> Sheet | None:
    """A sheet of the paper that the layout can be cut from."""
    key = layout.source.kind, layout.width, layout.height
    return next((sheet for sheet in paper.sheets if _key(paper, sheet) == key), None)


def _check_layouts(case: _Case) -> Iterator[Fault]:
    """Each layout is of a sheet that there is, cut by this trimmer, so often as it says."""
    for layout in case.plan.layouts:
        where = f"layout {layout.id}"
        paper = case.papers.get(layout.paper)
        if paper is None:
            yield Fault("paper", where, f"its paper {layout.paper!r} is not in the batch.")
        elif _sheet_of(layout, paper) is None:
            size = _size_words(layout.width, layout.height, case.batch.unit)
            said = f"{paper.name!r} has no {layout.source.kind} of {size}."
            yield Fault("source", where, said)
        if layout.cut_width != case.batch.trimmer.cut_width:
            read, expected = layout.cut_width, case.batch.trimmer.cut_width
            said = f"its cut width is {read} nm; the trimmer's is {expected} nm."
            yield Fault("cut width", where, said)
        if layout.alike < 1:
            yield Fault("alike", where, f"{layout.alike} sheets are cut alike; at least 1 must be.")
        if not 0 <= layout.to_buy <= layout.alike:
            said = f"{layout.to_buy} of {layout.alike} sheets are to buy."
            yield Fault("to buy", where, said)
    for id_ in _repeated(layout.id for layout in case.plan.layouts):
        yield Fault("layout", f"layout {id_}", "two layouts have this id.")


def _check_cuts(case: _Case) -> Iterator[Fault]:
    """Each cut lies inside what it divides, is short enough, and no area is lost or made."""
    longest = case.batch.trimmer.longest_cut
    for one in case.sheets:
        where = f"layout {one.layout.id}"
        for cut, rect in one.impossible:
            size = _size_words(rect.width, rect.height, case.batch.unit)
            at = _length_words(cut.at, case.batch.unit)
            said = f"a cut at {cut.axis} = {at} does not divide what is there, {size}."
            yield Fault("cut", where, said)
        for cut, rect in one.cuts:
            length = rect.height if cut.axis == "x" else rect.width
            if longest is not None and length > longest:
                read = _length_words(length, case.batch.unit)
                most = _length_words(longest, case.batch.unit)
                said = f"a cut is {read} long; the trimmer's longest cut is {most}."
                yield Fault("longest cut", where, said)
        area = one.layout.width * one.layout.height
        if one.loss + sum(rect.area for _, rect in one.leaves) != area:
            said = "blanks, offcuts, strip, edge trim and cut widths do not add up to the sheet."
            yield Fault("area", where, said)


def _check_taken_off(case: _Case) -> Iterator[Fault]:
    """Barcode strip and edge trim are taken off whole, in their place, and nowhere else."""
    for one in case.sheets:
        paper = case.papers.get(one.layout.paper)
        sheet = None if paper is None else _sheet_of(one.layout, paper)
        if paper is None or sheet is None:
            continue
        expected = Counter(_off_the_edges(paper, sheet, case.batch.trimmer.cut_width))
        found = Counter(
            ("strip" if isinstance(leaf, Strip) else "edge", rect)
            for leaf, rect in one.leaves
            if isinstance(leaf, Strip | EdgeTrim)
        )
        lacking = [(kind, rect, "is not cut off where it lies") for kind, rect in expected - found]
        surplus = [(kind, rect, "is cut off where none lies") for kind, rect in found - expected]
        for kind, rect, words in lacking + surplus:
            name = "barcode strip" if kind == "strip" else "edge trim"
            size = _size_words(rect.width, rect.height, case.batch.unit)
            yield Fault("strip", f"layout {one.layout.id}", f"{name} of {size} {words}.")


def _off_the_edges(paper: Paper, sheet: Sheet, cut_width: int) -> Iterator[tuple[str, _Rect]]:
    """What is taken off a full sheet, each with its rectangle."""
    left, bottom = 0, 0
    right, top = full_size(paper, sheet)
    for edge, off, what in taken_off(paper, sheet):
        match edge:
            case "left":
                yield what, _Rect(left, bottom, off, top - bottom)
                left += off + cut_width
            case "right":
                yield what, _Rect(right - off, bottom, off, top - bottom)
                right -= off + cut_width
            case "bottom":
                yield what, _Rect(left, bottom, right - left, off)
                bottom += off + cut_width
            case "top":
                yield what, _Rect(left, top - off, right - left, off)
                top -= off + cut_width


def _check_offcuts(case: _Case) -> Iterator[Fault]:
    """An offcut is kept exactly when it is large enough."""
    for one in case.sheets:
        for leaf, rect in one.leaves:
            if isinstance(leaf, Offcut) and leaf.keep != is_kept(
                rect.width, rect.height, case.batch.keep_from
            ):
                size = _size_words(rect.width, rect.height, case.batch.unit)
                said = (
                    f"an offcut of {size} is kept and is too small."
                    if leaf.keep
                    else f"an offcut of {size} goes to the bin and is large enough to keep."
                )
                yield Fault("offcut", f"layout {one.layout.id}", said)


def _check_blanks(case: _Case) -> Iterator[Fault]:
    """Each blank is of a piece of this paper, in its size, turned only where it may be."""
    for one in case.sheets:
        for leaf, rect in one.leaves:
            if not isinstance(leaf, Blank):
                continue
            where = _blank_words(case, one.layout, leaf.piece)
            piece = case.pieces.get(leaf.piece)
            if piece is None:
                yield Fault("blank", where, "no piece of the plan has this id.")
                continue
            if piece.paper != one.layout.paper:
                said = f"its piece is cut from {piece.paper!r}, not from {one.layout.paper!r}."
                yield Fault("blank", where, said)
            if leaf.turned not in piece.turns:
                said = f"it may not be {'turned' if leaf.turned else 'left unturned'}."
                yield Fault("turn", where, said)
            size = piece.on_sheet(turned=leaf.turned)
            if len(leaf.circles) <= 1 and (rect.width, rect.height) != size:
                read = _size_words(rect.width, rect.height, case.batch.unit)
                expected = _size_words(*size, case.batch.unit)
                yield Fault("blank", where, f"it is {read}; its piece needs {expected}.")
            for said in _find_bad_circles(piece, leaf, rect):
                yield Fault("circle", where, said)


def _find_bad_circles(piece: Piece, blank: Blank, rect: _Rect) -> Iterator[str]:
    """What is wrong with the centres of a blank's circles."""
    if piece.shape == "rect":
        if blank.circles:
            yield "it has circles, and its piece is a rectangle."
        return
    if not blank.circles:
        yield "it has no circle, and its piece is one."
    # Centres are whole nanometres: one of an odd diameter lies half a nanometre off.
    across = piece.width - piece.width % 2 + 2 * piece.die_allowance
    for x, y in blank.circles:
        room = min(x - rect.x, rect.x + rect.width - x, y - rect.y, rect.y + rect.height - y)
        if 2 * room < across:
            yield "a circle with its die allowance reaches beyond it."
    apart = piece.width + piece.die_allowance
    for (x, y), (other_x, other_y) in combinations(blank.circles, 2):
        if (x - other_x) ** 2 + (y - other_y) ** 2 < apart**2:
            yield "two circles are closer than their die allowance."


# Counts -----------------------------------------------------------------------------------------


def _check_demand(case: _Case) -> Iterator[Fault]:
    """What is cut and what is listed as uncut are together what is asked for."""
    cut: Counter[str] = Counter()
    for one in case.sheets:
        for leaf, _ in one.leaves:
            if isinstance(leaf, Blank):
                cut[leaf.piece] += one.layout.alike * max(1, len(leaf.circles))
    uncut: Counter[str] = Counter()
    for missing in case.plan.uncut:
        uncut[missing.piece] += missing.count
    for id_, demand in case.demand.items():
        if cut[id_] + uncut[id_] != demand:
            piece = case.pieces[id_]
            said = f"{cut[id_]} are cut and {uncut[id_]} listed as uncut; {demand} are needed."
            yield Fault("demand", f"piece {piece.letter} {piece.name}", said)


def _check_uncut(case: _Case) -> Iterator[Fault]:
    """What is listed as uncut is asked for, adds up, and cannot be bought."""
    for missing in case.plan.uncut:
        piece = case.pieces.get(missing.piece)
        if piece is None:
            yield Fault("uncut", missing.piece, "no piece of the plan has this id.")
            continue
        where = f"piece {piece.letter} {piece.name}"
        paper = case.papers.get(piece.paper)
        if paper is not None and paper.buy:
            yield Fault("uncut", where, f"it is left uncut, and more {paper.name!r} can be bought.")
        if missing.count < 1 or any(use.count < 1 for use in missing.uses):
            yield Fault("uncut", where, "a count of less than 1 is listed as uncut.")
        if missing.count != sum(use.count for use in missing.uses):
            yield Fault(
                "uncut", where, "what the uncut ones are for does not add up to their count."
            )
        if _by_layer(missing.uses) - _by_layer(case.wanted.get(_kind_of(piece), [])):
            yield Fault("uncut", where, "more are uncut for a card or layer than it asks for.")
    for id_ in _repeated(missing.piece for missing in case.plan.uncut):
        yield Fault("uncut", str(id_), "it is listed as uncut twice.")


def _by_layer(uses: Iterable[Use]) -> Counter[tuple[str | None, str]]:
    counts: Counter[tuple[str | None, str]] = Counter()
    for use in uses:
        counts[use.card, use.layer] += use.count
    return counts


def _check_cards(case: _Case) -> Iterator[Fault]:
    """So many cards are complete as all their pieces are cut for."""
    names = [card.name for card in case.batch.cards]
    if [count.card for count in case.plan.cards] != names:
        yield Fault("cards", "plan", f"its cards are not those of the batch: {', '.join(names)}.")
    uncut = _by_layer(use for missing in case.plan.uncut for use in missing.uses)
    cards = {card.name: card for card in case.batch.cards}
    for count in case.plan.cards:
        if count.card not in cards:
            continue
        card = cards[count.card]
        if count.asked != card.make:
            said = f"the plan says {count.asked} are asked for; the batch says {card.make}."
            yield Fault("cards", card.name, said)
        each = {layer.name: layer.each for layer in card.layers}
        if card.base is not None:
            each[BASE] = 1
        sets = card.make + card.spares
        complete = min(
            [card.make, *((n * sets - uncut[card.name, name]) // n for name, n in each.items())]
        )
        if count.complete != complete:
            said = f"the plan says {count.complete} are complete; the pieces cut give {complete}."
            yield Fault("cards", card.name, said)


_SheetKey = tuple[str, int, int]


def _sheet_counts(case: _Case, paper: str) -> dict[_SheetKey, tuple[int, int]]:
    """By kind and full size of sheet, how many are cut: at hand, and to buy."""
    counts: dict[_SheetKey, tuple[int, int]] = {}
    for one in case.sheets_of(paper):
        layout = one.layout
        key = layout.source.kind, layout.width, layout.height
        at_hand, bought = counts.get(key, (0, 0))
        counts[key] = at_hand + layout.alike - layout.to_buy, bought + layout.to_buy
    return counts


def _key(paper: Paper, sheet: Sheet) -> _SheetKey:
    return "offcut" if sheet.offcut else "sheet", *full_size(paper, sheet)


def _check_at_hand(case: _Case) -> Iterator[Fault]:
    """No more sheets are cut than there are; none is bought that is there or cannot be bought."""
    for paper in case.papers.values():
        for key, (at_hand, bought) in _sheet_counts(case, paper.name).items():
            where = f"{paper.name}, {_size_words(key[1], key[2], case.batch.unit)}"
            have: int | None = 0
            for sheet in paper.sheets:
                if _key(paper, sheet) == key:
                    have = None if have is None or sheet.have is None else have + sheet.have
            if have is not None and at_hand > have:
                said = f"{at_hand} sheets are cut as if at hand; there are {have}."
                yield Fault("at hand", where, said)
            if not bought:
                continue
            if key[0] != "sheet":
                yield Fault("to buy", where, f"an {key[0]} cannot be bought.")
            elif not paper.buy:
                yield Fault(
                    "to buy", where, f"{bought} sheets are to buy, and it cannot be bought."
                )
            if have is None or at_hand < have:
                said = f"{bought} sheets are to buy while some at hand are not used."
                yield Fault("to buy", where, said)


# Figures ----------------------------------------------------------------------------------------


def _check_figures(case: _Case) -> Iterator[Fault]:
    """Each paper that pieces are cut from has its figures, and they are the plan's."""
    used = {kind.paper for kind in case.wanted}
    names = [name for name in case.papers if name in used]
    if [figures.paper for figures in case.plan.papers] != names:
        yield Fault("figures", "plan", f"its papers are not those needed: {', '.join(names)}.")
    for figures in case.plan.papers:
        if figures.paper in case.papers:
            yield from _check_sheet_figures(case, figures)
            yield from _check_shares(case, figures)


def _check_sheet_figures(case: _Case, figures: PaperFigures) -> Iterator[Fault]:
    """Needed, at hand, used and to buy."""
    paper = case.papers[figures.paper]
    layouts = [one.layout for one in case.sheets_of(paper.name)]
    haves = [sheet.have for sheet in paper.sheets if not sheet.offcut]
    expected = {
        "have": None if None in haves else sum(have or 0 for have in haves),
        "used": sum(layout.alike for layout in layouts if layout.source.kind == "sheet"),
        "to_buy": sum(layout.to_buy for layout in layouts),
    }
    for name, value in expected.items():
        if getattr(figures, name) != value:
            said = f"{name.replace('_', ' ')} is {getattr(figures, name)}; it comes to {value}."
            yield Fault("figures", paper.name, said)
    if not case.uncut(paper.name):
        if figures.needed != expected["used"]:
            said = f"needed is {figures.needed}; all is cut from {expected['used']} sheets."
            yield Fault("figures", paper.name, said)
    elif _counts_sheets(paper) and figures.needed <= (expected["used"] or 0):
        said = f"needed is {figures.needed}, no more than the sheets used, and pieces are uncut."
        yield Fault("figures", paper.name, said)


def _check_shares(case: _Case, figures: PaperFigures) -> Iterator[Fault]:
    """In pieces, kept and waste, each added up from the leaves; cuts and ruler settings.

    Three shares that are each right within their last decimal add up to 1 as well.
    """
    paper = case.papers[figures.paper]
    areas = _areas(case, paper)
    total = sum(areas.values())
    shares = {"in_pieces": figures.in_pieces, "kept": figures.kept, "waste": figures.waste}
    for name, share in shares.items():
        exact = float(areas[name] / total) if total else 0.0
        if not abs(share - exact) < _LAST_DECIMAL:
            said = f"the share {name.replace('_', ' ')} is {share}; it comes to {exact:.6f}."
            yield Fault("shares", paper.name, said)
    sheets = case.sheets_of(paper.name)
    cuts = sum(one.layout.alike * len(one.cuts) for one in sheets)
    settings = len({distance for one in sheets for distance in _ruler_settings(one, paper)})
    if figures.cuts != cuts:
        yield Fault("figures", paper.name, f"cuts is {figures.cuts}; there are {cuts}.")
    if figures.ruler_settings != settings:
        said = f"ruler settings is {figures.ruler_settings}; there are {settings}."
        yield Fault("figures", paper.name, said)


def _areas(case: _Case, paper: Paper) -> dict[str, Fraction]:
    """Area in pieces, kept and wasted, over all sheets of a paper, in nm².

    A barcode strip beyond the sheet counts for nothing, and so does its place in the waste.
    """
    areas = {"in_pieces": Fraction(0), "kept": Fraction(0), "waste": Fraction(0)}
    beyond = paper.barcode_strip is not None and paper.barcode_strip.beyond_the_sheet
    for one in case.sheets_of(paper.name):
        alike = one.layout.alike
        areas["waste"] += alike * one.loss
        for leaf, rect in one.leaves:
            match leaf:
                case Blank(piece=id_, circles=circles) if id_ in case.pieces:
                    own = _piece_area(case.pieces[id_]) * max(1, len(circles))
                    areas["in_pieces"] += alike * own
                    areas["waste"] += alike * (rect.area - own)
                case Offcut(keep=True):
                    areas["kept"] += alike * rect.area
                case Strip() if beyond:
                    pass
                case _:
                    areas["waste"] += alike * rect.area
    return areas


def _piece_area(piece: Piece) -> Fraction:
    square = Fraction(piece.width * piece.height)
    return square * Fraction(pi) / 4 if piece.shape == "circle" else square


def _ruler_settings(one: _CutUp, paper: Paper) -> Iterator[int]:
    """Of each cut the distance from its rectangle's edge on the side of the starting corner."""
    from_left_or_right, from_top_or_bottom = starting_edges(
        paper, offcut=one.layout.source.kind != "sheet"
    )
    for cut, rect in one.cuts:
        edge = from_left_or_right if cut.axis == "x" else from_top_or_bottom
        extent = rect.width if cut.axis == "x" else rect.height
        if edge in ("left", "bottom"):
            yield cut.at
        else:
            yield max(0, extent - cut.at - one.layout.cut_width)


# Proofs -----------------------------------------------------------------------------------------


def _counts_sheets(paper: Paper) -> bool:
    """Whether the cost of a paper's plan is simply its number of sheets."""
    offers = supplies(paper)
    return len(offers) == 1 and offers[0].cost == 1


def _check_bounds(case: _Case) -> Iterator[Fault]:
    """Each bound is proven by what it says, and not beyond the plan."""
    for figures in case.plan.papers:
        paper = case.papers.get(figures.paper)
        if paper is None:
            continue
        bound = figures.bound
        if (bound.of == "sheets") != _counts_sheets(paper):
            expected = "sheets" if _counts_sheets(paper) else "cost"
            said = f"the bound is of {bound.of}; for this paper it must be of {expected}."
            yield Fault("bound", paper.name, said)
        reached = _reached(case, figures, paper)
        if reached is not None:
            if bound.value > reached:
                said = f"the bound is {bound.value}; the plan itself comes to {reached}."
                yield Fault("bound", paper.name, said)
            if figures.proven != (bound.value >= reached):
                word = "proven" if figures.proven else "not proven"
                said = f"it is called {word}: the bound is {bound.value}, the plan {reached}."
                yield Fault("proven", paper.name, said)
        proofs = {"area": _check_area_proof, "values": _check_values_proof}
        if bound.by in proofs:
            for said in proofs[bound.by](case, bound, paper):
                yield Fault("bound", paper.name, said)


def _reached(case: _Case, figures: PaperFigures, paper: Paper) -> int | None:
    """Sheets or cost that the full need comes to; None where the plan does not tell."""
    if _counts_sheets(paper):
        return figures.needed
    if case.uncut(paper.name):
        return None
    cost = 0
    for key, (at_hand, bought) in _sheet_counts(case, paper.name).items():
        offers = [offer for offer in supplies(paper) if _key(paper, offer.sheet) == key]
        there = [offer for offer in offers if not offer.bought]
        for offer in sorted(there, key=lambda offer: offer.cost):
            taken = at_hand if offer.count is None else min(at_hand, offer.count)
            cost += taken * offer.cost
            at_hand -= taken  # noqa: PLW2901 - the cheapest of equal sheets are taken first
        cost += bought * min((offer.cost for offer in offers if offer.bought), default=0)
    return cost


def _check_area_proof(case: _Case, bound: Bound, paper: Paper) -> Iterator[str]:
    """The areas alone: usable area by cost, cheapest first, as if it could be cut to dust."""
    need = sum(
        (kind.width + 2 * kind.die_allowance)
        * (kind.height + 2 * kind.die_allowance)
        * sum(use.count for use in uses)
        for kind, uses in case.wanted.items()
        if kind.paper == paper.name
    )

    def area(offer: Supply) -> int:
        width, height = usable_size(paper, offer.sheet, case.batch.trimmer.cut_width)
        return width * height if width > 0 and height > 0 else 0

    offers = [offer for offer in supplies(paper) if area(offer)]
    cost = Fraction(0)
    for offer in sorted(offers, key=lambda offer: Fraction(offer.cost, area(offer))):
        taken = need if offer.count is None else min(need, offer.count * area(offer))
        cost += Fraction(taken * offer.cost, area(offer))
        need -= taken
    if bound.value > ceil(cost):
        yield f"the bound is {bound.value}; the areas prove no more than {ceil(cost)}."


def _check_values_proof(case: _Case, bound: Bound, paper: Paper) -> Iterator[str]:
    """No sheet holds more value than is said, and the demand's value then needs so many."""
    own = {id_: piece for id_, piece in case.pieces.items() if piece.paper == paper.name}
    for id_ in bound.values.keys() - own.keys():
        yield f"the proof gives a value to {id_!r}, which is no piece of this paper."
    numbers = [bound.scale - 1, *bound.values.values(), *(s.value for s in bound.sheet_values)]
    if any(not isinstance(number, int) or number < 0 for number in numbers):
        yield "the proof needs whole numbers: values of 0 or more, a scale of 1 or more."
        return
    claimed = {(entry.width, entry.height): entry.value for entry in bound.sheet_values}
    sizes = {(sheet.width, sheet.height) for sheet in paper.sheets}
    if claimed.keys() != sizes or len(claimed) != len(bound.sheet_values):
        yield "the proof does not have exactly one value for each size of sheet."
        return
    yield from _find_fuller_sheets(case, bound, paper, claimed)
    total = sum(bound.values.get(id_, 0) * case.demand.get(id_, 0) for id_ in own)
    for offer in supplies(paper):
        over = claimed[offer.sheet.width, offer.sheet.height] - bound.scale * offer.cost
        if offer.count is not None:
            total -= offer.count * max(0, over)
        elif over > 0:
            yield "a sheet without limit holds more value than its cost allows."
    proven = -(-total // bound.scale)
    if bound.value > proven:
        yield f"the bound is {bound.value}; the values prove no more than {proven}."


def _find_fuller_sheets(
    case: _Case, bound: Bound, paper: Paper, claimed: dict[tuple[int, int], int]
) -> Iterator[str]:
    """Sheets that hold more value than the proof says."""
    trimmer = case.batch.trimmer
    values: dict[tuple[int, int], int] = {}
    for id_ in case.demand:
        piece = case.pieces[id_]
        if piece.paper == paper.name:
            for turned in piece.turns:
                blank = piece.on_sheet(turned=turned)
                values[blank] = max(values.get(blank, 0), bound.values.get(id_, 0))
    usable = {
        (usable_size(paper, sheet, trimmer.cut_width), (sheet.width, sheet.height))
        for sheet in paper.sheets
    }
    for (width, height), nominal in sorted(usable):
        most = most_value(width, height, values, trimmer.cut_width, trimmer.longest_cut)
        size = _size_words(*nominal, case.batch.unit)
        if most is None:
            yield f"the sizes are too many and too fine to verify what a sheet of {size} holds."
        elif most > claimed[nominal]:
            yield f"a sheet of {size} can hold a value of {most}, not {claimed[nominal]} at most."


def most_value(
    width: int,
    height: int,
    values: Mapping[tuple[int, int], int],
    cut_width: int = 0,
    longest_cut: int | None = None,
) -> int | None:
    """Work out the most value that edge-to-edge cuts can get out of a rectangle.

    Every blank may be cut any number of times, and lies only as it is given.

    Parameters
    ----------
    width, height
        Of the rectangle, in nm.
    values
        Width and height of each blank, in nm, to its value, a whole number of 0 or more.
    cut_width, longest_cut
        Of the trimmer, in nm. What is over beside the blanks counts as no longer than it is.

    Returns
    -------
    int | None
        The exact most where no cut is too long, else at least the most; None where the table
        would have more than five million cells.

    Notes
    -----
    Every blank and the rectangle itself are enlarged by the cut width, so that cuts take nothing.
    Cuts are looked for at the sums of blank sizes only (Herz 1972), and where every cut is short
    enough, only at the highest of them in each remainder (Terno, Lindemann and Scheithauer 1987).
    The table is filled row by row, from the narrowest rectangle to the widest: cuts across a row
    look at finished rows, and then the row is closed under cuts along it by doubling: each pass
    joins twice as many parts, until nothing changes.

    Examples
    --------
    >>> most_value(12, 12, {(5, 7): 1, (7, 5): 1})
    3
    """
    import numpy as np

    if width <= 0 or height <= 0:
        return 0
    blanks = {(w + cut_width, h + cut_width): value for (w, h), value in values.items()}
    if height > width:  # rows are closed many times over, so they lie along the shorter side
        blanks = {(h, w): value for (w, h), value in blanks.items()}
        width, height = height, width
    xs = _cut_points({w for w, _ in blanks}, width + cut_width, every=longest_cut is not None)
    ys = _cut_points({h for _, h in blanks}, height + cut_width, every=longest_cut is not None)
    if len(xs) * len(ys) > _MOST_CELLS:
        return None
    most_blanks = (
        (width + cut_width) * (height + cut_width) // min((w * h for w, h in blanks), default=1)
    )
    fits = max(blanks.values(), default=0) * (most_blanks + 1) < 2**62
    table = np.zeros((len(xs), len(ys)), dtype=np.int64 if fits else object)
    for (w, h), value in blanks.items():
        place = int(np.searchsorted(xs, w)), int(np.searchsorted(ys, h))
        if place[0] < len(xs) and place[1] < len(ys):
            table[place] = max(table[place], value)
    longest = (width + height if longest_cut is None else longest_cut) + cut_width
    open_columns = int(np.searchsorted(ys, longest, side="right"))
    low, high = _halves(ys)
    for i in range(1, len(xs)):
        row = table[i, :open_columns]
        np.maximum(row, table[i - 1, :open_columns], out=row)
        half = int(np.searchsorted(xs, xs[i] // 2, side="right"))
        if half > 1:
            rest = np.searchsorted(xs, xs[i] - xs[1:half], side="right") - 1
            sums = table[1:half, :open_columns] + table[rest, :open_columns]
            np.maximum(row, sums.max(axis=0), out=row)
        if xs[i] <= longest:
            table[i] = _closed(table[i], low, high)
    return int(table[-1, -1])


def _cut_points(lengths: set[int], extent: int, *, every: bool) -> "NDArray[np.int64]":
    """Where cuts are looked for, from 0 up to the extent: sums of lengths, as bits of an integer."""
    import numpy as np

    unit = gcd(*lengths) or extent
    last = extent // unit
    reached, within = 1, (1 << (last + 1)) - 1
    for length in lengths:
        step = length // unit
        while step <= last:
            reached |= (reached << step) & within
            step *= 2
    bits = np.frombuffer(reached.to_bytes(last // 8 + 1, "little"), dtype=np.uint8)
    sums = np.flatnonzero(np.unpackbits(bits, bitorder="little")).astype(np.int64) * unit
    points = np.union1d(sums, [extent])
    if not every:
        points = np.unique(points[np.searchsorted(points, extent - points, side="right") - 1])
    return points


def _halves(points: "NDArray[np.int64]") -> tuple["NDArray[np.intp]", "NDArray[np.intp]"]:
    """For each point the pairs that a cut makes of it, the low side at most half; 0 fills up."""
    import numpy as np

    count = int(np.searchsorted(points, points[-1] // 2, side="right"))
    rest = points[:, None] - points[None, :count]
    is_half = 2 * points[None, :count] <= points[:, None]
    low = np.where(is_half, np.arange(count)[None, :], 0)
    rest = np.where(is_half, rest, points[:, None])
    return low, np.searchsorted(points, rest, side="right") - 1


def _closed(
    row: "NDArray[np.int64]", low: "NDArray[np.intp]", high: "NDArray[np.intp]"
) -> "NDArray[np.int64]":
    """The least row above this one that no cut along it makes better."""
    import numpy as np

    row = np.maximum.accumulate(row)
    while True:
        joined = (row.take(low) + row.take(high)).max(axis=1)
        if np.array_equal(joined, row):
            return row
        row = joined


def _check_ended(case: _Case) -> Iterator[Fault]:
    """A plan is proven only where each of its papers is."""
    if case.plan.ended == "proven" and not all(figures.proven for figures in case.plan.papers):
        yield Fault("ended", "plan", "it is called proven, and some of its papers are not.")


_RULES: tuple[Callable[[_Case], Iterator[Fault]], ...] = (
    _check_asked,
    _check_pieces,
    _check_layouts,
    _check_cuts,
    _check_taken_off,
    _check_offcuts,
    _check_blanks,
    _check_demand,
    _check_uncut,
    _check_cards,
    _check_at_hand,
    _check_figures,
    _check_bounds,
    _check_ended,
)
