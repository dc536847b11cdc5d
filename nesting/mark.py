"""The mark of a plan: a short name from its content, by which its pages and records are known.

Equal plans have equal marks. Two plans that differ hardly ever share one; where it matters, their
digests are compared. A plan holds the batch with everything that was at hand, the numbers of the
stash's offcuts among it, so a plan made against another state of the stash has another mark.
"""

import json
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import lru_cache
from hashlib import sha256
from itertools import product
from typing import Any

from nesting.layouts import Node
from nesting.plan import Plan

#: Sounds that are told apart when they are read out; without some that make ugly words.
_SYLLABLES = tuple(map("".join, product("bflmnrst", "aeio")))
_SYLLABLES_IN_MARK = 3
#: The number has two figures.
_LEAST, _NUMBERS = 10, 90


def mark_of(plan: Plan) -> str:
    """The mark of a plan: a word that can be read out, and a number of two figures.

    Examples
    --------
    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> word, number = mark_of(plan).split()
    >>> len(word), len(number)
    (6, 2)
    """
    rest, number = divmod(int(plan_digest(plan), 16), _NUMBERS)
    word = ""
    for _ in range(_SYLLABLES_IN_MARK):
        rest, syllable = divmod(rest, len(_SYLLABLES))
        word += _SYLLABLES[syllable]
    return f"{word.capitalize()} {_LEAST + number}"


@lru_cache(maxsize=2)  # a page of a plan has its mark, and there may be hundreds
def plan_digest(plan: Plan) -> str:
    """A digest of all that is in a plan (SHA-256): that of another plan is another.

    A field that came later counts only where it says something, so that a plan keeps its digest when
    a later version reads it.
    """
    text = json.dumps(_told(plan), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def _told(value: object) -> Any:
    """All that is in a dataclass, as JSON data."""
    if isinstance(value, tuple):
        return [_told(one) for one in value]
    if not is_dataclass(value):
        return value
    told = {}
    for field in fields(value):
        own = getattr(value, field.name)
        if isinstance(own, Node):
            told[field.name] = list(_tree_told(own))
        elif not (field.metadata.get("later") and own == field.default):
            told[field.name] = _told(own)
    return told


def _tree_told(tree: Node) -> Iterator[list[Any]]:
    """Every node of a tree, however deep, a cut before its low side, that before its high side."""
    todo: list[Node] = [tree]
    while todo:
        node = todo.pop()
        own = [getattr(node, field.name) for field in fields(node)]
        yield [type(node).__name__, *(_told(one) for one in own if not isinstance(one, Node))]
        todo += [one for one in reversed(own) if isinstance(one, Node)]
