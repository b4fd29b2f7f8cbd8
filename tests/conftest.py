"""Settings that all tests share."""

from hypothesis import HealthCheck, settings

# No time limit on one example: a busy machine would fail tests that are right.
settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")
