"""Photos of papers: small, upright, nothing in them but pixels, and no more than a limit."""

import struct
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from nesting.page.folder.photos import (
    LONG_EDGE,
    MOST_PIXELS,
    PhotoError,
    keep_for_new_name,
    keep_photo,
    photo_of,
    written_anew,
)

RED, GREEN = (200, 30, 30), (30, 150, 60)


def photo(kind: str = "JPEG", size: tuple[int, int] = (60, 40), **options: object) -> bytes:
    """A photo whose left half is red and right half green."""
    image = Image.new("RGB", size, RED)
    image.paste(GREEN, (size[0] // 2, 0, *size))
    written = BytesIO()
    image.save(written, kind, **options)
    return written.getvalue()


def read(data: bytes) -> Image.Image:
    """What was kept, which has to be a JPEG."""
    return Image.open(BytesIO(data), formats=("JPEG",))


def near(image: Image.Image, at: tuple[int, int], colour: tuple[int, int, int]) -> bool:
    """Whether a pixel has a colour but for what a JPEG does to it."""
    found = image.convert("RGB").getpixel(at)
    return all(abs(a - b) < 12 for a, b in zip(found, colour, strict=True))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "MPO"])
def test_photos_of_the_usual_kinds_are_kept(kind: str) -> None:
    """Each becomes a JPEG with the same picture."""
    image = read(written_anew(photo(kind)))
    assert image.size == (60, 40)
    assert near(image, (10, 20), RED)
    assert near(image, (50, 20), GREEN)


def test_a_large_photo_becomes_small() -> None:
    """Its long edge is cut down, its shape kept."""
    image = read(written_anew(photo(size=(3 * LONG_EDGE, 2 * LONG_EDGE))))
    assert image.size == (LONG_EDGE, LONG_EDGE * 2 // 3)


def test_nothing_is_left_that_came_with_the_file() -> None:
    """Where and by whom it was taken, notes, and colour profiles are gone; the turn is applied."""
    exif = Image.Exif()
    exif[0x010F] = "maker of the camera"
    exif[0x0112] = 6  # to be turned a quarter to the right
    exif.get_ifd(0x8825)[1] = "N"
    data = photo(exif=exif, comment=b"a note", icc_profile=b"profile", quality=95)
    assert all(word in data for word in (b"maker", b"a note", b"profile"))
    kept = written_anew(data)
    image = read(kept)
    assert image.size == (40, 60)
    assert near(image, (20, 10), RED)
    assert not image.getexif()
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    noted = PngInfo()
    noted.add_text("Comment", "a note")
    assert b"a note" not in written_anew(photo("PNG", pnginfo=noted))


def test_what_is_see_through_is_white() -> None:
    """A JPEG has no other way to say it; so it is with a palette."""
    image = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
    for one in (image, image.convert("P"), image.convert("LA")):
        written = BytesIO()
        one.save(written, "PNG", transparency=0) if one.mode == "P" else one.save(written, "PNG")
        assert near(read(written_anew(written.getvalue())), (10, 10), (255, 255, 255))


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is large."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pixels = chunk(b"IDAT", zlib.compress(b""))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + pixels + chunk(b"IEND", b"")


@pytest.mark.parametrize("pixels", [MOST_PIXELS + 1000, 100_000_000, 4_000_000_000])
def test_a_photo_of_too_many_pixels_is_not_read(pixels: int) -> None:
    """It is refused by what it says of itself, before any memory is taken for it."""
    with pytest.raises(PhotoError, match="more than 52 megapixels"):
        written_anew(bomb(1000, pixels // 1000))


@pytest.mark.parametrize(
    "data",
    [b"", b"no photo", b"<svg xmlns='http://www.w3.org/2000/svg'/>", photo()[:300], bomb(10, 10),
     photo("GIF"), b"%PDF-1.4\n"],
)  # fmt: skip
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    """A drawing, a damaged file and other kinds of picture are told from a photo."""
    with pytest.raises(PhotoError, match="expected a JPEG, PNG or WebP"):
        written_anew(data)


def test_a_photo_is_kept_in_the_folder_under_its_papers_name(tmp_path: Path) -> None:
    """Papers whose names differ in any letter have a photo each; names never lead elsewhere."""
    names = ["pear toss", "Pear toss!", "../../pear toss", "梨", "/etc/pear", "a" * 500]
    paths = [keep_photo(tmp_path, name, photo()) for name in names]
    assert len(set(paths)) == len(names)
    assert {path.parent for path in paths} == {tmp_path / "photos"}
    assert all(path == photo_of(tmp_path, name) for path, name in zip(paths, names, strict=True))


def test_a_photo_follows_a_new_name_and_a_bad_one_changes_nothing(tmp_path: Path) -> None:
    """The old name keeps it, for the renaming may be undone; a paper without one has none."""
    kept = keep_photo(tmp_path, "pear toss", photo())
    keep_for_new_name(tmp_path, "pear toss", "pear scatter")
    keep_for_new_name(tmp_path, "bee stripe", "bees")
    assert photo_of(tmp_path, "pear scatter").read_bytes() == kept.read_bytes()
    assert not photo_of(tmp_path, "bees").exists()
    before = kept.read_bytes()
    with pytest.raises(PhotoError):
        keep_photo(tmp_path, "pear toss", b"no photo")
    assert kept.read_bytes() == before
