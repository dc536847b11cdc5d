"""Text shaped by HarfBuzz: which glyphs of a typeface a line of text is, and where they lie."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from nesting.draw.canvas.directions import Way, directed

if TYPE_CHECKING:
    from uharfbuzz import Face, Font


@dataclass(frozen=True, slots=True)
class Glyph:
    """A glyph of a line, lengths in thousandths of the type size.

    ``text`` is what it stands for: nothing where the glyph before it stands for that, too.
    ``advance`` leads to the next glyph; ``right`` and ``up`` shift this one.
    """

    number: int
    text: str
    advance: float
    right: float
    up: float


@cache
def face_of(file: str) -> "Face":
    """A typeface by its file, in a collection the first."""
    from uharfbuzz import Blob, Face

    return Face(Blob.from_file_path(file))


@cache
def font_of(file: str) -> "Font":
    """The typeface in its own units."""
    from uharfbuzz import Font

    return Font(face_of(file))


@cache
def shaped(run: str, file: str) -> tuple[Glyph, ...]:
    """The glyphs of a run of text in one typeface, from left to right."""
    return tuple(glyph for part, way in directed(run) for glyph in _shaped(part, way, file))


def _shaped(part: str, way: Way, file: str) -> Iterator[Glyph]:
    from uharfbuzz import Buffer, BufferClusterLevel, shape

    buffer = Buffer()
    buffer.cluster_level = BufferClusterLevel.MONOTONE_CHARACTERS
    buffer.add_str(part)
    buffer.guess_segment_properties()
    buffer.direction = way
    buffer.language = "en"  # whatever the reader's own is
    font = font_of(file)
    shape(font, buffer)
    scale = 1000 / face_of(file).upem
    starts = sorted({glyph.cluster for glyph in buffer.glyph_infos})
    ends = dict(zip(starts, [*starts[1:], len(part)], strict=True))
    for glyph, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        end = ends.pop(glyph.cluster, glyph.cluster)
        yield Glyph(
            glyph.codepoint,
            part[glyph.cluster : end],
            place.x_advance * scale,
            place.x_offset * scale,
            place.y_offset * scale,
        )
