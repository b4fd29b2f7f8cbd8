"""Import of libraries without the optional packages that they look for and we do not use."""

from __future__ import annotations

import contextlib
import importlib
import sys
from collections.abc import Iterator
from types import ModuleType


def import_without(name: str, *optional: str) -> ModuleType:
    """Import a module with some packages hidden meanwhile, as if they were not installed.

    Packages that are loaded already stay; after the import all can be imported again. A module
    that is loaded already is returned as it is. ImportError when the module is not there.
    """
    if name in sys.modules:
        return importlib.import_module(name)
    with _hidden(optional):
        return importlib.import_module(name)


@contextlib.contextmanager
def _hidden(names: tuple[str, ...]) -> Iterator[None]:
    hidden = [name for name in names if name not in sys.modules]
    for name in hidden:
        sys.modules[name] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        for name in hidden:
            del sys.modules[name]
