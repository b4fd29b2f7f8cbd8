"""One browser for all tests of a process."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from browser import close


@pytest.fixture(scope="session", autouse=True)
def _closed_at_the_end() -> Iterator[None]:
    yield
    close()
