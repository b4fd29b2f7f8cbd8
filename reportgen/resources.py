"""Where the templates and schemas lie, in a checkout and in an installed wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    """Return a data folder: inside the package when installed, beside it in a checkout."""
    installed = _PACKAGE / "_data" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name


def templates_dir() -> Path:
    """Return the folder of the built-in templates."""
    return _folder("templates")


def schema_dir() -> Path:
    """Return the folder of the JSON Schemas."""
    return _folder("schema")


def cases_dir() -> Path:
    """Return the folder of the outside check values of the calculations."""
    installed = _PACKAGE / "_data" / "cases"
    return installed if installed.is_dir() else _PACKAGE.parent / "tests" / "science" / "cases"


def demo_dir() -> Path:
    """Return the demo archive, for the pictures of the manual; nothing is written there."""
    installed = _PACKAGE / "_data" / "demo"
    return installed if installed.is_dir() else _PACKAGE.parent / "batches"
