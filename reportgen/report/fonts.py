"""The one typeface of all documents, from a package: never a font of the machine.

Fontconfig is given an empty configuration while the font map is made, so that a character the
typeface lacks cannot be borrowed from whatever happens to be installed. Such a character is
written as its code instead; the attached source has it as it was typed.

The package holds one font with every weight in it. The two weights in use are cut out of it once
a process: left as it is, the font would be cut again for each document, at half a second each.
"""

from __future__ import annotations

import atexit
import ctypes
import ctypes.util
import importlib
import os
import sys
import tempfile
import types
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from reportgen.typeface import lacking, packaged

FAMILY = "Sheet Sans"
"""Name that the stylesheets call the typeface by."""

SCHEME = "sheet-font"
WEIGHTS = {"regular": ("upright", 400), "bold": ("upright", 700), "italic": ("italic", 400)}
"""Faces by name: style and weight."""


def _face(name: str) -> str:
    style, weight = WEIGHTS[name]
    font_style = "italic" if style == "italic" else "normal"
    return (
        f'@font-face {{ font-family: "{FAMILY}"; font-style: {font_style}; '
        f'font-weight: {weight}; src: url("{SCHEME}:{name}"); }}'
    )


FACES = "\n".join(map(_face, WEIGHTS))
"""Stylesheet that declares the typeface; the addresses are answered by the fetcher of the PDF."""

_EMPTY = '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd"><fontconfig/>'


@lru_cache(maxsize=len(WEIGHTS))
def font_data(name: str) -> bytes:
    """Return the bytes of a face of ``WEIGHTS``, of one weight. KeyError for another."""
    import uharfbuzz

    style, weight = WEIGHTS[name]
    face = uharfbuzz.Face(uharfbuzz.Blob(packaged(style)))
    asked = uharfbuzz.SubsetInput()
    asked.keep_everything()
    asked.pin_axis_location(face, "wght", weight)
    return bytes(uharfbuzz.subset(face, asked).blob.data)


FEATURES = {"tnum": True, "lnum": True}
"""What the stylesheet asks of the figures: all of one width, as high as capitals."""


@lru_cache(maxsize=2)
def _metrics(bold: bool) -> Any:
    """Return the upright font, to be measured with."""
    import uharfbuzz

    font = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob(packaged("upright"))))
    font.set_variations({"wght": WEIGHTS["bold" if bold else "regular"][1]})
    return font


def measure(text: str, bold: bool = False) -> float:
    """Return how wide a text is on one line, in ems: kerned, with figures as the documents have."""
    import uharfbuzz

    font, buffer = _metrics(bold), uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer, FEATURES)
    # An empty text has no positions at all.
    advance = sum(at.x_advance for at in buffer.glyph_positions or ())
    return float(advance / font.face.upem)


@contextmanager
def _no_system_fonts() -> Iterator[None]:
    before = os.environ.get("FONTCONFIG_FILE")
    with tempfile.TemporaryDirectory(prefix="reportgen-") as folder:
        path = Path(folder) / "fonts.conf"
        path.write_text(_EMPTY, encoding="ascii")
        os.environ["FONTCONFIG_FILE"] = str(path)
        try:
            yield
        finally:
            if before is None:
                del os.environ["FONTCONFIG_FILE"]
            else:
                os.environ["FONTCONFIG_FILE"] = before


@contextmanager
def _opened_by_name() -> Iterator[None]:
    """Let the layout library open its C libraries by the names that Linux has for them, alone.

    It tries the names of other systems first, and for each the standard library starts a linker
    and a compiler to look for what cannot be there: a tenth of the time of a record.
    """
    find = ctypes.util.find_library
    try:
        ctypes.CDLL("libpango-1.0.so.0")
    except OSError:
        # Another system, or another name: the long search is what finds it.
        yield
        return
    ctypes.util.find_library = lambda name: None
    try:
        yield
    finally:
        ctypes.util.find_library = find


CUTTERS = ("fontTools.subset", "fontTools.varLib.instancer")
"""What the layout library cuts fonts with where HarfBuzz cannot: a third of what it loads."""


@contextmanager
def _cutters_later() -> Iterator[None]:
    """Let the functions of ``CUTTERS`` load their modules when they are first called."""
    asked = [name for name in CUTTERS if name not in sys.modules]
    sys.modules.update({name: _module_later(name) for name in asked})
    try:
        yield
    finally:
        for name in asked:
            del sys.modules[name]


def _module_later(name: str) -> types.ModuleType:
    def function(attribute: str) -> Any:
        if attribute.startswith("__"):
            raise AttributeError(attribute)

        def call(*given: Any, **named: Any) -> Any:
            return getattr(importlib.import_module(name), attribute)(*given, **named)

        return call

    module = types.ModuleType(name)
    module.__getattr__ = function  # type: ignore[method-assign]
    return module


@lru_cache(maxsize=1)
def font_configuration() -> Any:
    """Return WeasyPrint's font configuration, made once a process, without any system font."""
    with warnings.catch_warnings(), _opened_by_name(), _cutters_later():
        # On a machine without fonts the import warns; we bring our own.
        warnings.filterwarnings("ignore", message=".*FontConfig.*")
        from weasyprint.text.fonts import FontConfiguration

    # It cleans up after itself with modules that may be gone before it at the end of the process.
    atexit.register(font_configuration.cache_clear)
    with _no_system_fonts():
        made = FontConfiguration()
    atexit.register(_remove_folder, made)
    return made


def _remove_folder(made: Any) -> None:
    """Remove the folder of a font configuration while the interpreter still can.

    It is removed when the object is, which is too late when that is at the very end.
    """
    made.__del__()
    made._folder = None


def printable(text: str) -> str:
    """Return a text with every character that the typeface lacks written as ``[U+4E2D]``."""
    missing = lacking(text)
    for c in missing:
        text = text.replace(c, f"[U+{ord(c):04X}]")
    return text
