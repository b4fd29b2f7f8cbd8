"""Puts faults into a copy of the tool, one by one, and says which the tests do not find.

    python tests/run_mutations.py              all of them, some minutes
    python tests/run_mutations.py density pack those of files with these words in their names

The faults stand in ``mutations.yaml``: the file, the text that is there once, what it becomes, and
the tests that must fail. It is not part of the suite; run it when tests were made cheaper.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import yaml

ROOT = Path(__file__).parents[1]
FAULTS = Path(__file__).with_name("mutations.yaml")
NEEDED = ("reportgen", "templates", "schema", "tests", "batches", "pyproject.toml", "README.md",
          "DEVELOPERS.md")  # fmt: skip
SECONDS = 300


def tested(copy: Path, test: str) -> int:
    """Run some tests in the copy and return how pytest ended: 0 passed, 1 failed."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-x", "-q", "-p", "no:cacheprovider",
         *test.split()],
        cwd=copy, capture_output=True, timeout=SECONDS, check=False,
        env={**os.environ, "PYTHONPATH": str(copy)},
    )  # fmt: skip
    return done.returncode


def put(path: Path, text: str) -> None:
    """Write a module, and forget what it was compiled to: the clock may not show the change."""
    path.write_text(text, encoding="utf-8")
    for old in path.parent.glob(f"__pycache__/{path.stem}.*.pyc"):
        old.unlink()


def main(words: list[str]) -> int:
    """Return 1 when a fault was not found."""
    faults = yaml.safe_load(FAULTS.read_text(encoding="utf-8"))
    wanted = [f for f in faults if not words or any(word in f["file"] for word in words)]
    survived = []
    with tempfile.TemporaryDirectory(prefix="mutations-") as scratch:
        copy = Path(scratch) / "tool"
        copy.mkdir()
        for name in NEEDED:
            here = ROOT / name
            if here.is_dir():
                shutil.copytree(here, copy / name, ignore=shutil.ignore_patterns("build"))
            else:
                shutil.copy(here, copy)
        for fault in wanted:
            path = copy / fault["file"]
            sound = path.read_text(encoding="utf-8")
            if sound.count(fault["old"]) != 1:
                print(f"stale     {fault['file']}: {fault['old']!r} is not there once", flush=True)
                survived.append(fault)
                continue
            begun = time.monotonic()
            put(path, sound.replace(fault["old"], fault["new"]))
            code = tested(copy, fault["test"])
            put(path, sound)
            said = {0: "SURVIVED", 1: "found"}.get(code, f"ended {code}")
            taken = time.monotonic() - begun
            print(f"{said:9} {taken:4.0f} s  {fault['file']}: {fault['old']!r}", flush=True)
            if code != 1:
                survived.append(fault)
    print(f"{len(wanted)} faults, {len(wanted) - len(survived)} found")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
