"""Loads an archive as every verb wants it: with what is known of figures to read it by.

``record`` knows nothing of brewing; the kind of each figure is handed to it from here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

from reportgen.forecast.figures import FIGURES
from reportgen.record import load
from reportgen.record.listing import Listing
from reportgen.record.load import Archive

KIND_OF_FIGURE = {key: figure.kind for key, figure in FIGURES.items()}


def load_archive(
    root: Path,
    checks: Collection[str] = (),
    given: Mapping[str, bytes] | None = None,
    only: Collection[str] | None = None,
    listing: Listing | None = None,
) -> Archive:
    """Load the archive in a folder; arguments as in :func:`reportgen.record.load.load_archive`."""
    return load.load_archive(root, checks, given, only, listing, KIND_OF_FIGURE)
