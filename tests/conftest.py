"""Settings that all tests share."""

import gc

from hypothesis import HealthCheck, settings

# No time limit on one example: a busy machine would fail tests that are right.
settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")


def pytest_collection_finish() -> None:
    """Leave what was collected out of the search for garbage: it stays, and there is much of it."""
    gc.collect()
    gc.freeze()
