"""What may be left out of a file is typed so: a careless use of it is found before it runs."""

from __future__ import annotations

import importlib
import pkgutil
import typing

import pytest

import reportgen.record.model
from reportgen.record.fields import Entry

MODULES = [m.name for m in pkgutil.iter_modules(reportgen.record.model.__path__)]


@pytest.mark.parametrize("module", MODULES)
def test_a_field_without_a_default_of_its_own_says_none(module: str) -> None:
    found = importlib.import_module(f"reportgen.record.model.{module}")
    for cls in vars(found).values():
        if not isinstance(cls, type) or cls.__module__ != found.__name__:
            continue
        if issubclass(cls, tuple):
            # A list of what is in a plan has no fields of a file.
            continue
        assert issubclass(cls, Entry)
        hints = typing.get_type_hints(cls)
        for name, field in cls.fields.items():
            can_lack = field.default is None
            assert (type(None) in typing.get_args(hints[name])) == can_lack, (cls, name)
