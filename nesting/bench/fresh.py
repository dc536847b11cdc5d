"""Fresh instances of the ten classes of the published ones, made by the same recipe.

For choosing constants on others than those that are reported.

References
----------
J. O. Berkey, P. Y. Wang (1987). Two-dimensional finite bin-packing algorithms. Journal of the
Operational Research Society 38. Classes 1 to 6.

S. Martello, D. Vigo (1998). Exact solution of the two-dimensional finite bin packing problem.
Management Science 44. Classes 7 to 10.
"""

from collections.abc import Iterator
from fractions import Fraction
from math import ceil
from random import Random

from nesting.bench.literature import SheetsInstance, sheets_batch

#: Classes 1 to 6: the longest side of a piece, the side of the sheet.
_SIDES = ((10, 10), (10, 30), (35, 40), (35, 100), (100, 100), (100, 300))
#: Classes 7 to 10: the sides of four types of pieces as shares of the sheet's side (0 is 1 unit), of
#: which one makes up seven tenths of a class and the others a tenth each.
_THIRD, _HALF, _WHOLE = Fraction(2, 3), Fraction(1, 2), Fraction(1)
_TYPES = (
    ((_THIRD, _WHOLE), (0, _HALF)),
    ((0, _HALF), (_THIRD, _WHOLE)),
    ((_HALF, _WHOLE), (_HALF, _WHOLE)),
    ((0, _HALF), (0, _HALF)),
)
_SHEET_OF_TYPES = 100


def fresh_instances(seed: int, *, turned: bool) -> Iterator[SheetsInstance]:
    """Make ten instances each of ten classes with 20, 40, 60, 80 and 100 pieces."""
    for class_ in range(1, 11):
        for pieces in range(20, 101, 20):
            for number in range(1, 11):
                name = f"class{class_:02d}-{pieces:03d}-{number:02d}"
                rng = Random(f"{seed} {name}")
                sheet = _SIDES[class_ - 1][1] if class_ <= len(_SIDES) else _SHEET_OF_TYPES
                listed = [[*_piece(rng, class_), 1] for _ in range(pieces)]
                data = {"name": name, "width": sheet, "height": sheet}
                batch = sheets_batch(data, listed, turned=turned)
                yield SheetsInstance(name.rpartition("-")[0], batch, None)


def _piece(rng: Random, class_: int) -> tuple[int, int]:
    """Width and height of one piece of a class."""
    if class_ <= len(_SIDES):
        longest, _ = _SIDES[class_ - 1]
        return rng.randint(1, longest), rng.randint(1, longest)
    own = class_ - len(_SIDES) - 1
    weights = [7 if number == own else 1 for number in range(len(_TYPES))]
    (type_,) = rng.choices(_TYPES, weights)
    width, height = (
        rng.randint(max(1, ceil(least * _SHEET_OF_TYPES)), int(most * _SHEET_OF_TYPES))
        for least, most in type_
    )
    return width, height
