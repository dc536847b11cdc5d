"""Photos of papers, kept in the folder: read with a limit, made small, written anew."""

import hashlib
import warnings
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from nesting.errors import NestingError
from nesting.file_names import plain_name
from nesting.files import write_whole
from nesting.page.guard import inside

if TYPE_CHECKING:
    from PIL import Image

#: Where photos lie in the folder.
FOLDER = "photos"
#: The long edge of a photo that is kept: a paper fills a hand's breadth of the screen.
LONG_EDGE = 1200
#: Pixels that are read at most: what telephones take by default, and four times as many.
MOST_PIXELS = 52_000_000
_FORMATS = ("JPEG", "PNG", "WEBP")


class PhotoError(NestingError, ValueError):
    """A file that cannot be shown as a photo."""


def written_anew(data: bytes) -> bytes:
    """A photo as a small JPEG of its pixels alone, upright, without where and when it was taken.

    Raises
    ------
    PhotoError
        It is no photo, is damaged, or has too many pixels.
    """
    from PIL import Image

    photo = _small_and_upright(data)
    kept = Image.new("RGB", photo.size, "white")  # with nothing that came with the file
    kept.paste(photo, mask=photo.getchannel("A"))
    written = BytesIO()
    kept.save(written, "JPEG", quality=85, optimize=True)
    return written.getvalue()


def _small_and_upright(data: bytes) -> "Image.Image":
    """The pixels of a file, no more of them than are kept."""
    from PIL import Image, ImageOps

    edges = (LONG_EDGE, LONG_EDGE)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            photo: Image.Image = Image.open(BytesIO(data), formats=_FORMATS)
        _refuse_large(photo)
        photo.draft("RGB", edges)  # a JPEG is read at a fraction of its size, where that is enough
        photo.load()
        if photo.mode not in ("L", "RGB", "RGBA", "CMYK"):
            photo = photo.convert("RGBA")
        photo.thumbnail(edges)
        return ImageOps.exif_transpose(photo).convert("RGBA")
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise PhotoError(
            f"more than {MOST_PIXELS // 1_000_000} megapixels; expected a smaller photo"
        ) from None
    except Exception as error:  # noqa: BLE001 - on a damaged file decoders raise whatever they like
        words = str(error) or type(error).__name__
        raise PhotoError(f"not read as a photo ({words}); expected a JPEG, PNG or WebP") from None


def _refuse_large(photo: "Image.Image") -> None:
    from PIL import Image

    if photo.width * photo.height > MOST_PIXELS:
        raise Image.DecompressionBombError


def photo_of(folder: Path, paper: str) -> Path:
    """Where the photo of a paper is, if there is one."""
    digest = hashlib.sha256(paper.encode()).hexdigest()[:12]
    return inside(folder, f"{FOLDER}/{plain_name(paper)}-{digest}.jpg")


def keep_photo(folder: Path, paper: str, data: bytes) -> Path:
    """Keep a photo of a paper, in place of an earlier one; where it is.

    Raises
    ------
    PhotoError
        It cannot be shown as a photo.
    """
    path = photo_of(folder, paper)
    write_whole({path: written_anew(data)})
    return path


def keep_for_new_name(folder: Path, old: str, new: str) -> None:
    """Have the photo of a paper under its new name, too; the old one is there for an undo."""
    before = photo_of(folder, old)
    if before.is_file():
        write_whole({photo_of(folder, new): before.read_bytes()})
