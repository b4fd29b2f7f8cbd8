"""Photographs of a record: read with care, scaled, turned upright, without their metadata.

A picture may come from anyone. Only JPEG, PNG and WebP inside the archive are opened, its size in
bytes and pixels is looked at before it is decoded, and what leaves here is a fresh JPEG: no place,
no camera, no time.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.record.listing import leads_out

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES = 20_000_000
MOST_PIXELS = 40_000_000
MOST_PHOTOS = 24
LONGEST = 1400
"""Pixels of the longer side as printed: 85 mm at 400 dots to the inch."""

QUALITY = 82
FORMATS = ("JPEG", "PNG", "WEBP")


class BadPhoto(ValueError):
    """A photograph that cannot be used; the message says why."""


@dataclass(frozen=True)
class Photograph:
    """A picture ready to be placed: JPEG bytes in sRGB, width and height in pixels."""

    data: bytes
    width: int
    height: int


def photograph(root: Path, file: str) -> Photograph:
    """Return a photograph of the archive, ready to be placed. :class:`BadPhoto` if it cannot be."""
    path = _inside(root, file)
    from PIL import Image as images
    from PIL import ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with images.open(path, formats=FORMATS) as opened:
                width, height = opened.size
                if width * height > MOST_PIXELS:
                    raise BadPhoto(_too_many())
                opened.draft("RGB", (LONGEST, LONGEST))
                upright = ImageOps.exif_transpose(opened)
                scaled = _flat(upright)
    except BadPhoto:
        raise
    except images.DecompressionBombError as error:
        raise BadPhoto(_too_many()) from error
    except Exception as error:
        # A decoder given hostile bytes can raise anything.
        raise BadPhoto("is not a sound JPEG, PNG or WebP picture") from error
    scaled.thumbnail((LONGEST, LONGEST))
    out = io.BytesIO()
    scaled.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Photograph(out.getvalue(), *scaled.size)


def _too_many() -> str:
    return f"has too many pixels; {MOST_PIXELS // 1_000_000} million are the most"


def _flat(image: Image) -> Image:
    """Return a picture on white, in RGB and with nothing but its pixels."""
    from PIL import Image as images

    if image.mode in ("RGBA", "LA", "P"):
        coloured = image.convert("RGBA")
        ground = images.new("RGBA", coloured.size, "white")
        ground.alpha_composite(coloured)
        image = ground
    plain = image.convert("RGB")
    clean = images.new("RGB", plain.size)
    clean.paste(plain)
    return clean


def _inside(root: Path, file: str) -> Path:
    inside = root.resolve()
    path = inside / file
    if Path(file).is_absolute() or ".." in Path(file).parts or leads_out(path, inside):
        raise BadPhoto("lies outside the archive")
    try:
        if not path.is_file():
            raise BadPhoto("is not there")
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        raise BadPhoto("cannot be read") from error
    if size > MOST_BYTES:
        raise BadPhoto(
            f"has {size / 1_000_000:.0f} MB; {MOST_BYTES // 1_000_000} MB are the most"
        )
    return path
