"""Which characters the typeface of the documents has: all that its package can say without fonts.

The package holds one typeface, upright and italic, for Latin, Greek and Cyrillic. A character that
it lacks is printed as its code, so a check says so where it was typed.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

FILES = {"upright": "SourceSans3[wght].ttf", "italic": "SourceSans3-Italic[wght].ttf"}

NEVER_DRAWN = frozenset((0x9, 0xA, 0xD, 0x20, 0xAD, 0x200B, 0x2060))
"""White space and joiners."""

SURE = frozenset(
    (*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x38E, 0x3A2), *range(0x3A3, 0x3CF),
     *range(0x400, 0x460), *range(0x2010, 0x201F), *NEVER_DRAWN)
)  # fmt: skip
"""Characters that are in nearly every text and in the typeface: for these no font is opened."""


def packaged(style: str) -> bytes:
    """Return the font of a style of ``FILES``, with every weight in it. KeyError for another."""
    import fontpkg_source_sans_3 as package

    return (Path(package.ROOT) / "files" / FILES[style]).read_bytes()


@lru_cache(maxsize=1)
def characters() -> frozenset[int]:
    """Return the code points that the typeface has, upright and italic alike."""
    import io

    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    sets = [set(TTFont(io.BytesIO(packaged(style))).getBestCmap()) for style in FILES]
    return frozenset(set.intersection(*sets))


def lacking(text: str) -> tuple[str, ...]:
    """Return the characters of a text that cannot be printed, each once, in order."""
    unsure = [c for c in dict.fromkeys(text) if ord(c) not in SURE] if not text.isascii() else []
    return tuple(c for c in unsure if ord(c) not in characters()) if unsure else ()
