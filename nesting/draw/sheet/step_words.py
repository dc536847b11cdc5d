"""What is said of each step in the stroke table: what to take, what falls free, what is left."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from nesting.cutting.parallel_cuts import Part
from nesting.cutting.strokes import Step
from nesting.draw.canvas.lettering import TIE
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.turns import lie_of
from nesting.plan import Blank, Offcut, Strip
from nesting.units import Unit, format_length, format_size, neighbouring_marks

#: More kinds of piece than this in one part are not listed by letter.
_MOST_LETTERS = 6
#: A sliver narrower than this comes off badly at a trimmer: 1/8 in or 3 mm (common practice).
_SHAVE: dict[Unit, int] = {"in": 3_175_000, "mm": 3_000_000, "cm": 3_000_000}
BY_KNIFE = "Too narrow to hold at a trimmer: knife and steel rule."
NARROW_KNIFE = "Narrow: hold it under a steel rule."


def step_words(
    subject: Subject, number: int, *, afresh: bool = False
) -> Iterator[tuple[str, bool]]:
    """Say a step of the table in short lines, each with whether it is bold.

    Parameters
    ----------
    number
        The step's position in ``subject.steps``.
    afresh
        Whether the reader does not see the step before: it begins a page.
    """
    step = subject.steps[number]
    if step.setting % subject.plan.asked.trimmer.marks:
        below, above = neighbouring_marks(step.setting, subject.plan.asked.trimmer.marks)
        between = f"{format_length(below, subject.unit)} and {format_length(above, subject.unit)}"
        yield f"Between the marks {between}.", True
    if step.by_knife:
        yield _by_knife(subject, step), True
    yield " ".join(_take(subject, number, afresh=afresh)), False
    yield " ".join(_cut(subject, step)), False
    left = _left(subject, step)
    if left:
        yield left, False
    measure = _measure(subject, number)
    if measure:
        yield measure, True


def _by_knife(subject: Subject, step: Step) -> str:
    """Which of a step's strokes leave too little to hold, and what to take instead."""
    least = subject.plan.asked.trimmer.narrowest_hold
    narrow = sum(stroke.held < least for stroke in step.strokes[: step.times])
    which = ""
    if narrow < step.times:
        last = "The last stroke" if narrow == 1 else f"The last {narrow}"
        which = f"{last} of each: " if step.parts > 1 else f"{last}: "
    words = NARROW_KNIFE if subject.plan.asked.trimmer.kind == "knife" else BY_KNIFE
    return which + (words[0].lower() + words[1:] if which else words)


def _take(subject: Subject, number: int, *, afresh: bool) -> Iterator[str]:
    """What to take in hand, and its edge at the guide edge where that is another than before."""
    step = subject.steps[number]
    before = subject.steps[number - 1] if number else None
    if before is None:
        yield f"Take the {'offcut' if subject.layout.source.kind == 'offcut' else 'sheet'}."
    elif (
        not afresh
        and before.rest.rectangle == step.in_hand.rectangle
        and before.parts == step.parts
    ):
        yield "Go on with the rest." if step.parts == 1 else "Go on with the rest of each."
    else:
        size, letters = part_size(subject, step.in_hand), _told_apart(subject, step)
        many = {1: "the ", 2: "both parts of "}.get(step.parts, f"{step.parts} parts of ")
        yield f"Take {many}{size}{letters}."
    guide = lie_of(subject, step).guide
    if before is None or afresh or lie_of(subject, before).guide != guide:
        yield f"{guide.capitalize()} edge to the guide edge."


def _told_apart(subject: Subject, step: Step) -> str:
    """The pieces in a part, where anything else that is cut has its size; else nothing."""
    part = step.in_hand
    size = sorted((part.width, part.height))
    others = (
        other
        for one in subject.steps
        for stroke in one.strokes
        for other in (stroke.whole, stroke.free, stroke.rest)
    )
    alike = any(
        sorted((other.width, other.height)) == size and other.pattern != part.pattern
        for other in others
    )
    return f" for {letters_of(subject, part)}" if alike else ""


def _cut(subject: Subject, step: Step) -> Iterator[str]:
    """How often to cut, and what falls free each time."""
    times = {1: "", 2: " twice"}.get(step.times, f" {step.times} times")
    each = " each" if step.parts > 1 else ""
    if times or each:
        yield f"Cut{each}{times}."
    free = step.strokes[0].free
    if not free.width or not free.height:
        yield "Only as much as the cut is wide comes off."
        return
    yield f"Free: {_in_turn(subject, [stroke.free for stroke in step.strokes[: step.times]])}."
    if min(free.extent(step.axis), step.rest.extent(step.axis)) < _SHAVE[subject.unit]:
        yield "A shave: knife and rule are surer."


def _in_turn(subject: Subject, parts: Sequence[Part]) -> str:
    """What falls free one after another; equal ones that follow each other are counted."""
    falls = [(words, len(list(same))) for words, same in groupby(_named(subject, parts))]
    if len(falls) == 1:
        return falls[0][0]
    if parts[0].axis is None and all(part.axis is None for part in parts):
        words = [f"{n}{TIE}{w}" if n > 1 else w for w, n in falls]
    elif len(falls) == 2:
        words = [f"{n} times {w}" if n > 1 else w for w, n in falls]
    else:
        inside = [letters_of(subject, part) for part in parts]
        return f"{part_size(subject, parts[0])} each time, in turn for {'; '.join(inside)}"
    return f"{', '.join(words[:-1])}, then {words[-1]}"


def _named(subject: Subject, parts: Iterable[Part]) -> Iterator[str]:
    return (part_words(subject, part) for part in parts)


def _left(subject: Subject, step: Step) -> str:
    """What is left of the row, where that is done with; else nothing."""
    rest = step.rest
    if not rest.width or not rest.height or _goes_on(subject, step):
        return ""
    return f"Left: {part_words(subject, rest)}."


def _goes_on(subject: Subject, step: Step) -> bool:
    """Whether another step of the same row takes up what this one leaves."""
    return any(
        later.in_hand.rectangle == step.rest.rectangle and later.axis == step.axis
        for later in subject.steps
    )


def _measure(subject: Subject, number: int) -> str:
    """The check of the first piece that is cut out: measure it before going on."""
    for position, step in enumerate(subject.steps):
        done = [*(stroke.free for stroke in step.strokes), step.rest]
        first = next((piece for part in done for piece in _pieces(subject, part)), None)
        if first is not None:
            letter, size = first
            return f"Measure the first {letter}: {size}." if position == number else ""
    return ""


def _pieces(subject: Subject, part: Part) -> Iterator[tuple[str, str]]:
    """The letter of a finished blank, and what it has to measure, seen upright."""
    if part.axis is None and isinstance(part.leaves[0].node, Blank):
        piece = subject.plan.piece(part.leaves[0].node.piece)
        extra = 2 * piece.die_allowance
        if len(part.leaves[0].node.circles) > 1:
            yield f"blank for {letters_of(subject, part)}", part_size(subject, part)
        else:
            yield piece.letter, format_size(piece.width + extra, piece.height + extra, subject.unit)


def part_size(subject: Subject, part: Part) -> str:
    """Width and height of a part as it is drawn."""
    return format_size(part.width, part.height, subject.unit)


def part_words(subject: Subject, part: Part) -> str:
    """Name a part: a piece's letter, an offcut with its size, or its size and the letters in it."""
    size = part_size(subject, part)
    if part.axis is not None:
        return f"{size} for {letters_of(subject, part)}"
    if len(part.leaves) > 1:
        kept = Offcut(keep=True) in [leaf.node for leaf in part.leaves]
        return f"offcut {size} with the barcode strip, keep" if kept else f"{size}, to the bin"
    node = part.leaves[0].node
    if isinstance(node, Blank):
        letter, circles = subject.plan.piece(node.piece).letter, len(node.circles)
        return letter if circles <= 1 else f"{size} for {circles} {letter}"
    if isinstance(node, Offcut):
        return f"offcut {size}, keep" if node.keep else f"{size}, to the bin"
    return "the barcode strip" if isinstance(node, Strip) else "edge trim"


def letters_of(subject: Subject, part: Part) -> str:
    """The pieces that a part is cut into by letter, such as ``3 A, 1 B``; offcuts where none is."""
    counts: Counter[str] = Counter()
    for done in part.finished():
        if isinstance(done.leaves[0].node, Blank):
            blank = done.leaves[0].node
            counts[subject.plan.piece(blank.piece).letter] += max(1, len(blank.circles))
    if not counts:
        return "offcuts"
    if len(counts) > _MOST_LETTERS:
        return f"{counts.total()} blanks, {next(iter(counts))} and others"
    return ", ".join(_counted(counts.items()))


def _counted(counts: Iterable[tuple[str, int]]) -> Iterator[str]:
    for letter, count in counts:
        yield letter if count == 1 else f"{count}{TIE}{letter}"


def setting_words(subject: Subject, step: Step) -> str:
    """The ruler setting as it is read."""
    return format_length(step.setting, subject.unit)


def number_words(step: Step) -> str:
    """The numbers of a step's strokes, as on the lines: ``3``, ``3-6``."""
    first, last = step.strokes[0].number, step.strokes[-1].number
    return str(first) if first == last else f"{first}\N{EN DASH}{last}"
