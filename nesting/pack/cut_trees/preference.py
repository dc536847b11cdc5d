"""What easy cutting and one big offcut cost, each in the other's coin, in words."""

from nesting.batch import Batch
from nesting.pack.cut_trees.arrange import Arranged
from nesting.units import format_size, with_unit


def preference_words(paper: str, easy: Arranged, big: Arranged, batch: Batch) -> str:
    """Say what the way that is preferred leaves over, and what the other one would cost.

    Nothing where the largest offcut is the same either way: there is nothing to choose.
    """
    if big.offcut is None or easy.offcut == big.offcut:
        return ""
    small, large = _size(easy, batch), _size(big, batch)
    if batch.prefer == "easy-cutting":
        return (
            f"{paper}: laid for easy cutting; the largest offcut is {small}. "
            f"One of {large} would take {_difference(big, easy)} (prefer: big-offcut)."
        )
    return (
        f"{paper}: laid for one big offcut, {large}. Easy cutting would take "
        f"{_difference(easy, big)}; its largest offcut is {small} (prefer: easy-cutting)."
    )


def _size(arranged: Arranged, batch: Batch) -> str:
    if arranged.offcut is None:
        return "too small to keep"
    return with_unit(format_size(*arranged.offcut, batch.unit), batch.unit)


def _difference(other: Arranged, chosen: Arranged) -> str:
    """``3 strokes and 1 ruler setting more``; ``1 layout more, 2 strokes fewer``."""
    counted = {
        "layout": len(other.sheets) - len(chosen.sheets),
        "stroke": other.strokes - chosen.strokes,
        "ruler setting": other.ruler_settings - chosen.ruler_settings,
    }
    said = [
        f"{' and '.join(many)} {way}"
        for way, sign in (("more", 1), ("fewer", -1))
        if (
            many := [
                f"{abs(more)} {what}{'s' if abs(more) != 1 else ''}"
                for what, more in counted.items()
                if more * sign > 0
            ]
        )
    ]
    return ", ".join(said) or "as many strokes and ruler settings"
