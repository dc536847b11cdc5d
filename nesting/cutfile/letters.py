"""Letters of pieces as single strokes of a pen, in the middle of their shapes."""

from collections.abc import Iterator

from nesting.cutfile.shapes import PlacedPiece
from nesting.draw.sheet.bearings import WAYS, between, score_lines, top_edge

PenLine = tuple[tuple[int, int], ...]

#: Each letter on a grid four wide and six high: points as two digits, x and y, strokes parted.
_GLYPHS = {
    "A": "002640 1333",
    "B": "00063645443303 3342413000",
    "C": "4536160501103041",
    "D": "00062645412000",
    "E": "46060040 0333",
    "F": "460600 0333",
    "G": "45361605011030414323",
    "H": "0006 4046 0343",
    "I": "1030 2026 1636",
    "J": "4641301001",
    "K": "0006 460340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": "103041453616050110",
    "P": "00063645443303",
    "Q": "103041453616050110 2240",
    "R": "00063645443303 2340",
    "S": "453616050413334241301001",
    "T": "0646 2026",
    "U": "060110304146",
    "V": "062046",
    "W": "0610243046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
}
_WIDE, _HIGH, _PITCH = 4, 6, 6
#: At most so high, and at most this part of the shape's shorter side.
_TALLEST = 6_000_000
_PART = 3


def letter_strokes(shape: PlacedPiece, sheet_width: int, *, mirrored: bool) -> Iterator[PenLine]:
    """The strokes of a shape's letter, in nm on the sheet as it lies under the blade.

    The letter stands upright on the piece, beside its score line, and is never mirrored itself.
    """
    word = shape.piece.letter
    (x, y), room = _middle(shape)
    up_x, up_y = WAYS[top_edge(shape.piece, turned=shape.turned)]
    if mirrored:
        x, up_x = sheet_width - x, -up_x
    across = _PITCH * len(word) - (_PITCH - _WIDE)
    step = min(_TALLEST // _HIGH, room // _PART // max(across, _HIGH))
    for number, character in enumerate(word):
        for stroke in _GLYPHS[character].split():
            points = []
            for a, b in zip(stroke[::2], stroke[1::2], strict=True):
                right = (int(a) + number * _PITCH) * step - across * step // 2
                above = int(b) * step - _HIGH * step // 2
                points.append((x + right * up_y + above * up_x, y - right * up_x + above * up_y))
            yield tuple(points)


def _middle(shape: PlacedPiece) -> tuple[tuple[int, int], int]:
    """Where a letter stands, in the middle, and its shorter side: an envelope's front, or half a base.

    Of a base it is the part below or left of the score line.
    """
    x, y, width, height = shape.x, shape.y, shape.width, shape.height
    scores = score_lines(shape.piece, shape.placed, turned=shape.turned)
    if shape.piece.scores:
        x, y, width, height = between(scores)
    elif scores and scores[0][0] == "x":
        width = scores[0][1] - x
    elif scores:
        height = scores[0][1] - y
    return (x + width // 2, y + height // 2), min(width, height)
