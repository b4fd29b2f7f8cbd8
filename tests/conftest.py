"""Settings that all tests share."""

import gc
import os
import sys
from collections.abc import Iterator

import pytest
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


EVERY = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else set()
"""The cores of the run."""


def pytest_configure() -> None:
    """Give each process of a run a core of its own, so that nothing in it forks to use the others.

    A process that has all the tests in its memory is dear to fork, and the others are at work.
    """
    worker = os.environ.get("PYTEST_XDIST_WORKER", "")
    if EVERY and worker:
        os.sched_setaffinity(0, {sorted(EVERY)[int(worker.removeprefix("gw")) % len(EVERY)]})


@pytest.fixture
def every_core() -> Iterator[None]:
    """Have a test's processes share their work out over all cores, as a user's do."""
    if not EVERY:
        yield
        return
    own = os.sched_getaffinity(0)
    os.sched_setaffinity(0, EVERY)
    yield
    os.sched_setaffinity(0, own)


def pytest_collection_finish() -> None:
    """Leave what was collected out of the search for garbage: it stays, and there is much of it.

    What the tests make is looked through seldom: hardly any of it goes round in a circle.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 50)
