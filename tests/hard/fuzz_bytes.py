"""Coverage-guided fuzzing of the reader over bytes; not part of the suite.

    python -m pip install atheris
    python tests/hard/fuzz_bytes.py 120        # seconds

Reads arbitrary bytes as a record, parses them and binds them. It
ends with the number of inputs; an exception, or a finding outside its file, ends it with the input
in ``crash-…`` beside it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["reportgen.record"]):
    from reportgen.record.bind import Binder
    from reportgen.record.model.batch import Record
    from reportgen.record.source import source_from_bytes
    from reportgen.record.yamltree import parse

TABLES = {"malts": {"pale"}, "kits": {"main"}, "batches": {"2026-01"}, "instruments": set()}


def one(data: bytes) -> None:
    """Read one input through the whole reader."""
    source, findings = source_from_bytes(data, "fuzz.yaml")
    if source is None:
        return
    tree, faults = parse(source)
    findings += faults
    if tree is not None:
        binder = Binder(TABLES)
        findings += binder.file(tree, Record, source)[1]
        binder.whole(tree, Record)
    for finding in findings:
        place = finding.position
        inside = 1 <= place.line <= max(len(source.lines), 1)
        if not inside or not 1 <= place.column <= len(source.line(place.line)) + 1:
            raise AssertionError(f"a finding outside its file: {finding}")


if __name__ == "__main__":
    seconds = sys.argv[1] if len(sys.argv) > 1 else "60"
    seeds = Path(__file__).parents[2] / "batches"
    cases = Path(__file__).parents[1] / "record" / "bad" / "syntax"
    work = Path(sys.argv[2] if len(sys.argv) > 2 else "fuzz-corpus")
    work.mkdir(exist_ok=True)
    arguments = [
        sys.argv[0], f"-max_total_time={seconds}", "-max_len=4096", "-timeout=20",
        "-print_final_stats=1", str(work), str(cases), str(seeds / "2026"),
    ]  # fmt: skip
    atheris.Setup(arguments, one)
    atheris.Fuzz()
