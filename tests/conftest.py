"""Settings that all tests share."""

import gc
import sys

import yaml
from hypothesis import HealthCheck, settings

# No time limit on one example: a busy machine would fail tests that are right.
settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")

if yaml.__with_libyaml__:
    # The same language read and written in C: a test writes the three files of a house anew, and
    # in Python that takes longer than to check them. The tool has a reader of its own.
    for name in ("BaseLoader", "SafeLoader", "SafeDumper"):
        setattr(yaml, name, getattr(yaml, f"C{name}"))

# A schema library compiles a grammar of addresses when it is imported, which no schema here needs.
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]


def pytest_collection_finish() -> None:
    """Leave what was collected out of the search for garbage: it stays, and there is much of it.

    What the tests make is looked through seldom: hardly any of it goes round in a circle.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 50)
