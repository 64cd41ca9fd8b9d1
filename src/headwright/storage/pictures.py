"""Photographs made plain: read, turned upright, scaled down, written anew without anything else.

What a telephone writes into a photograph, where it was taken among it, does not go into the book;
nor does anything that only looks like a picture.
"""

from __future__ import annotations

import io
import re
import unicodedata
import warnings
from collections.abc import Iterable
from typing import Final

from PIL import Image, ImageOps, UnidentifiedImageError

from headwright.errors import InputError

__all__ = ["plain_name", "plain_picture"]

FORMATS: Final = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")
MOST_PIXELS: Final = 80_000_000
LONGEST_SIDE: Final = 2400
QUALITY: Final = 85

_SIGNS: Final = (
    b"\xff\xd8\xff",
    b"\x89PNG\r\n\x1a\n",
    b"GIF87a",
    b"GIF89a",
    b"II*\x00",
    b"MM\x00*",
    b"BM",
)


def plain_picture(content: bytes) -> bytes:
    """Return a photograph as a plain JPEG: upright, at most 2400 pixels a side, pixels alone.

    Args:
        content: the file as it came.

    Raises:
        InputError: it is no picture of a known sort, too large, or damaged.
    """
    is_webp = content[:4] == b"RIFF" and content[8:12] == b"WEBP"
    if not (is_webp or content.startswith(_SIGNS)):
        raise InputError(
            "photograph: this file is no picture of a sort that is taken; "
            "send JPEG, PNG, WebP, GIF, TIFF or BMP"
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _encoded(content)
    except (UnidentifiedImageError, Image.DecompressionBombError):
        raise InputError("photograph: the file cannot be read as a picture") from None
    except (OSError, ValueError, SyntaxError, MemoryError, OverflowError, EOFError, KeyError):
        raise InputError("photograph: the picture is damaged; take or save it again") from None


def _encoded(content: bytes) -> bytes:
    with Image.open(io.BytesIO(content), formats=FORMATS) as picture:
        width, height = picture.size
        if width * height > MOST_PIXELS:
            raise InputError(
                f"photograph: {width} x {height} pixels are more than the "
                f"{MOST_PIXELS // 1_000_000} million that are taken; send a smaller one"
            )
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(picture)
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        pixels = upright.convert("RGBA")
        plain = Image.new("RGB", pixels.size, "white")
        plain.paste(pixels, mask=pixels.getchannel("A"))
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def plain_name(given: str, taken: Iterable[str] = ()) -> str:
    """Return a name for a photograph from the name of its file, unlike those that are taken.

    >>> plain_name("../../Bore 3 (left).HEIC.jpeg", ["Bore-3-left.jpg"])
    'Bore-3-left-2.jpg'
    """
    last = re.split(r"[\\/]", given)[-1]
    text = unicodedata.normalize("NFKD", last).encode("ascii", "ignore").decode()
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", text.partition(".")[0]).strip("-_")[:80] or "photo"
    used = {name.casefold() for name in taken}
    name, count = f"{stem}.jpg", 1
    while name.casefold() in used:
        count += 1
        name = f"{stem}-{count}.jpg"
    return name
