"""Fonts in a PDF: only the glyphs that are used, and which text they stand for."""

from collections.abc import Iterable
from hashlib import sha256
from struct import unpack_from
from typing import Any

import pydyf
from uharfbuzz import OTNameIdPredefined, SubsetFlags, SubsetInput, subset

from nesting.draw.canvas.shaping import Glyph, face_of, font_of

#: Symbolic: glyphs are told by their numbers.
_FLAGS = 4
#: A list of texts in a PDF has at most so many rows.
_ROWS = 100


class EmbeddedFont:
    """A typeface in a PDF, and which of its glyphs stand for which text there."""

    def __init__(self, file: str, name: str) -> None:
        self.name = name
        self._file = file
        self._texts: dict[int, str] = {}
        self._own: set[int] = set()
        self._widths: dict[int, float] = {}
        self._scale = 1000 / face_of(file).upem

    def codes(self, glyphs: Iterable[Glyph]) -> list[tuple[float, bytes]]:
        """The codes of glyphs with what moves them along the line, by how far up they are."""
        rows: list[tuple[float, list[str]]] = []
        moved = 0.0  # where the next glyph would be drawn beyond where it belongs
        for glyph in glyphs:
            if glyph.number not in self._widths:
                advance = font_of(self._file).get_glyph_h_advance(glyph.number)
                self._widths[glyph.number] = advance * self._scale
            self._note_text(glyph)
            if not rows or rows[-1][0] != glyph.up:
                rows.append((glyph.up, []))
            moved -= glyph.right
            shift = f">{moved:.1f}<" if abs(moved) > 0.05 else ""
            rows[-1][1].append(f"{shift}{glyph.number:04x}")
            moved += glyph.right + self._widths[glyph.number] - glyph.advance
            moved -= float(shift[1:-1]) if shift else 0.0
        return [(up, f"<{''.join(codes)}>".replace("<>", "").encode()) for up, codes in rows]

    def _note_text(self, glyph: Glyph) -> None:
        """Note what a glyph stands for: for a character that is its own before anything else."""
        if not glyph.text or glyph.number in self._own:
            return
        nominal = font_of(self._file).get_nominal_glyph
        if len(glyph.text) == 1 and nominal(ord(glyph.text)) == glyph.number:
            self._own.add(glyph.number)
            self._texts[glyph.number] = glyph.text
        self._texts.setdefault(glyph.number, glyph.text)

    def added_to(self, pdf: pydyf.PDF) -> bytes:
        """Add it to a PDF, and say where it is there."""
        face, used = face_of(self._file), sorted(self._widths)
        postscript = face.get_name(OTNameIdPredefined.POSTSCRIPT_NAME) or "Font"
        name = f"/{_letters(used)}+{''.join(c for c in postscript if c.isalnum() or c == '-')}"
        cff = not {"CFF ", "CFF2"}.isdisjoint(face.table_tags)
        system = {
            "Registry": pydyf.String("Adobe"),
            "Ordering": pydyf.String("Identity"),
            "Supplement": 0,
        }
        widths = pydyf.Array()
        for number in used:
            widths += [number, pydyf.Array([round(self._widths[number], 3)])]
        glyphs = {
            "Type": "/Font",
            "Subtype": "/CIDFontType0" if cff else "/CIDFontType2",
            "BaseFont": name,
            "CIDSystemInfo": pydyf.Dictionary(system),
            "W": widths,
            "FontDescriptor": self._described(pdf, name, cff=cff),
        }
        if not cff:
            glyphs["CIDToGIDMap"] = "/Identity"
        font = {
            "Type": "/Font",
            "Subtype": "/Type0",
            "BaseFont": name,
            "Encoding": "/Identity-H",
            "DescendantFonts": pydyf.Array([added(pdf, pydyf.Dictionary(glyphs))]),
            "ToUnicode": added(pdf, self._texts_stream()),
        }
        return added(pdf, pydyf.Dictionary(font))

    def _described(self, pdf: pydyf.PDF, name: str, *, cff: bool) -> bytes:
        """Its measures and its outlines."""
        box = unpack_from(">4h", face_of(self._file).reference_table("head").data, 36)
        extents = font_of(self._file).get_font_extents("ltr")
        outlines = self._cut_down()
        kind = {"Subtype": "/OpenType"} if cff else {"Length1": len(outlines)}
        stream = added(pdf, pydyf.Stream([outlines], kind, compress=True))
        descriptor = {
            "Type": "/FontDescriptor",
            "FontName": name,
            "Flags": _FLAGS,
            "FontBBox": pydyf.Array(rounded(side * self._scale for side in box)),
            "ItalicAngle": 0,
            "Ascent": round(extents.ascender * self._scale),
            "Descent": round(extents.descender * self._scale),
            "CapHeight": round(extents.ascender * self._scale),
            "StemV": 80,  # asked for, and used by no reader that has the outlines
            "FontFile3" if cff else "FontFile2": stream,
        }
        return added(pdf, pydyf.Dictionary(descriptor))

    def _cut_down(self) -> bytes:
        """The font file with the glyphs that are used, under the numbers they had."""
        asked = SubsetInput()
        asked.glyph_set.update(self._widths)
        asked.flags = (
            SubsetFlags.RETAIN_GIDS
            | SubsetFlags.NOTDEF_OUTLINE
            | SubsetFlags.NO_LAYOUT_CLOSURE
            | SubsetFlags.DOWNGRADE_CFF2
            | SubsetFlags.CFF_IDENTITY_CHARSET
        )
        asked.drop_table_tag_set.update(
            int.from_bytes(tag, "big") for tag in (b"GSUB", b"GPOS", b"GDEF", b"kern", b"name")
        )
        return bytes(subset(face_of(self._file), asked).blob.data)

    def _texts_stream(self) -> pydyf.Stream:
        """Which text each glyph stands for, for who searches or copies."""
        texts = sorted(self._texts.items())
        rows = [f"<{number:04x}> <{text.encode('utf-16-be').hex()}>" for number, text in texts]
        lines = [
            "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
            "1 begincodespacerange <0000> <ffff> endcodespacerange",
        ]
        for first in range(0, len(rows), _ROWS):
            some = rows[first : first + _ROWS]
            lines += [f"{len(some)} beginbfchar", *some, "endbfchar"]
        lines.append("endcmap CMapName currentdict /CMap defineresource pop end end")
        return pydyf.Stream(lines, compress=True)


def added(pdf: pydyf.PDF, part: pydyf.Object) -> bytes:
    """Add an object to a PDF, and say how others name it."""
    pdf.add_object(part)
    return bytes(part.reference)


def _letters(used: list[int]) -> str:
    """Six letters that tell this cut-down font from others."""
    digest = sha256(repr(used).encode()).digest()
    return "".join(chr(65 + byte % 26) for byte in digest[:6])


def rounded(numbers: Any) -> list[float]:
    """Coordinates to a thousandth of a point, colours to a thousandth."""
    return [round(float(number), 3) for number in numbers]
