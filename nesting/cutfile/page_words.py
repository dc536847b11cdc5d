"""What the page beside the cut files says: no drawing here."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from nesting.cutfile.arrangement import Arrangement
from nesting.cutfile.carrier import Mounting, Setup
from nesting.cutfile.svg import LineKind
from nesting.draw.canvas.lettering import isolated
from nesting.units import NANOMETRES, Unit, counted, length_words

#: CSS counts 96 units (px) to the inch: CSS Values and Units Module Level 4, section 6.2.
_WRITTEN = 96
#: What older programs count to the inch.
_READ = (72, 90)

GROUP_WORDS: dict[LineKind, str] = {
    "lettering": "The letters of the pieces, to be drawn with a pen, not cut. They show: leave "
    "them out where that would spoil a card.",
    "score-lines": "Fold lines: to be scored, never cut through.",
    "windows": "Holes within a piece: cut them before the piece comes free.",
    "outlines": "The edges of the pieces: cut them last.",
}
CAUTION = (
    "The blade is sharp and moves by itself: keep fingers, hair and sleeves away while it runs. "
    "The machine's own instructions come first."
)
TEST_WORDS = (
    "Open test-squares.svg first, in the same way as the others. The larger square has to measure "
    "1 in, the smaller one 20 mm. If they do not, set the scale of every file to what the last "
    "column says; nothing else about them has to change."
)


def order_words(groups: Sequence[LineKind]) -> str:
    """Say in which order the groups are worked."""
    return f"Work them in this order: {', '.join(groups)}." if len(groups) > 1 else ""


def by_hand_words(windows: int) -> str:
    """Say how many windows are in no file, as not all sheets that are cut alike have them."""
    if not windows:
        return ""
    are = "1 more window is" if windows == 1 else f"{windows} more windows are"
    return f"{are} cut by hand, as the recipes say: not all sheets that are cut alike have them."


def outline_words(setup: Setup, unit: Unit) -> str:
    """Say what the outlines are like."""
    if setup.gap:
        gap = length_words(setup.gap, unit)
        return f"Every outline is closed, with {gap} or more to the next."
    return (
        "An edge that two pieces share is there once, as one line. What lies along the edge of "
        "the sheet is there too, so that every piece comes out in its size on a sheet a little "
        "larger than it should be."
    )


FINISH_WORDS = (
    "Circles are cut to their finished size. Rectangles with a die allowance have it round them: "
    "a die finishes them."
)


def scale_rows() -> Iterator[tuple[str, str, str, str]]:
    """Say what the squares measure when a program reads the files wrongly, and the scale that mends it.

    Programs go wrong in two ways: they take the size at 96 units to the inch, as it is meant,
    but show it at fewer; or they pass over the size and take the numbers within, which are mm,
    for units.
    """
    yield _scale_row(Fraction(1), "all is well")
    for units in _READ:
        yield _scale_row(
            Fraction(_WRITTEN, units), f"{_WRITTEN} units to the inch, shown at {units}"
        )
    for units in (*_READ, _WRITTEN):
        factor = Fraction(NANOMETRES["in"], NANOMETRES["mm"] * units)
        yield _scale_row(factor, f"mm taken for units of 1/{units} in")


def _scale_row(factor: Fraction, words: str) -> tuple[str, str, str, str]:
    mend = f"{_rounded(100 / factor, 2)} %"
    return f"{_rounded(factor, 3)} in", f"{_rounded(20 * factor, 1)} mm", words, mend


def _rounded(value: Fraction, places: int) -> str:
    """A number for reading, with no more decimals than it needs."""
    text = f"{float(value):.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def lying_words(setup: Setup) -> str:
    """Say which corner and which face go where."""
    face = "back" if setup.back_up else "front"
    turned = (
        " Turn each sheet over like a page: left and right change places, the top stays. The files "
        "are mirrored already, so mirror nothing yourself."
        if setup.back_up
        else ""
    )
    corner = (
        "where its picture has it on the carrier, which is dotted"
        if setup.carrier
        else "in the carrier's top left corner, or where the machine starts"
    )
    return (
        f"Lay every sheet {face} up, towards the blade, with the edge that is the top of its "
        f"picture away from you.{turned} The heavy corner in the picture is the top left of the "
        f"sheet and of the file: it goes {corner}. What is left over is shaded."
    )


def carrier_words(lie: Mounting, unit: Unit) -> str:
    """Say where the heavy corner lies on the carrier."""
    moves = ((lie.right, "right"), (lie.down, "down"))
    words = [f"{length_words(by, unit)} {way}" for by, way in moves if by]
    if not words:
        return "corner in the carrier's top left corner"
    return f"corner {' and '.join(words)} from the carrier's"


def lacking_words(count: int, *, again: bool) -> str:
    """Say how many sheets are not at hand, and what can be done about it."""
    if again:
        return f"{count} to buy"
    return f"{count} more than there {'is' if count == 1 else 'are'}, and it cannot be bought again"


def saving_words(arrangement: Arrangement) -> str:
    """Say what an arrangement takes, what it saves, and what no other could save."""
    needed, planned, bound = arrangement.needed, arrangement.planned, arrangement.bound
    words = f"{isolated(arrangement.paper)}: {counted(needed, 'whole sheet')}"
    if arrangement.to_buy:
        words += f" ({lacking_words(arrangement.to_buy, again=arrangement.again)})"
    if needed < planned:
        words += f" where straight cuts take {planned}: {planned - needed} saved."
    elif needed > planned:
        words += f", {needed - planned} more than the plan, for the gap or the edge out of reach."
    else:
        words += ", as many as with straight cuts."
    turns = "of any kind" if bound.by == "area" else "with quarter turns only"
    if needed == bound.value:
        return f"{words} Proven by {bound.by}: no arrangement {turns} needs fewer."
    return f"{words} An arrangement {turns} needs at least {bound.value} (by {bound.by})."
