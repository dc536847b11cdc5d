"""Colours: black on light tints, never the only thing that tells two things apart.

The hues are those of Okabe & Ito (2008), "Color Universal Design", which readers with any of the
common colour vision deficiencies tell apart; here each is thinned with white, so that black
letters stay readable on it and on a grey print. A tint means one thing, on sheets, cards and
recipes alike: a paper. Pieces are told apart by letter and outline.
"""

from collections.abc import Iterator

Colour = tuple[float, float, float]

INK: Colour = (0.0, 0.0, 0.0)
QUIET: Colour = (0.35, 0.35, 0.35)
WHITE: Colour = (1.0, 1.0, 1.0)
#: Fill of the barcode strip and of edge trim.
SHADE: Colour = (0.80, 0.80, 0.80)
#: The lines that hatch what goes to the bin.
HATCH: Colour = (0.55, 0.55, 0.55)

_HUES = (0x56B4E9, 0xE69F00, 0x009E73, 0xF0E442, 0xCC79A7, 0x0072B2, 0xD55E00)
#: Dark hues are thinned more: the tints come out about equally light.
_THINNED = (0.70, 0.68, 0.74, 0.60, 0.70, 0.76, 0.74)


def shades() -> list[Colour]:
    """All that a picture shows, at most 256: greys, and every tint darkened to black, thinned to white.

    Where two colours meet, the dots between them have one of these.
    """
    tints = [tint(number) for number in range(len(_HUES))]
    return [
        SHADE,
        HATCH,
        QUIET,
        *_between(INK, WHITE, 32),
        *(shade for one in tints for shade in _between(one, INK, 21)),
        *(shade for one in tints for shade in _between(one, WHITE, 5)),
    ]


def _between(one: Colour, other: Colour, steps: int) -> Iterator[Colour]:
    """The colours from the one to the other, both with them."""
    for step in range(steps):
        part = step / (steps - 1)
        yield tuple((1 - part) * a + part * b for a, b in zip(one, other, strict=True))  # type: ignore[misc] # three


def tint(number: int) -> Colour:
    """The tint of the paper with that number in the batch; after seven they repeat."""
    hue, white = _HUES[number % 7], _THINNED[number % 7]
    red, green, blue = ((hue >> shift & 255) / 255 for shift in (16, 8, 0))
    return tuple(white + (1 - white) * part for part in (red, green, blue))  # type: ignore[return-value]
