"""What one reading passes through from text to page: functions, files, changes of folder, carriers.

    python tests/trace_reading.py [CHECKOUT]

Loads the demo of a checkout with one reading changed to a number that stands nowhere else, judges
the batch and sets its record as a page, and watches every call. A carrier is an object that is or
holds that reading and does not hold another one of the same day; a function carries it when it is
given one or returns one. Not part of the tests: a measure of how far the code is from short.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

FILE = "2026/2026-03.yaml"
READING, OTHER = 1.0253, 1.0297
DEEP = 3
HELD = (str, int, float, bytes, bool, type(None))


def parts(thing: Any) -> Iterator[Any]:
    """Yield what an object is made of; the items of a named tuple, not of lists and tables."""
    if isinstance(thing, type):
        return
    names = next(
        (getattr(thing, n) for n in ("__struct_fields__", "__dataclass_fields__", "fields")
         if hasattr(thing, n)), ()
    )
    yield from (getattr(thing, name, None) for name in names)
    if isinstance(thing, tuple) and hasattr(thing, "_fields"):
        yield from thing


def holds(thing: Any, number: float, deep: int = DEEP) -> bool:
    """Whether an object is the number, as text or as a float, or has it in it."""
    if isinstance(thing, str):
        return thing.strip() in (f"{number}", f"{number:.4f}", f"{number:.4f} SG")
    if isinstance(thing, float):
        return abs(thing - number) < 1e-9
    if isinstance(thing, HELD):
        return False
    nominal = getattr(thing, "nominal_value", None)
    if isinstance(nominal, float):
        return abs(nominal - number) < 1e-9
    return deep > 0 and any(holds(part, number, deep - 1) for part in parts(thing))


def carrier(thing: Any) -> str:
    """Return the name of the type of a carrier; empty for anything else."""
    if not holds(thing, READING) or holds(thing, OTHER):
        return ""
    if hasattr(thing, "nominal_value"):
        return "number with uncertainty"
    return type(thing).__name__


class Trace:
    """Calls of one package that are given or return the reading, in order of the first of each.

    With each function the one that called it then.
    """

    def __init__(self, package: Path) -> None:
        self.package = str(package)
        self.functions: dict[CodeType, str] = {}
        self.carriers: dict[str, None] = {}

    def __call__(self, frame: FrameType, event: str, given: Any) -> None:
        """Look at one call or return."""
        code = frame.f_code
        if event not in ("call", "return") or not code.co_filename.startswith(self.package):
            return
        count = code.co_argcount + code.co_kwonlyargcount
        things = [frame.f_locals.get(name) for name in code.co_varnames[:count]]
        found = [name for thing in [*things, given] if (name := carrier(thing))]
        if found:
            above = frame.f_back.f_code.co_qualname if frame.f_back is not None else ""
            self.functions.setdefault(code, above)
            for name in found:
                self.carriers.setdefault(name)

    def files(self) -> list[str]:
        """Return the file of each function, in order, below the package."""
        return [code.co_filename[len(self.package) + 1 :] for code in self.functions]


def run(checkout: Path) -> Trace:
    """Trace the reading through a checkout of the tool."""
    sys.path.insert(0, str(checkout))
    from reportgen.assessment.assess import assess
    from reportgen.checks.base import names
    from reportgen.loading import load_archive
    from reportgen.report.documents import RECORD

    root = checkout / "batches"
    text = (root / FILE).read_text("utf-8")
    text, one = re.subn(r"(?m)^    kettle_gravity: .*$", f"    kettle_gravity: {READING}", text)
    text, two = re.subn(r"(?m)^    original_gravity: \{.*$", f"    original_gravity: {OTHER}", text)
    assert (one, two) == (1, 1), "the demo has other readings now"
    trace = Trace(checkout / "reportgen")
    sys.setprofile(trace)
    try:
        archive = load_archive(root, names(), given={FILE: text.encode()}, only={FILE})
        batch = next(b for b in archive.batches.values() if b.file == FILE)
        assessment = assess(archive, batch)
        assert assessment is not None
        page = RECORD.make(assessment, "A4", 1, "html")
    finally:
        sys.setprofile(None)
    assert str(READING).encode() in page
    return trace


def main() -> None:
    """Print what was seen."""
    here = Path(__file__).parents[1]
    trace = run(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else here)
    files = trace.files()
    folders = [str(Path(file).parent) for file in files]
    changes = sum(a != b for a, b in zip(folders, folders[1:], strict=False))
    for (code, above), file in zip(trace.functions.items(), files, strict=True):
        print(f"{file}:{code.co_firstlineno} {code.co_qualname}, called by {above}")
    print(f"functions {len(files)}, files {len(set(files))}, changes of folder {changes}")
    print(f"carriers {len(trace.carriers)}: {', '.join(trace.carriers)}")


if __name__ == "__main__":
    main()
