"""Covered middles, worked out again: which layers give one, how large it is, and how many are used.

A window is looked at as it is: whether all of it is hidden, and every layer held. That no larger one
could be cut out is found on a grid of the ruler's marks, cell by cell.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from nesting.batch import ON_CARD, Batch, Card, Layer
from nesting.checker.asked.cut_already import NOTHING_BEGUN
from nesting.checker.asked.equal import EqualPieces, kind_of
from nesting.checker.asked.orientation import blank_size, may_lie
from nesting.checker.asked.parts import options_of, parts_of
from nesting.checker.asked.places import (
    Shape,
    ground_under,
    inner_of,
    is_beside,
    lies_within,
    shapes_of,
)
from nesting.checker.asked.wanted import Wanted
from nesting.checker.case import Case
from nesting.checker.fault import PlanFault
from nesting.checker.rules.cells import largest_within
from nesting.checker.rules.tallies import lacking_of
from nesting.papers import Edges, Sheet, SheetCount, Window
from nesting.pieces import Use
from nesting.plan import Plan
from nesting.units import size_words

#: How many pieces of each kind are in the bags.
Bags = dict[EqualPieces, int]

#: Marks finer than this are taken several at once, and no window is cut in a longer layer, in nm.
_FINEST, _LONGEST = 500_000, 1_000_000_000


@dataclass(frozen=True, slots=True)
class _Host:
    """A layer that may give its middle: its shape, and what lies on it; its kind and its use.

    ``to_cut`` are the kinds still to be cut from its paper.
    """

    card: Card
    layer: Layer
    shape: Shape
    lying: tuple[Shape, ...]
    joined: tuple[bool, ...]
    kind: EqualPieces
    use: Use
    to_cut: tuple[EqualPieces, ...]


@dataclass(frozen=True, slots=True)
class _Rules:
    """What a window is held to, in nm."""

    lap: int
    frame: int
    marks: int

    @classmethod
    def of(cls, batch: Batch) -> "_Rules":
        """The rules of a batch."""
        frame = batch.frame
        if frame is None:
            frame = 6_350_000 if batch.unit == "in" else 6_000_000
        marks = own = batch.trimmer.marks
        while marks < _FINEST:
            marks += own
        return cls(max(batch.lap, 1), frame, marks)


def find_wrong_middles(asked: Batch, wanted: Wanted, plan: Plan) -> Iterator[PlanFault]:
    """Covered middles to cut from that there are not, or that the plan does not know of."""
    rules = _Rules.of(asked)
    bags = {kind_of(piece): piece.in_bags for piece in (asked.begun or NOTHING_BEGUN).pieces}
    hosts = {(host.card.name, host.layer.name): host for host in _hosts(asked, wanted, bags)}
    listed = Counter((w.card, w.layer) for one in plan.middles for w in one.sheet.windows)
    for (card, layer), count in listed.items():
        where = f"{card}, {layer}"
        if (card, layer) not in hosts:
            yield PlanFault("middles", where, "nothing of it may be cut out.")
        if count > 1:
            yield PlanFault("middles", where, "its middle is listed twice.")
    for one in plan.middles:
        yield from _find_wrong_entry(one, hosts, bags, asked, rules)
    sizes = Counter((one.paper, one.sheet.width, one.sheet.height) for one in plan.middles)
    for (paper, width, height), count in sizes.items():
        if count > 1:
            where = f"{paper}, {size_words(width, height, asked.unit)}"
            yield PlanFault("middles", where, "covered middles of this size are listed twice.")
    for name, host in hosts.items():
        if name not in listed and _left_of(host, bags) and _gives(host, rules):
            said = "it has a covered middle that the plan does not list."
            yield PlanFault("middles", ", ".join(name), said)


def _find_wrong_entry(
    one: SheetCount,
    hosts: dict[tuple[str, str], _Host],
    bags: Bags,
    asked: Batch,
    rules: _Rules,
) -> Iterator[PlanFault]:
    """What is wrong with covered middles of one size."""
    sheet = one.sheet
    where = f"{one.paper}, {size_words(sheet.width, sheet.height, asked.unit)}"
    plain = Sheet(sheet.width, sheet.height, offcut=True, windows=sheet.windows)
    if sheet != plain or not sheet.windows:
        yield PlanFault("middles", where, "a covered middle has windows, and is nothing else.")
    known = [
        (window, hosts[window.card, window.layer])
        for window in sheet.windows
        if (window.card, window.layer) in hosts
    ]
    for window, host in known:
        if host.kind.paper != one.paper:
            yield PlanFault(
                "middles", where, f"{window.layer} of {window.card} is of another paper."
            )
        if (sheet.width, sheet.height) != _as_it_lies(window.width, window.height, host.kind):
            yield PlanFault("middles", where, f"that of {window.layer} is of another size.")
        for said in _find_wrong_window(window, host, rules):
            yield PlanFault("middles", f"{window.card}, {window.layer}", said)
    count = sum(_left_of(host, bags) for _, host in known) + _there(asked, one)
    if one.count != count:
        yield PlanFault("middles", where, f"{one.count} are listed; there are {count}.")


def _there(asked: Batch, middle: SheetCount) -> int:
    """How many such middles pieces in the bags are said to have still."""
    said = (asked.begun or NOTHING_BEGUN).middles
    return sum(one.count for one in said if (one.paper, one.sheet) == (middle.paper, middle.sheet))


def _left_of(host: _Host, bags: Bags) -> int:
    """How many hosts are surely to be cut: what is in the bags may be for any card."""
    return max(0, host.use.count - bags.get(host.kind, 0))


def _find_wrong_window(window: Window, host: _Host, rules: _Rules) -> Iterator[str]:
    """Why a window would show, leave a layer without hold, or is not as large as it can be."""
    wrap = host.layer.wrap
    if isinstance(wrap, Edges):
        x, y = window.x - wrap.left, window.y - wrap.bottom
    else:
        x = window.x - (host.kind.width - host.shape.width) // 2
        y = window.y - (host.kind.height - host.shape.height) // 2
    if any(side % rules.marks for side in (x, y, window.width, window.height)):
        yield "its window is off the marks."
    if window.width <= 0 or window.height <= 0:
        yield "its window is of no size."
        return
    at_card = Shape(host.shape.x + x, host.shape.y + y, window.width, window.height, False)
    frame, card = inner_of(host.shape, rules.frame), _behind(host)
    if frame is None or not lies_within(at_card, frame):
        yield "its window leaves too narrow a frame."
    if not lies_within(at_card, card):
        yield "its window has no card behind it."
    under = [inner and lies_within(at_card, inner) for inner in _inners(host, rules)]
    if not any(under):
        yield "its window shows, or reaches under the glue lap."
    beside = [is_beside(at_card, shape) for shape in host.lying]
    if not all(a or b for a, b in zip(under, beside, strict=True)):
        yield "its window takes the hold from a layer on it."
    largest = _largest_of(host, rules)
    if window.width * window.height != max((w * h for w, h in largest), default=0):
        yield "its window is not the largest that there is."
    if not _is_of_use(window.width, window.height, host):
        yield "nothing can be cut from its middle."


def _inners(host: _Host, rules: _Rules) -> list[Shape | None]:
    """Where each layer on a host hides it, the glue lap off; one that may be two ends, nowhere."""
    return [
        None if joined else inner_of(shape, rules.lap)
        for shape, joined in zip(host.lying, host.joined, strict=True)
    ]


def _hosts(asked: Batch, wanted: Wanted, bags: Bags) -> Iterator[_Host]:
    """The layers whose middles may be saved, with what lies on each."""
    uses = {(use.card, use.layer): (kind, use) for kind, own in wanted.items() for use in own}
    for card in asked.cards:
        shapes = shapes_of(card)
        for number, layer in enumerate(card.layers):
            saved = asked.save_middles if layer.middle is None else layer.middle == "save"
            above = [
                one
                for one in card.layers[number + 1 :]
                if one.where == layer.where and one.belt is None
            ]
            several = any(one.each > 1 for one in (layer, *above))
            no_middle = layer.belt is not None or bool(layer.angle) or layer.where == "envelope"
            if not saved or several or no_middle or _is_crossed(above):
                continue
            if layer.join != "never" or _is_open(asked, layer):
                continue
            kind, use = uses[card.name, layer.name]
            lying: list[Shape] = []
            joined: list[bool] = []
            for one in above:
                if shapes[one.name].reach:
                    continue
                if not any(lies_within(shapes[one.name], under) for under in lying):
                    lying.append(shapes[one.name])
                    joined.append(one.join != "never")
            to_cut = tuple(
                other
                for other, own in wanted.items()
                if other.paper == kind.paper and sum(u.count for u in own) > bags.get(other, 0)
            )
            shape, above_it = shapes[layer.name], (tuple(lying), tuple(joined))
            yield _Host(card, layer, shape, *above_it, kind, use, to_cut)


def _is_crossed(above: list[Layer]) -> bool:
    """Whether an aslant strip lies above a layer that is not held by another one above it."""
    names = {one.name for one in above}
    return any(
        one.angle and None in (one.width, one.height) and (one.over or ON_CARD) not in names
        for one in above
    )


def _is_open(asked: Batch, layer: Layer) -> bool:
    """Whether a layer's paper is one to choose or to join from, or limits what is made beside a choice."""
    layers = [one for card in asked.cards for one in card.layers]
    choices = [one for one in layers if one.choice is not None or one.join != "never"]
    at_hand = {
        part.kind.paper
        for card in asked.cards
        if card.make is None
        for part in parts_of(card, asked)
    }
    if not choices and not at_hand:
        return False
    bought = any(paper.buy for paper in asked.papers if paper.name == layer.paper)
    chosen = any(option.paper == layer.paper for one in choices for option in options_of(one))
    return chosen or not bought or layer.paper in at_hand


def _as_it_lies(width: int, height: int, kind: EqualPieces) -> tuple[int, int]:
    """The size of what is cut out of a host, as the host lies on its sheet."""
    turned = kind.turn == "must"
    upright = blank_size(kind._replace(width=0, height=1, die_allowance=0), turned=turned) == (0, 1)
    return (width, height) if upright else (height, width)


def _gives(host: _Host, rules: _Rules) -> bool:
    """Whether a host gives a middle to cut from, whichever of its largest is taken."""
    largest = _largest_of(host, rules)
    return bool(largest) and all(_is_of_use(*size, host) for size in largest)


def _is_of_use(width: int, height: int, host: _Host) -> bool:
    """Whether something can be cut from a middle; how it lies has to be known, or not to matter."""
    room = _as_it_lies(width, height, host.kind)
    fitting = [
        (kind, turned)
        for kind in host.to_cut
        for turned in (False, True)
        if all(a <= b for a, b in zip(blank_size(kind, turned=turned), room, strict=True))
    ]
    if host.kind.turn != "may":
        return any(may_lie(kind, turned=turned) for kind, turned in fitting)
    return bool(fitting) and all(kind.turn == "may" and not kind.grain for kind, _ in fitting)


def _behind(host: _Host) -> Shape:
    """The card, or the envelope, behind a host."""
    return shapes_of(host.card)[ground_under(host.layer)]


def _largest_of(host: _Host, rules: _Rules) -> set[tuple[int, int]]:
    """Width and height of the largest windows of a host."""
    if max(host.shape.width, host.shape.height) > _LONGEST:
        return set()
    frame, card = inner_of(host.shape, rules.frame), _behind(host)
    if frame is None:
        return set()
    return largest_within(host.shape, (frame, card), host.lying, _inners(host, rules), rules.marks)


def check_middles(case: Case) -> Iterator[PlanFault]:
    """No more covered middles are cut from than hosts are cut."""
    uncut = {card.name: lacking_of(case, card) for card in case.batch.cards}
    left = {
        (use.card, use.layer): max(0, use.count - uncut[use.card].get(use.layer, 0) - bags)
        for kind, uses in case.wanted.items()
        for bags in (case.bags.get(kind, 0),)
        for use in uses
        if use.card is not None
    }
    for one in case.plan.middles:
        sheet = one.sheet
        used = sum(
            layout.alike
            for layout in case.plan.layouts
            if layout.source.kind == "middle"
            if (layout.paper, layout.width, layout.height) == (one.paper, sheet.width, sheet.height)
        )
        hosts = sum(left.get((window.card, window.layer), 0) for window in sheet.windows)
        hosts += _there(case.asked, one)
        if used > hosts:
            where = f"{one.paper}, {size_words(sheet.width, sheet.height, case.batch.unit)}"
            said = f"{used} covered middles are cut from; their hosts are cut {hosts} times."
            yield PlanFault("middles", where, said)


def with_middles(batch: Batch, middles: Iterable[SheetCount]) -> Batch:
    """The batch with the covered middles that a plan lists among the sheets of its papers."""
    papers = []
    for paper in batch.papers:
        own = [replace(one.sheet, have=one.count) for one in middles if one.paper == paper.name]
        papers.append(replace(paper, sheets=(*paper.sheets, *own)))
    return replace(batch, papers=tuple(papers))
