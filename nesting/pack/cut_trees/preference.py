"""What easy cutting and one big offcut cost, each compared with the other, in words."""

from nesting.batch import Batch
from nesting.pack.cut_trees.arranging import Arranged
from nesting.units import counted, enumerated, size_words


def preference_words(paper: str, easy: Arranged, big: Arranged, batch: Batch) -> str:
    """Say what the preferred way leaves over, and what the other one would cost.

    Nothing where the largest offcut is the same: then there is no choice.
    """
    if big.offcut is None or easy.offcut == big.offcut:
        return ""
    small, large = _size(easy, batch), _size(big, batch)
    if batch.prefer == "easy-cutting":
        return (
            f"{paper}: laid out for easy cutting; the largest offcut is {small}. "
            f"One big offcut, {large}, would take {_difference(big, easy)}."
        )
    return (
        f"{paper}: laid out for one big offcut, {large}. Easy cutting would take "
        f"{_difference(easy, big)}; its largest offcut is {small}."
    )


def _size(arranged: Arranged, batch: Batch) -> str:
    if arranged.offcut is None:
        return "too small to keep"
    return size_words(*arranged.offcut, batch.unit)


def _difference(other: Arranged, chosen: Arranged) -> str:
    """``3 more strokes and 1 more ruler setting``; ``1 more layout and 2 fewer strokes``."""
    more_of = {
        "layout": len(other.sheets) - len(chosen.sheets),
        "stroke": other.strokes - chosen.strokes,
        "ruler setting": other.ruler_settings - chosen.ruler_settings,
    }
    said = [
        counted(abs(more), f"{'more' if more > 0 else 'fewer'} {what}")
        for what, more in sorted(more_of.items(), key=lambda one: one[1] <= 0)
        if more
    ]
    if not said:
        return "just as many strokes and ruler settings"
    return enumerated(said)
