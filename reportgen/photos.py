"""Photographs of a record: read with care, scaled, turned upright, without their metadata.

A picture may come from anyone. Only JPEG, PNG and WebP inside the archive are opened, its size in
bytes and pixels is looked at before it is decoded, and what leaves here is a fresh JPEG: no place,
no camera, no time.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import unicodedata
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from reportgen.record.listing import NOT_RECORDS, leads_out, paths_below

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES = 20_000_000
MOST_PIXELS = 40_000_000
MOST_PHOTOS = 24
LONGEST = 1400
"""Pixels of the longer side as printed: 85 mm at 400 dots to the inch."""

QUALITY = 82
FORMATS = ("JPEG", "PNG", "WEBP")
ENDINGS = (".jpg", ".jpeg", ".png", ".webp")
"""Endings of their names; whether a picture has changed is looked for among the files so named."""

PART = "photo "
"""Begins the name of a photograph among what an output is made from."""


AS_JPEG = "save the picture as JPEG from the program that shows it, and name that file"


class BadPhoto(ValueError):
    """A photograph that cannot be used; the message says why, ``remedy`` what to do where known."""

    def __init__(self, why: str, remedy: str = "") -> None:
        super().__init__(why)
        self.remedy = remedy


class Photograph(Struct, frozen=True):
    """A picture ready to be placed: JPEG bytes in sRGB, width and height in pixels."""

    data: bytes
    width: int
    height: int


def photo_part(root: Path, file: str) -> dict[str, str]:
    """Return a photograph as a part of what an output is made from: its name and its digest."""
    try:
        return {PART + file: hashlib.sha256(_inside(root, file).read_bytes()).hexdigest()}
    except (BadPhoto, OSError) as why:
        # What is not opened, since it is too large or leads out, is known by why it is not.
        return {PART + file: str(why)}


def photo_parts(root: Path) -> dict[str, str]:
    """Return all pictures of an archive that a record could name, each as such a part."""
    inside = paths_below(root, NOT_RECORDS)
    pictures = [path for path in inside if path.suffix.lower() in ENDINGS and path.is_file()]
    parts: dict[str, str] = {}
    for path in pictures:
        parts |= photo_part(root, path.relative_to(root).as_posix())
    return parts


def photograph(root: Path, file: str) -> Photograph:
    """Return a photograph of the archive, ready to be placed. :class:`BadPhoto` if it cannot be."""
    path = _inside(root, file)
    from PIL import Image as images
    from PIL import ImageOps

    try:
        with warnings.catch_warnings(), _whole_only():
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
        raise BadPhoto("is not a sound JPEG, PNG or WebP picture", AS_JPEG) from error
    scaled.thumbnail((LONGEST, LONGEST))
    out = io.BytesIO()
    scaled.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Photograph(out.getvalue(), *scaled.size)


@contextlib.contextmanager
def _whole_only() -> Iterator[None]:
    """Refuse a picture that is cut off, also where the layout library has told the decoder to fill
    what is missing with grey.
    """
    from PIL import ImageFile

    before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _too_many() -> str:
    return f"has too many pixels; {MOST_PIXELS // 1_000_000} million are the most"


def _flat(image: Image) -> Image:
    """Return a picture on white, in sRGB and with nothing but its pixels."""
    from PIL import Image as images

    image = _in_srgb(image)
    if image.mode.startswith("I"):
        # Greys of 16 bits, which would be cut off at 255.
        image = image.point(lambda grey: grey * (255 / 65535)).convert("L")
    if image.mode in ("RGBA", "LA", "P"):
        coloured = image.convert("RGBA")
        ground = images.new("RGBA", coloured.size, "white")
        ground.alpha_composite(coloured)
        image = ground
    plain = image.convert("RGB")
    clean = images.new("RGB", plain.size)
    clean.paste(plain)
    return clean


def _in_srgb(image: Image) -> Image:
    """Return a picture with its colours as its own profile means them, in sRGB.

    Without a profile, or with one that cannot be used, the numbers stand as they are.
    """
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "RGBA", "CMYK", "L"):
        return image
    from PIL import ImageCms

    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        mode = image.mode if image.mode == "RGBA" else "RGB"
        turned = ImageCms.profileToProfile(
            image, own, ImageCms.createProfile("sRGB"), outputMode=mode
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image
    return turned if turned is not None else image


def _inside(root: Path, file: str) -> Path:
    inside = root.resolve()
    path = inside / file
    if Path(file).is_absolute() or ".." in Path(file).parts or leads_out(path, inside):
        raise BadPhoto("lies outside the archive")
    if path.suffix.lower() not in ENDINGS:
        raise BadPhoto(f"is named neither {', '.join(ENDINGS[:-1])} nor {ENDINGS[-1]}", AS_JPEG)
    try:
        path = _as_kept(path)
        is_there, size = path.is_file(), 0
        if is_there:
            size = path.stat().st_size
    except (OSError, ValueError) as error:
        raise BadPhoto("cannot be read", "allow reading it (its permissions)") from error
    if not is_there:
        raise BadPhoto("is not there")
    if size > MOST_BYTES:
        raise BadPhoto(
            f"has {size / 1_000_000:.0f} MB; {MOST_BYTES // 1_000_000} MB are the most"
        )
    return path


def _as_kept(path: Path) -> Path:
    """Return a path as the file system has it: some keep an accent as a letter of its own."""
    if path.exists() or path.name.isascii():
        return path
    beside = path.parent.iterdir() if path.parent.is_dir() else ()
    return next((other for other in beside if _composed(other.name) == _composed(path.name)), path)


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def meant(root: Path, file: str) -> str:
    """Return the picture of the archive that a name may mean; empty for none or more than one.

    Names are written from the archive's folder; the commonest slips are the name alone, another
    case, and the strokes of another system.
    """
    def plain(name: str) -> str:
        return _composed(name.replace("\\", "/")).casefold()

    there = [
        path.relative_to(root).as_posix() for path in paths_below(root, NOT_RECORDS)
        if path.suffix.lower() in ENDINGS
    ]  # fmt: skip
    same = [name for name in there if plain(name) == plain(file)]
    alike = same or [n for n in there if plain(Path(n).name) == plain(file).rpartition("/")[2]]
    return alike[0] if len(alike) == 1 else ""
