"""A pattern held to what is left: blanks beyond it give way to others that fit in their places."""

from nesting.pack.model.pattern import Group, Leaf, Pattern, group, wheel_of
from nesting.pack.model.problem import Problem, Shape


def exchanged(pattern: Pattern, problem: Problem, left: list[int]) -> Pattern | None:
    """Exchange each blank that ``left`` has none of for the largest other that fits there, if any does.

    ``left`` is counted down. None where nothing remains.
    """
    if isinstance(pattern, Leaf):
        return _leaf(pattern, problem, left)
    inside = [None if one is None else exchanged(one, problem, left) for one in pattern.members]
    if isinstance(pattern, Group):
        return group(pattern.axis, inside)
    return wheel_of(inside, pattern.gap) if any(inside) else None


def _leaf(leaf: Leaf, problem: Problem, left: list[int]) -> Leaf | None:
    held = leaf.shape.holds
    if left[leaf.kind] >= held:
        left[leaf.kind] -= held
        return leaf
    fitting: list[tuple[int, int, Shape]] = [
        (shape.width * shape.height, -number, shape)
        for number, kind in enumerate(problem.kinds)
        for shape in kind.shapes
        if shape.holds <= left[number] and shape.width <= leaf.width and shape.height <= leaf.height
    ]
    if not fitting:
        return None
    _, number, shape = max(fitting, key=lambda one: one[:2])
    left[-number] -= shape.holds
    return Leaf(-number, shape)
