"""The script that makes the whole round by itself; here with what needs no network."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def test_the_round_without_a_network() -> None:
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "round_trip.py", "--here"],
        capture_output=True, text=True, timeout=120, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "clone to another place" in done.stdout
