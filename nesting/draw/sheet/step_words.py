"""What is said of each step in the stroke table: what to take, what drops off, what is held."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from nesting.cutting.parallel_cuts import Part, kept_offcut
from nesting.cutting.steps import Step
from nesting.draw.canvas.lettering import TIE
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.turns import lie_of
from nesting.draw.sheet.words import offcut_words
from nesting.layouts import Blank, Offcut, Strip
from nesting.sources import strip_on
from nesting.units import Unit, format_length, format_size, neighbouring_marks

#: More kinds of piece than this in one part are not listed by letter.
_MOST_LETTERS = 6
#: A sliver narrower than this comes off badly at a trimmer: 1/8 in or 3 mm (common practice).
_SHAVE: dict[Unit, int] = {"in": 3_175_000, "mm": 3_000_000, "cm": 3_000_000}
#: Four arms and a centre.
_WHEEL = 5
_AT_A_TRIMMER = "too little to hold at a trimmer: with knife and steel rule"
NARROW = "Narrow: hold it under a steel rule."


def step_lines(
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
    stop = stop_words(subject, step)
    if stop:
        yield stop, True
    yield " ".join(_take(subject, number, afresh=afresh)), False
    yield " ".join(_cut(subject, step)), False
    held = _still_whole(subject, number)
    if held:
        yield held, False
    measure = _measure(subject, number)
    if measure:
        yield measure, True


def _by_knife(subject: Subject, step: Step) -> str:
    """Which of a step's strokes leave too little to hold, and what to take instead."""
    with_knife = _has_no_guide(subject)
    at_a_trimmer = f"{_AT_A_TRIMMER} {_measured(subject, step)}."
    if step.by_knife == step.times:
        return NARROW if with_knife else at_a_trimmer.capitalize()
    last = "The last stroke" if step.by_knife == 1 else f"The last {step.by_knife} strokes"
    which = f"{last} on each" if step.parts > 1 else last
    if with_knife:
        return f"{which}: {NARROW.lower()}"
    return f"{which} leave{'s' if step.by_knife == 1 else ''} {at_a_trimmer}"


def stop_words(subject: Subject, step: Step) -> str:
    """Where a cut ends inside the sheet, and what overrunning would hurt; nothing where it runs through."""
    line = step.last.line
    if line is None or line.stop is None:
        return ""
    stop, begins = line.stop, subject.seen(line.begins)
    begin = f"Begin at the {begins} edge and stop at {format_length(stop.after, subject.unit)}"
    if stop.meets:
        return f"{begin}, where it meets the other stopped cut."
    if stop.spare:
        more = format_length(stop.spare, subject.unit)
        return f"{begin}: mark first. Up to {more} more hurts nothing."
    if _has_no_guide(subject):
        return f"{begin}: mark first. Nothing is spare."
    return (
        f"{begin}: mark first. Nothing is spare: stop short, and finish with knife and steel rule."
    )


def _has_no_guide(subject: Subject) -> bool:
    """Whether everything is cut with a knife along a steel rule: nothing lies against an edge."""
    return subject.plan.asked.trimmer.kind == "knife"


def _measured(subject: Subject, step: Step) -> str:
    """Where the line is, for a knife and a steel rule: ``measure 5 from the top edge``."""
    return f"measure {setting_words(subject, step)} from the {subject.seen(step.measured)} edge"


def _take(subject: Subject, number: int, *, afresh: bool) -> Iterator[str]:
    """What to take in hand, and which of its edges to lay against the guide edge or measure from.

    The edge is not said again only where the same part stays in hand as it lies.
    """
    step = subject.steps[number]
    before = subject.steps[number - 1] if number else None
    as_it_lies = before is not None and not afresh and _stays_in_hand(before, step)
    if before is None:
        yield f"Take the {_SOURCES[subject.layout.source.kind]}."
    elif as_it_lies:
        yield "Go on with the rest." if step.parts == 1 else "Go on with the rest of each."
    else:
        size, letters = part_size(subject, step.in_hand), _told_apart(subject, step)
        many = {1: "the ", 2: "both parts of "}.get(step.parts, f"{step.parts} parts of ")
        yield f"Take {many}{size}{letters}."
    if _has_no_guide(subject):
        words = _measured(subject, step)
        yield f"{words[0].upper()}{words[1:]}."
        return
    guide = _guide(subject, step)
    if guide and not (as_it_lies and before and _guide(subject, before) == guide):
        yield f"{guide.capitalize()} edge to the guide edge."


#: What is taken in hand at first, by the kind of the layout's source.
_SOURCES = {"sheet": "sheet", "offcut": "offcut", "middle": "covered middle"}


def _stays_in_hand(before: Step, step: Step) -> bool:
    """Whether a step goes on with what is held at the end of the one before."""
    last = before.last
    return (
        last.held is last.rest
        and last.rest.rectangle == step.in_hand.rectangle
        and before.parts == step.parts
    )


def _guide(subject: Subject, step: Step) -> str:
    """The edge of the part that lies at the guide edge; nothing where the knife makes every stroke."""
    return "" if step.by_knife == step.times else lie_of(subject, step).guide


def _told_apart(subject: Subject, step: Step) -> str:
    """The pieces in a part, where anything else that is cut has its size; else nothing."""
    part = step.in_hand
    size = sorted((part.width, part.height))
    others = (
        other
        for one in subject.steps
        for stroke in one.strokes
        for other in (stroke.whole, stroke.taken, stroke.rest)
    )
    alike = any(
        sorted((other.width, other.height)) == size and other.pattern != part.pattern
        for other in others
    )
    return f" for {letters_of(subject, part)}" if alike else ""


def _cut(subject: Subject, step: Step) -> Iterator[str]:
    """How often to cut, and what drops off each time; what is held at last where that is new."""
    times = {1: "", 2: " twice"}.get(step.times, f" {step.times} times")
    each = " each" if step.parts > 1 else ""
    if times or each:
        yield f"Cut{each}{times}{_at_once(subject, step)}."
    strokes, last = step.strokes[: step.times], step.last
    turned = step.times > 1 and last.held is last.taken
    falling_parts = [stroke.falls for stroke in (strokes[:-1] if turned else strokes)]
    yield _drops(subject, step, falling_parts) + "."
    if turned:
        falls = _drops(subject, step, [last.falls])
        yield (
            f"The last time hold {part_words(subject, last.held)}; {falls[0].lower()}{falls[1:]}."
        )
    falling = last.falls.extent(step.axis)
    if 0 < falling < _SHAVE[subject.unit] and not step.by_knife and not _has_no_guide(subject):
        yield f"A shave: surer with knife and steel rule, {_measured(subject, step)}."


def _at_once(subject: Subject, step: Step) -> str:
    """How many equal parts lie on top of one another; nothing where only whole sheets do."""
    stack, count = subject.plan.asked.trimmer.stack, step.parts * subject.layout.alike
    if stack == 1 or step.parts == 1:
        return ""
    of_all = f"{stack} of the {count} at once"
    return f", {of_all if count > stack else at_once_words(count, stack)}"


def at_once_words(count: int, stack: int) -> str:
    """Say how many of some sheets or parts lie under the blade: ``both at once``, ``3 at once``."""
    if count > stack:
        return f"{stack} at once"
    return "both at once" if count == 2 else f"all {count} at once"


def _drops(subject: Subject, step: Step, parts: Sequence[Part]) -> str:
    """What drops off one after another."""
    real = [part for part in parts if part.width and part.height]
    if not real and step.stop:
        return "Nothing drops off yet"
    if not real:
        return "Only as much as the cut is wide comes off"
    at_last = "" if real == list(parts) else "; the last time only as much as the cut is wide"
    return f"Drops off: {_in_turn(subject, real)}{at_last}"


def _in_turn(subject: Subject, parts: Sequence[Part]) -> str:
    """What drops off one after another; equal ones that follow each other are counted."""
    falls = [(words, len(list(same))) for words, same in groupby(_named(subject, parts))]
    if len(falls) == 1:
        return falls[0][0]
    words = [_repeated(words, count) for words, count in falls]
    if len(falls) > 2 and any(part.parts for part in parts):
        inside = [letters_of(subject, part) for part in parts]
        return f"{part_size(subject, parts[0])} each time, in turn for {'; '.join(inside)}"
    return f"{'; '.join(words[:-1])}; then {words[-1]}"


def _repeated(words: str, count: int) -> str:
    """``A``, ``3 A``; of a size, which begins with a number itself, ``3 times 1/4 x 12``."""
    if count == 1:
        return words
    return f"{count}{TIE}{words}" if words.isalpha() else f"{count} times {words}"


def _named(subject: Subject, parts: Iterable[Part]) -> Iterator[str]:
    return (part_words(subject, part) for part in parts)


def _still_whole(subject: Subject, number: int) -> str:
    """What is held when the step is done, unless the next one cuts more off it along this axis."""
    step, following = subject.steps[number], subject.steps[number + 1 : number + 2]
    last = step.last  # where it turns what is held, a step that repeats its cut has said so
    if last.held is last.rest:
        goes_on = any(
            _stays_in_hand(step, later) and (later.axis == step.axis or later.in_hand.joined)
            for later in following
        )
    else:
        goes_on = step.times > 1
    return "" if goes_on else f"Still in one piece: {part_words(subject, last.held)}."


def _measure(subject: Subject, number: int) -> str:
    """The check of the first piece that is cut out: measure it before going on."""
    for position, step in enumerate(subject.steps):
        done = [*(stroke.taken for stroke in step.strokes), step.last.rest]
        first = next((piece for part in done for piece in _pieces(subject, part)), None)
        if first is not None:
            letter, size = first
            return f"Measure the first {letter}: {size}." if position == number else ""
    return ""


def _pieces(subject: Subject, part: Part) -> Iterator[tuple[str, str]]:
    """The letter of a finished blank, and what it has to measure, seen upright."""
    if part.leaves and isinstance(part.leaves[0].node, Blank):
        piece = subject.plan.piece(part.leaves[0].node.piece)
        extra = 2 * piece.die_allowance
        if len(part.leaves[0].node.circles) > 1:
            yield f"blank for {letters_of(subject, part)}", part_size(subject, part)
        else:
            yield piece.letter, format_size(piece.width + extra, piece.height + extra, subject.unit)


def part_size(subject: Subject, part: Part) -> str:
    """Width and height of a part as it is drawn; a pinwheel without some arms lacks a corner."""
    size = format_size(part.width, part.height, subject.unit)
    return f"{size} less a corner" if part.joined and len(part.parts) < _WHEEL else size


def part_words(subject: Subject, part: Part) -> str:
    """Name a part: a piece's letter, an offcut with its size, or its size and the letters in it."""
    size = part_size(subject, part)
    if part.parts:
        return f"{size} for {letters_of(subject, part)}"
    kept = kept_offcut(part, strip_on(subject.layout, subject.paper))
    if kept is not None:
        return f"offcut {offcut_words(kept, subject.paper, subject.unit)}, keep"
    node = part.leaves[0].node
    if len(part.leaves) > 1 or isinstance(node, Offcut):
        return f"{size}, to the bin"
    if isinstance(node, Blank):
        letter, circles = subject.plan.piece(node.piece).letter, len(node.circles)
        return letter if circles <= 1 else f"{size} for {circles} {letter}"
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
